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
	e    *traveler.Entry
	s    traveler.Scan
	when time.Time
}

// Batch works the figures of a family's only batch out of its record.
func Batch(shop *traveler.Shop, record []*traveler.Entry) Figures {
	p := pencil{shop: shop, open: map[traveler.MachineID]*stay{}}
	list := p.read(record)
	for i := range list {
		if p.f.Tangled != "" {
			break
		}
		p.take(&list[i])
	}
	p.total()
	return p.f
}

// pencil is the sheet of paper.
type pencil struct {
	shop     *traveler.Shop
	f        Figures
	released time.Time
	pieces   int
	ops      []traveler.Operation
	stays    []*stay
	open     map[traveler.MachineID]*stay
	place    traveler.MachineID
	last     time.Time // delivery
	cancel   bool
	decided  []verdict
	noted    []span // what went on, closed time taken out
}

// stay is one line on the paper: a machine, an operation, and what was noted.
type stay struct {
	machine traveler.MachineID
	op      traveler.Op
	rework  bool
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
	conceded    bool // used though they do not meet the drawing
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

// read lists what was said, by when it happened, without what was taken back.
func (p *pencil) read(record []*traveler.Entry) []said {
	gone := map[traveler.ScanID]bool{}
	for _, e := range record {
		if e.Scan == nil || e.Outcome == traveler.Refused {
			continue
		}
		switch s := e.Scan; {
		case s.Action == traveler.ActUndo:
			gone[traveler.ScanID(s.For)] = true
			gone[s.ID] = true
		case s.Action == traveler.ActCorrect:
			p.tangle("a scan was corrected")
		case s.Action == traveler.ActSplit || s.Action == traveler.ActJoin:
			p.tangle("pieces were split off or joined")
		case s.Action == traveler.ActDecide && s.For != "" && s.For != story.ForDrawing:
			p.tangle("a supervisor settled a question")
		case e.Outcome == traveler.Questioned:
			p.tangle("a scan is in question")
		}
	}
	var out []said
	for _, e := range record {
		if e.Release != nil {
			p.release(e)
		}
		if e.Scan == nil || e.Outcome == traveler.Refused || gone[e.Scan.ID] {
			continue
		}
		out = append(out, said{e, *e.Scan, whenOf(e)})
	}
	slices.SortStableFunc(out, func(a, b said) int { return a.when.Compare(b.when) })
	return out
}

func (p *pencil) release(e *traveler.Entry) {
	p.f.Card, p.pieces, p.released = e.Card, e.Release.Pieces, e.Arrived
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
			p.left(x.when, 0)
		}
	case traveler.ActDecide:
		if s.For == "" && s.Operation == 0 {
			p.tangle("a decision names no operation")
		}
		p.decided = append(p.decided, verdict{s.Operation, number(s.Good), losses(s.Scrap), s.Reason == "concession"})
	case traveler.ActOverride:
		p.tangle("the plan of the batch was changed")
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
	m := x.e.Machine
	st := p.open[m]
	if x.s.Action == traveler.ActFirstOff && x.s.HasCounts() {
		st = p.awaiting(x) // the verdict is scanned in the measuring room
	}
	if x.s.Action == traveler.ActStop && (st == nil || len(st.spans) == 0) {
		return // says why it waits
	}
	if st != nil && p.elsewhere(x, st) {
		p.tangle("two operations overlap at %s", m)
		return
	}
	if p.f.Tangled != "" {
		return
	}
	if st != nil && !st.passed.IsZero() && begins(x.s.Action) {
		// It had left, and is set or brought here again.
		st.close(st.passed)
		st.end = st.passed
		delete(p.open, m)
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
		if o.op < st.op && o.passed.IsZero() && !o.rework {
			o.passed = x.when // it is seen further on
		}
	}
	switch x.s.Action {
	case traveler.ActSetup, traveler.ActRun, traveler.ActStop, traveler.ActSend:
		st.turn(x.s.Action, x.when)
	case traveler.ActFirstOff:
		st.firstOff(x)
	}
	st.good += number(x.s.Good)
	st.scrap += losses(x.s.Scrap)
	st.aside += losses(x.s.Rework) + losses(x.s.Review)
	st.counter(&x.s)
	if (x.s.Action == traveler.ActCount || x.s.Action == traveler.ActFinish) && st.idle() && number(x.s.Good)+losses(x.s.Scrap) > 0 {
		p.tangle("pieces were counted with no run before")
	}
	switch x.s.Action {
	case traveler.ActFinish:
		st.close(x.when)
		st.end = x.when
		delete(p.open, m)
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

// awaiting is the open stay that a verdict on a first piece is about.
func (p *pencil) awaiting(x *said) *stay {
	for _, st := range p.stays {
		n := len(st.spans)
		if st.end.IsZero() && n > 0 && (st.spans[n-1].kind == traveler.ActFirstOff || st.op == x.s.Operation) {
			return st
		}
	}
	p.tangle("a verdict was given on no first piece")
	return nil
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

// elsewhere reports whether a scan names another operation than the stay's.
func (p *pencil) elsewhere(x *said, st *stay) bool {
	op := x.s.Operation
	if op == 0 {
		op = traveler.ParseRef(x.s.Card).Op
	}
	return op != 0 && op != st.op || (x.s.For != "") != st.rework
}

// begin opens a line. What is open at another machine has ended by then, unless
// something more is said of it.
func (p *pencil) begin(x *said) *stay {
	op := x.s.Operation
	if op == 0 {
		op = traveler.ParseRef(x.s.Card).Op
	}
	if op == 0 {
		p.tangle("a scan names no operation")
		return nil
	}
	p.left(x.when, op)
	if p.f.Tangled != "" {
		return nil
	}
	st := &stay{machine: x.e.Machine, op: op, rework: x.s.For != ""}
	p.stays = append(p.stays, st)
	p.open[st.machine] = st
	p.carry(st.machine)
	return st
}

// left notes that the batch was seen to have left where it was, for an operation
// further on, or for anywhere (0).
func (p *pencil) left(at time.Time, op traveler.Op) {
	for _, o := range p.open {
		if op != 0 && o.op >= op {
			p.tangle("two machines were at one operation, or it went back")
			return
		}
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
		st.turn(traveler.ActFirstOff, x.when)
	case running:
	case number(x.s.Good) > 0:
		st.close(x.when)
	default:
		st.turn(traveler.ActSetup, x.when)
	}
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

// idle reports whether nothing but a set-up was noted.
func (st *stay) idle() bool {
	return !slices.ContainsFunc(st.spans, func(s span) bool { return s.kind == traveler.ActRun || s.kind == traveler.ActSend })
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
