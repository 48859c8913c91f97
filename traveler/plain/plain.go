// Package plain works figures out a second time, straight from the scans of a
// record, by the plainest rules that a person with a pencil would use. It shares
// nothing with the story and with package measure but the words: it is what
// their figures are held against. Where a batch's scans are tangled (pieces
// split off, clocks that disagree, several people's corrections), it says that
// it cannot tell rather than guess.
package plain

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
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
	p := &pencil{shop: shop, record: record, open: map[line]*stay{}}
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

// read lists what was said, by when it happened: without what was taken back or
// dropped, and as it was corrected.
func (p *pencil) read(record []*traveler.Entry) []said {
	gone, added := map[traveler.ScanID]bool{}, map[traveler.ScanID]bool{}
	fixed := map[traveler.ScanID][]*traveler.Scan{}
	card := map[traveler.ScanID]traveler.Code{} // whose they are, as corrected
	for _, e := range record {
		if e.Scan == nil || e.Outcome == traveler.Refused {
			continue
		}
		s := e.Scan
		about, id, _ := strings.Cut(s.For, ":")
		target := traveler.ScanID(id)
		switch {
		case s.Action == traveler.ActUndo:
			gone[traveler.ScanID(s.For)] = true
			gone[s.ID] = true
		case s.Action == traveler.ActCorrect:
			fixed[traveler.ScanID(s.For)] = append(fixed[traveler.ScanID(s.For)], s)
			card[traveler.ScanID(s.For)] = e.Card
			gone[s.ID] = true
			if e.Outcome == traveler.Questioned {
				p.tangle("a correction is in question")
			}
		case s.Action == traveler.ActDecide && (about == "scan" || about == "anyway"):
			gone[s.ID] = true
			gone[target] = gone[target] || s.Reason == story.ChoiceDrop
			added[target] = s.Reason == story.ChoiceAdd
		}
	}
	var out []said
	for _, e := range record {
		if e.Release != nil && e.Card == p.f.Card {
			p.release(e)
		}
		if e.Scan == nil || e.Outcome == traveler.Refused || gone[e.Scan.ID] {
			continue
		}
		if of, ok := card[e.Scan.ID]; ok && of != p.f.Card || !ok && e.Card != p.f.Card {
			continue // said of another batch
		}
		if e.Outcome == traveler.Questioned && !added[e.Scan.ID] {
			p.tangle("a scan is in question")
		}
		x := said{e, *e.Scan, whenOf(e), e.Machine}
		for _, c := range fixed[e.Scan.ID] {
			p.correct(&x, c)
		}
		out = append(out, x)
	}
	slices.SortStableFunc(out, func(a, b said) int { return a.when.Compare(b.when) })
	return out
}

// correct writes over a scan what a correction says of it; what it does not say
// stays.
func (p *pencil) correct(x *said, c *traveler.Scan) {
	s := &x.s
	if c.HasCounts() || c.Reads != nil {
		s.Good, s.Scrap, s.Rework, s.Review, s.Missing, s.Reads = c.Good, c.Scrap, c.Rework, c.Review, c.Missing, c.Reads
	}
	if c.Operation != 0 {
		s.Operation = c.Operation
	}
	if c.Pieces != 0 {
		s.Pieces = c.Pieces
	}
	if c.Phase != "" {
		s.Phase = c.Phase
	}
	if c.Reason != "" {
		s.Reason = c.Reason
	}
	if c.To != "" {
		s.To = c.To
	}
	if m, ok := p.shop.FindMachine(c.Station); ok && c.Station != traveler.Office {
		x.machine = m
	}
	if c.Happened != nil {
		if x.when = *c.Happened; x.when.After(x.e.Arrived) {
			x.when = x.e.Arrived
		}
	}
}

func (p *pencil) release(e *traveler.Entry) {
	p.pieces, p.released = e.Release.Pieces, e.Arrived
	if !e.Release.Released.IsZero() && e.Release.Released.Before(e.Arrived) {
		p.released = e.Release.Released
	}
	p.f.Want = e.Release.Wanted
	if p.f.Want == 0 {
		p.f.Want = p.pieces
	}
	if !e.Release.Due.IsZero() {
		p.f.Due = e.Release.Due.Format(time.DateOnly)
	}
	if r, ok := p.shop.Route(e.Release.Part, e.Release.RouteRev); ok {
		p.ops = slices.Clone(r.Operations)
	}
}

