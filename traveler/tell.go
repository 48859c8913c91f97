package traveler

import (
	"cmp"
	"slices"
	"time"
)

// tail lets the versions of a family share the slices that only ever grow: the
// newest version appends in place, an older one copies first.
type tail struct{ n int }

// clone copies what apply changes in place. Lines, events and the record are
// shared with the receiver up to its length.
func (f *Family) clone() *Family {
	n := *f
	n.Batches = slices.Clone(f.Batches)
	n.Visits = slices.Clone(f.Visits)
	n.Spans = slices.Clone(f.Spans)
	n.Closed = slices.Clone(f.Closed)
	n.Trips = slices.Clip(f.Trips)
	if f.tail.n != len(f.record) {
		n.record = slices.Clone(f.record)
		n.events = slices.Clone(f.events)
		n.Lines = slices.Clone(f.Lines)
		n.misfits = slices.Clone(f.misfits)
		n.Refused = slices.Clone(f.Refused)
		n.tail = &tail{n: len(f.record)}
	}
	return &n
}

// keep adds an entry to the record of a family that was just cloned.
func (f *Family) keep(e *Entry) {
	f.record = append(f.record, e)
	f.tail.n++
}

// Tell tells the story of a family from its record, which is given by sequence
// and begins with a release. It is total: any entries give a story.
func Tell(shop *Shop, record []*Entry) *Family {
	f := &Family{Rules: Rules, tail: &tail{n: len(record)}, record: slices.Clone(record)}
	f.events = make([]event, 0, len(record))
	f.Lines = make([]Line, 0, len(record))
	for _, e := range record {
		switch {
		case e.Release != nil && f.Root == "":
			f.start(shop, e)
		case e.Scan != nil && e.Outcome == Refused:
			f.Refused = append(f.Refused, e)
		case e.Scan != nil:
			f.events = append(f.events, f.newEvent(e))
		}
	}
	f.hints(shop)
	order(f.events)
	applyControls(f.events)
	if retimed(f.events) {
		f.hints(shop)
		order(f.events)
	}
	f.awaited = awaited(f.events)
	for i := range f.events {
		f.tell(shop, &f.events[i])
	}
	return f
}

func retimed(events []event) bool {
	for i := range events {
		if events[i].s != events[i].e.Scan {
			return true
		}
	}
	return false
}

// start puts the released batch on the floor.
func (f *Family) start(shop *Shop, e *Entry) {
	r := e.Release
	f.Root, f.Rules = e.Card, e.Rules
	b := Batch{
		Card: e.Card, Part: r.Part, Rev: r.RouteRev, Started: r.Pieces, Wanted: r.Wanted,
		Due: r.Due, Priority: r.Priority, Order: r.WorksOrder, Customer: r.Customer,
		Line: r.OrderLine, Lots: r.MaterialLots, Released: e.Arrived,
	}
	if b.Wanted == 0 {
		b.Wanted = b.Started
	}
	if !r.Released.IsZero() && r.Released.Before(e.Arrived) {
		b.Released = r.Released
		b.OnFloor = e.Arrived.Sub(r.Released) >= time.Hour
	}
	if route, ok := shop.Route(r.Part, r.RouteRev); ok {
		b.Ops, b.Drawing, b.Name = route.Operations, route.DrawingRev, route.PartName
	}
	f.Batches = []Batch{b}
	f.edge = b.Released
}

// hints gives each event its place along the route, as far as it can be said
// without the story: by the operation it names, or by its machine.
func (f *Family) hints(shop *Shop) {
	for i := range f.events {
		f.events[i].hint = f.hint(shop, &f.events[i])
	}
}

// behindAll is the place of what is said about other scans: after all that
// happened at the same moment.
const behindAll = MaxOp + 1

func (f *Family) hint(shop *Shop, ev *event) int {
	if isControl(ev.e.Scan) || ev.e.Scan.Action == ActDecide {
		return behindAll
	}
	if len(f.Batches) == 0 {
		return 0
	}
	op := ev.s.Operation
	if op == 0 {
		op = ParseRef(ev.s.Card).Op
	}
	if op != 0 {
		return int(op)
	}
	for i := range f.Batches[0].Ops {
		o := &f.Batches[0].Ops[i]
		if shop.CanWork(ev.machine, o.WorkCentre, ev.e.Arrived) {
			return int(o.Number)
		}
	}
	return 0
}

func awaited(events []event) []ScanID {
	var out []ScanID
	for i := range events {
		if isControl(events[i].s) && !events[i].aimed {
			out = append(out, ControlTarget(events[i].s))
		}
	}
	return out
}

// tell tells the next event: as it is, as a question, or not at all.
func (f *Family) tell(shop *Shop, ev *event) {
	line := Line{Entry: ev.e, At: ev.at, Uncertain: ev.uncertain, Batch: f.Index(ev.card), Visit: -1, By: ev.by, Fate: FateTold}
	if ev.s != ev.e.Scan {
		line.Fate = FateCorrected
	}
	switch {
	case ev.fate != "":
		line.Fate = ev.fate
	case line.Batch < 0 && !isControl(ev.s) && !f.knew(ev.card):
		line.Fate = FateElsewhere
	default:
		f.fit(shop, ev, &line)
		ev.ts, ev.checked = nil, false
	}
	if edge := ev.at.Add(ev.within); edge.After(f.edge) {
		f.edge = edge
	}
	if ev.at.After(f.latest) {
		f.latest = ev.at
	}
	f.Lines = append(f.Lines, line)
}

