// Package plain works figures out a second time, straight from the scans of a
// record, by the plainest rules that a person with a pencil would use. It shares
// nothing with the story and with package measure but the words: it is what
// their figures are held against. Where a batch's scans are tangled (pieces
// split off, clocks that disagree, several people's corrections), it says that
// it cannot work them out rather than guess.
//
// # Decisions, with their reasons
//
//   - The second way (plain) knows corrections, answers, families and old rows, but
//     shares no code with the first. A difference is a fault of the program, and names
//     the entries that show it.
package plain

import (
	"fmt"
	"slices"
	"strconv"
	"time"

	"tallywalk/traveler"
)

// Figures are what the pencil gives for one batch. Durations are clock time.
type Figures struct {
	Card  traveler.Code
	Ended bool
	Lead  time.Duration // release to the last delivery, else to the last finish
	Run   time.Duration
	SetUp time.Duration
	Stop  time.Duration
	Rest  time.Duration // of the lead time, in which nothing was noted: waiting, being carried
	Good  int           // counted at the last operation, and decided there
	Scrap int
	Trips int
	Due   string // a date; empty = none
	Want  int
	Sent  []Sending
	Steps map[traveler.Op]Step
	// Tangled says why the pencil gives up; empty when it does not.
	Tangled string
}

// said is a scan as the pencil sees it.
type said struct {
	e       *traveler.Entry
	s       traveler.Scan
	when    time.Time
	machine traveler.MachineID
}

// Batch works the figures of one batch out of its family's record.
func Batch(shop *traveler.Shop, record []*traveler.Entry, card traveler.Code) Figures {
	if slices.ContainsFunc(record, (*traveler.Entry).FromLog) {
		return fromLog(shop, record)
	}
	p := write(shop, record, card, "")
	p.total()
	return p.f
}

// write notes what was said of a batch, up to a scan; empty = all of it.
func write(shop *traveler.Shop, record []*traveler.Entry, card traveler.Code, stop traveler.ScanID) *pencil {
	p := &pencil{shop: shop, record: record, open: map[line]*stay{}, anyway: map[traveler.Op]traveler.Seq{}}
	p.f.Card = card
	list := p.read(record)
	p.splitOff()
	for i := range list {
		if p.f.Tangled != "" || stop != "" && list[i].s.ID == stop {
			break
		}
		p.take(&list[i])
	}
	return p
}

// pencil is the sheet of paper.
type pencil struct {
	shop     *traveler.Shop
	record   []*traveler.Entry // of the family
	f        Figures
	released time.Time
	pieces   int
	ops      []traveler.Operation
	stays    []*stay
	open     map[line]*stay
	place    traveler.MachineID
	last     time.Time // delivery
	cancel   bool
	decided  []verdict
	noted    []span // what went on, closed time taken out
	joined   bool
	anyway   map[traveler.Op]traveler.Seq // the newest count that was said though it does not fit
}

// stay is one line on the paper: a machine, an operation, and what was noted.
type stay struct {
	id      traveler.ScanID // the first thing said of it
	began   time.Time
	machine traveler.MachineID
	op      traveler.Op
	rework  traveler.Op // for which operation; 0 = none
	awaits  bool        // a verdict on its first piece
	worked  bool        // someone said that it went on while the machine was closed
	spans   []span
	end     time.Time
	passed  time.Time   // it was seen further on while this was open
	seen    []time.Time // when someone scanned something of it
	reads   *int        // what the machine's counter last showed
	good    int
	scrap   int
	aside   int // sent to rework or set aside for review
}

// verdict is what was decided about pieces that had been set aside.
type verdict struct {
	op          traveler.Op
	good, scrap int
	missing     int  // of those set aside
	conceded    bool // used though they do not meet the drawing, or never seen
}

type span struct {
	kind     traveler.Action
	from, to time.Time
}

func (p *pencil) tangle(why string, args ...any) {
	if p.f.Tangled == "" {
		p.f.Tangled = fmt.Sprintf(why, args...)
	}
}

// take notes one thing that was said.
func (p *pencil) take(x *said) {
	s := &x.s
	switch s.Action {
	case traveler.ActDeliver:
		p.last = x.when
		p.send(x)
	case traveler.ActCancel:
		p.cancel = true
	case traveler.ActMove:
		if m, ok := p.shop.FindMachine(s.To); ok {
			p.carry(m)
		}
		if s.Pieces == 0 {
			p.left(x.when)
		}
	case traveler.ActSplit:
		p.split(s)
	case traveler.ActJoin:
		p.join(x.e)
	case traveler.ActDecide:
		p.decide(s)
	case traveler.ActOverride:
		p.override(s)
	case traveler.ActHold, traveler.ActFree, traveler.ActReady:
	default:
		p.work(x)
	}
}