// whenOf is when a scan says that it happened, never after it came.
func whenOf(e *traveler.Entry) time.Time {
	t := e.Scan.At.Add(time.Duration(e.Scan.OffsetMS) * time.Millisecond)
	if e.Scan.Happened != nil {
		t = *e.Scan.Happened
	}
	if t.After(e.Arrived) {
		return e.Arrived
	}
	return t
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
	case traveler.ActHold, traveler.ActFree:
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

// over reports whether a stay has ended once the batch is seen at another: it
// had come further there, or had stopped here. Rework goes on until the batch
// is beyond what it is for; what is away goes on until it comes back.
func (st *stay) over(at *stay) bool {
	last := traveler.ActArrive
	if n := len(st.spans); n > 0 {
		last = st.spans[n-1].kind
	}
	switch {
	case last == traveler.ActSend:
		return false
	case st.rework != 0 && at.rework == 0:
		return at.op >= st.rework
	case st.rework == 0 && at.rework != 0, st.rework == 0 && st.op > at.op:
		return false
	case st.op == at.op && st.rework == at.rework:
		return last == traveler.ActStop || last == traveler.ActArrive
	}
	return true
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

// mustRun notes that pieces cannot have been made without a run: from when the
// set-up was over, or from when the batch came; a set-up that nobody ended went
// over into it when they were counted.
func (st *stay) mustRun(at time.Time) {
	from := st.began
	if n := len(st.spans); n > 0 {
		last := &st.spans[n-1]
		switch {
		case last.kind == traveler.ActRun && last.to.IsZero(), last.kind == traveler.ActStop, last.kind == traveler.ActSend:
			return
		case last.to.IsZero():
			last.to, from = at, at
		default:
			from = last.to
		}
	}
	st.spans = append(st.spans, span{kind: traveler.ActRun, from: from})
}

func begins(a traveler.Action) bool {
	return a == traveler.ActSetup || a == traveler.ActArrive || a == traveler.ActSend
}

// awaiting is the stay that a verdict on a first piece is about: one that handed
// a piece over, where the verdict is said if there are two.
func (p *pencil) awaiting(x *said) (found *stay) {
	for _, st := range p.stays {
		if op := opOf(x); st.awaits && st.end.IsZero() && (op == 0 || op == st.op) && (found == nil || st.machine == x.machine) {
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

// counter notes what a machine's counter shows, and the pieces since it last
// did.
func (st *stay) counter(s *traveler.Scan) {
	if s.Reads == nil {
		return
	}
	if s.Action == traveler.ActCount || s.Action == traveler.ActFinish {
		n := *s.Reads
		if st.reads != nil && n >= *st.reads { // else it was set to zero in between
			n -= *st.reads
		}
		// It counts the pieces that turned out bad as well.
		st.good += max(0, n-losses(s.Scrap)-losses(s.Rework)-losses(s.Review))
	}
	st.reads = s.Reads
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
		if st.machine == x.machine && (rework == 0 || st.rework == rework) && (found == nil || st.began.After(found.began)) {
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

// turn ends what goes on and begins something else.
func (st *stay) turn(kind traveler.Action, at time.Time) {
	if n := len(st.spans); n > 0 && st.spans[n-1].to.IsZero() {
		if st.spans[n-1].kind == kind && kind == traveler.ActRun {
			return
		}
		st.spans[n-1].to = at
	}
	st.spans = append(st.spans, span{kind: kind, from: at})
}

func (st *stay) firstOff(x *said) {
	verdict := x.s.HasCounts()
	n := len(st.spans)
	running := n > 0 && st.spans[n-1].to.IsZero() && st.spans[n-1].kind == traveler.ActRun
	switch {
	case !verdict:
		st.awaits = true
		st.turn(traveler.ActFirstOff, x.when)
		return
	case running:
	case number(x.s.Good) > 0:
		st.close(x.when)
	default:
		st.turn(traveler.ActSetup, x.when)
	}
	st.awaits = false
}

// back notes that pieces came back from outside; the last ones end the stay.
func (st *stay) back(at time.Time) {
	if n := len(st.spans); n > 0 && st.spans[n-1].kind == traveler.ActSend {
		st.spans[n-1].to = at
	}
}

func (st *stay) close(at time.Time) {
	if n := len(st.spans); n > 0 && st.spans[n-1].to.IsZero() {
		st.spans[n-1].to = at
	}
}

func number(n *int) int {
	if n == nil {
		return 0
	}
	return *n
}

func losses(list []traveler.Loss) (n int) {
	for _, l := range list {
		n += l.N
	}
	return n
}