// knew reports whether a card belongs to this family, or would, were its split
// not taken back.
func (f *Family) knew(card Code) bool {
	if card == f.Root {
		return true
	}
	for _, e := range f.record {
		if e.Scan != nil && e.Scan.Action == ActSplit && e.Other == card && card != "" {
			return true
		}
	}
	return false
}

func (f *Family) fit(shop *Shop, ev *event, line *Line) {
	var m *misfit
	if !ev.checked {
		m = f.check(shop, ev)
	}
	switch {
	case m == nil || ev.force:
	case ev.s.Anyway && m.ask:
		line.Anyway = m.msg
		if !m.shown && !ev.e.FromLog() {
			f.misfits = append(f.misfits, anywayQuestion(ev, m))
		}
	case m.lapsed:
		line.Fate = FateLapsed
		return
	default:
		line.Fate = FateAsked
		f.misfits = append(f.misfits, scanQuestionOf(ev, m))
		if ev.s.Action == ActFinish && m.count {
			f.finishUncounted(shop, ev, line)
		}
		return
	}
	if q, reset := f.counterReset(shop, ev); reset {
		f.misfits = append(f.misfits, q)
	}
	f.apply(shop, ev, line)
	f.shutAll(shop, ev, line.Visit)
}

// finishUncounted ends a visit whose count does not fit: that it ended is not
// in doubt, only the pieces wait for an answer.
func (f *Family) finishUncounted(shop *Shop, ev *event, line *Line) {
	batch := line.Batch
	if sp := f.locate(shop, ev, batch, f.Tallies(batch)); sp.visit < 0 {
		return
	}
	s := *ev.s
	s.Good, s.Scrap, s.Rework, s.Review, s.Missing, s.Reads = nil, nil, nil, nil, nil, nil
	bare := *ev
	bare.s = &s
	f.apply(shop, &bare, line)
	f.shutAll(shop, &bare, line.Visit)
}

// counterReset asks about a machine's counter that reads less than before.
func (f *Family) counterReset(shop *Shop, ev *event) (Question, bool) {
	if ev.s.Reads == nil || (ev.s.Action != ActCount && ev.s.Action != ActFinish) {
		return Question{}, false
	}
	batch := f.Index(ev.card)
	if batch < 0 {
		return Question{}, false
	}
	sp := f.locate(shop, ev, batch, f.Tallies(batch))
	if sp.visit < 0 || f.Visits[sp.visit].Reads == nil || *f.Visits[sp.visit].Reads <= *ev.s.Reads {
		return Question{}, false
	}
	last := *f.Visits[sp.visit].Reads
	return Question{
		ID: "counter:" + string(ev.e.Scan.ID), Kind: QuestionCounter, Card: ev.card, Operation: sp.op, Scan: ev.e.Scan.ID, At: ev.at,
		Known: Msg{Key: "counter.reset", Args: []string{num(last), num(*ev.s.Reads)}}, Choices: []string{ChoiceSeen},
	}, true
}

// Adopt adds a scan of another family, which a correction is about to move
// here, to the record. Hear the correction next.
func (f *Family) Adopt(shop *Shop, e *Entry) *Family {
	record := append(slices.Clip(f.record), e)
	slices.SortStableFunc(record, func(a, b *Entry) int { return cmp.Compare(a.Seq, b.Seq) })
	return Tell(shop, record)
}

// Hear adds an entry to a family and answers it: it sets the entry's Outcome
// and Say, and returns the family that has heard it. offer tells whether a
// refused scan may be said again with Anyway. The entry's resolved fields
// (Card, Machine, Other, Target, Seq, Arrived, By) are set by the caller, and
// Other of a split is taken back when the split is refused.
func (f *Family) Hear(shop *Shop, e *Entry) (next *Family, offer bool) {
	if e.Scan == nil {
		return Tell(shop, append(slices.Clip(f.record), e)), false
	}
	ev := f.newEvent(e)
	if f.fast(shop, &ev) {
		return f.hearLast(shop, e, &ev)
	}
	next = Tell(shop, append(slices.Clip(f.record), e))
	line := next.lineOf(e)
	if line != nil && line.Fate == FateLapsed && e.Scan.IsPresent() {
		return f.refuse(e, Msg{Key: "decide.gone"}), false
	}
	if line == nil || line.Fate != FateAsked {
		e.Outcome = Kept
		return next, false
	}
	q := next.misfits[next.misfitOf(e)]
	if e.Scan.IsPresent() && !q.keep {
		return f.refuse(e, q.Known), q.ask && !e.Scan.Anyway
	}
	e.Outcome, e.Say = Questioned, q.Known
	return next, false
}