func (p *pencil) carry(to traveler.MachineID) {
	if p.place != "" && p.place != to {
		p.f.Trips++
	}
	p.place = to
}

// work notes what was said at a machine.
func (p *pencil) work(x *said) {
	st := p.at(x)
	if x.s.Action == traveler.ActFirstOff && x.s.HasCounts() {
		st = p.awaiting(x) // the verdict is scanned in the measuring room
	}
	if x.s.Action == traveler.ActStop && (st == nil || len(st.spans) == 0) {
		return // says why it waits
	}
	if p.f.Tangled != "" {
		return
	}
	if st != nil && !st.passed.IsZero() && begins(x.s.Action) {
		// It had left, and is set or brought here again.
		st.close(st.passed)
		st.end = st.passed
		delete(p.open, st.line())
		st = nil
	}
	if st == nil {
		st = p.begin(x)
		if st == nil {
			return
		}
	}
	st.passed = time.Time{}
	st.seen = append(st.seen, x.when)
	for _, o := range p.open {
		if o.machine != st.machine && o.passed.IsZero() && o.over(st) {
			o.passed = x.when // it is seen elsewhere
		}
	}
	p.note(st, x)
}

// note writes what was said into its line.
func (p *pencil) note(st *stay, x *said) {
	switch x.s.Action {
	case traveler.ActSetup, traveler.ActRun, traveler.ActStop, traveler.ActSend:
		st.turn(x.s.Action, x.when)
	case traveler.ActFirstOff:
		st.firstOff(x)
	case traveler.ActCount, traveler.ActFinish:
		if x.s.Total() > 0 && x.s.Phase != "setup" || x.s.Reads != nil {
			st.mustRun(x.when)
		}
	}
	st.good += number(x.s.Good)
	st.scrap += losses(x.s.Scrap)
	st.aside += losses(x.s.Rework) + losses(x.s.Review)
	st.counter(&x.s)
	if st.rework == 0 && x.s.Total() > 0 {
		p.fits(st.op, x)
	}
	switch x.s.Action {
	case traveler.ActFinish:
		st.close(x.when)
		st.end = x.when
		delete(p.open, st.line())
	case traveler.ActReceive:
		if x.s.Pieces > 0 || !x.s.HasCounts() {
			p.tangle("pieces came back from outside uncounted")
		}
		st.back(x.when)
		st.end = x.when
	}
}

func begins(a traveler.Action) bool {
	return a == traveler.ActSetup || a == traveler.ActArrive || a == traveler.ActSend
}

// awaiting is the stay that a verdict on a first piece is about: one that handed
// a piece over, where the verdict is said if there are two.
func (p *pencil) awaiting(x *said) (found *stay) {
	for _, st := range p.stays {
		if op := opOf(x); st.awaits && st.end.IsZero() && (op == 0 || op == st.op) &&
			(found == nil || st.machine == x.machine) {
			found = st
		}
	}
	if found == nil {
		found = p.at(x)
	}
	if found == nil {
		p.tangle("a verdict was given on no first piece")
	}
	return found
}

// line is what a stay is known by while it goes on.
type line struct {
	machine traveler.MachineID
	op      traveler.Op
	rework  traveler.Op
}

func (st *stay) line() line { return line{st.machine, st.op, st.rework} }

// at is the stay that a scan goes on with: the one that it names, or the newest
// at its machine where it names none.
func (p *pencil) at(x *said) (found *stay) {
	op, rework := opOf(x), reworkOf(x)
	if op != 0 {
		return p.open[line{x.machine, op, rework}]
	}
	for _, st := range p.open {
		if st.machine == x.machine && (rework == 0 || st.rework == rework) &&
			(found == nil || st.began.After(found.began)) {
			found = st
		}
	}
	return found
}

func opOf(x *said) traveler.Op {
	if x.s.Operation != 0 {
		return x.s.Operation
	}
	return traveler.ParseRef(x.s.Card).Op
}

// reworkOf is the operation that pieces are reworked for.
func reworkOf(x *said) traveler.Op {
	n, err := strconv.Atoi(x.s.For)
	if err != nil {
		return 0
	}
	return traveler.Op(n)
}

// begin opens a line.
func (p *pencil) begin(x *said) *stay {
	op := opOf(x)
	if op == 0 {
		p.tangle("a scan names no operation")
		return nil
	}
	st := &stay{id: x.s.ID, began: x.when, machine: x.machine, op: op, rework: reworkOf(x)}
	p.stays = append(p.stays, st)
	p.open[st.line()] = st
	p.carry(st.machine)
	return st
}

// left notes that the batch was seen to have left where it was.
func (p *pencil) left(at time.Time) {
	for _, o := range p.open {
		if o.passed.IsZero() {
			o.passed = at
		}
	}
}