// hearLast applies a scan that happened after all others.
func (f *Family) hearLast(shop *Shop, e *Entry, ev *event) (*Family, bool) {
	if e.Scan.IsPresent() {
		if m := f.check(shop, ev); m != nil && !m.keep && (!m.ask || !e.Scan.Anyway) {
			return f.refuse(e, m.msg), m.ask
		} else {
			ev.checked = m == nil
		}
	}
	n := f.clone()
	n.keep(e)
	n.events = append(n.events, *ev)
	n.tell(shop, &n.events[len(n.events)-1])
	e.Outcome = Kept
	if n.Lines[len(n.Lines)-1].Fate == FateAsked {
		e.Outcome, e.Say = Questioned, n.misfits[len(n.misfits)-1].Known
	}
	return n, false
}

func (f *Family) refuse(e *Entry, why Msg) *Family {
	e.Outcome, e.Say = Refused, why
	if e.Scan.Action == ActSplit {
		e.Other = ""
	}
	n := f.clone()
	n.keep(e)
	n.Refused = append(n.Refused, e)
	return n
}

// fast reports whether an event happened after all others, so that it need only
// be applied. It sets the event's time and hint.
func (f *Family) fast(shop *Shop, ev *event) bool {
	if isControl(ev.s) || len(f.Batches) == 0 || slices.Contains(f.awaited, ev.e.Scan.ID) {
		return false
	}
	ev.at, ev.uncertain = ev.raw()
	ev.hint = f.hint(shop, ev)
	if len(f.events) == 0 {
		return true
	}
	if !ev.at.After(f.latest) || (ev.s.Action == ActSplit && f.spoken(ev.e.Other)) {
		return false
	}
	if ev.chained() && f.ahead(ev) {
		return false
	}
	if ev.at.Add(-ev.within).After(f.edge) {
		return true
	}
	for i := range f.events {
		if swaps(&f.events[i], ev) {
			return false
		}
	}
	return true
}

// spoken reports whether a scan of a card is there already, before the split
// that gave it.
func (f *Family) spoken(card Code) bool {
	for i := range f.Lines {
		if f.Lines[i].Entry.Card == card {
			return true
		}
	}
	return false
}

// ahead reports whether a later scan of the same device is there already.
func (f *Family) ahead(ev *event) bool {
	for i := len(f.events) - 1; i >= 0; i-- {
		o := &f.events[i]
		if o.e.Scan.Device == ev.e.Scan.Device && o.chained() {
			return o.e.Scan.N >= ev.e.Scan.N // the last one has the highest number
		}
	}
	return false
}

func (f *Family) lineOf(e *Entry) *Line {
	for i := range f.Lines {
		if f.Lines[i].Entry == e {
			return &f.Lines[i]
		}
	}
	return nil
}

func (f *Family) misfitOf(e *Entry) int {
	for i := range f.misfits {
		if f.misfits[i].Scan == e.Scan.ID && f.misfits[i].Kind == QuestionScan {
			return i
		}
	}
	return -1
}

// Ended reports whether every batch of the family is done or cancelled and no
// question is open, so that it may leave the floor.
func (f *Family) Ended() bool {
	for i := range f.Batches {
		switch f.State(i) {
		case StateDone, StateCancelled:
		default:
			return false
		}
	}
	for _, q := range f.Questions() {
		if q.Settled == nil {
			return false
		}
	}
	return true
}

// State says where a batch stands.
func (f *Family) State(batch int) BatchState {
	b := &f.Batches[batch]
	ts := f.Tallies(batch)
	switch {
	case !b.Cancelled.IsZero():
		return StateCancelled
	case b.Joined != "":
		return StateDone
	case b.Held:
		return StateHeld
	}
	best, busy := f.atWork(batch)
	if busy {
		return best
	}
	if f.done(batch, ts) {
		return StateDone
	}
	return StateWaiting
}

// atWork is the state of the visit that says most of a batch, by the precedence
// run, set-up, stop, outside.
func (f *Family) atWork(batch int) (state BatchState, busy bool) {
	rank := 0
	for i := range f.Visits {
		v := &f.Visits[i]
		if v.Batch != batch || !v.Open() {
			continue
		}
		r, s := 0, StateWaiting
		switch v.State {
		case VisitRunning:
			r, s = 4, StateRunning
		case VisitSetting, VisitFirstOff, VisitReady:
			r, s = 3, StateSetting
		case VisitStopped:
			r, s = 2, StateStopped
		case VisitOutside:
			r, s = 1, StateOutside
		}
		if r > rank {
			rank, state = r, s
		}
	}
	return state, rank > 0
}

// done reports whether nothing is left to do on a batch.
func (f *Family) done(batch int, ts []Tally) bool {
	b := &f.Batches[batch]
	for k := range ts {
		if ts[k].ReworkOpen > 0 || ts[k].ReviewOpen > 0 {
			return false
		}
	}
	if s := f.sum(batch, ts); b.firstIndex() >= len(ts) || (s.ToDo == 0 && (f.anySeen(batch) || s.Out > 0)) {
		return true
	}
	last := &ts[len(ts)-1]
	return last.Closed && last.Could <= last.Counted+last.Assumed
}
