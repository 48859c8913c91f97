package story

import (
	"slices"
	"tallywalk/traveler"
	"time"
)

// Fold works out the story of a family from its record, which is given by sequence
// and begins with a release. It is total: any entries give a story.
func Fold(shop *traveler.Shop, record []*traveler.Entry) *Family {
	f := base(shop, slices.Clone(record))
	f.events = f.read(shop)
	f.awaited = awaited(f.events)
	f.fold(shop, len(f.events))
	return f
}

// base is a family before anything was scanned of it.
func base(shop *traveler.Shop, record []*traveler.Entry) *Family {
	f := &Family{Rules: Rules, record: record, versions: newVersions(shop, len(record))}
	for _, e := range record {
		switch {
		case e.Release != nil && f.Root == "":
			f.start(shop, e)
		case e.Scan != nil && e.Outcome == traveler.Refused:
			f.Refused = append(f.Refused, e)
		}
	}
	return f
}

// read makes the events of the record, in the order in which they happened,
// with what controls say of them.
func (f *Family) read(shop *traveler.Shop) []event {
	events := make([]event, 0, len(f.record))
	for _, e := range f.record {
		if e.Scan != nil && e.Outcome != traveler.Refused {
			events = append(events, f.newEvent(e))
		}
	}
	f.hints(shop, events)
	order(events)
	applyControls(events)
	if retimed(events) {
		f.hints(shop, events)
		order(events)
	}
	return events
}

// fold folds the events up to the n-th that are not folded yet.
func (f *Family) fold(shop *traveler.Shop, n int) {
	for i := f.Lines.Len(); i < n; i++ {
		f.versions.keepMark(f, i, len(f.events), false)
		f.step(shop, &f.events[i])
	}
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
func (f *Family) start(shop *traveler.Shop, e *traveler.Entry) {
	r := e.Release
	f.Root, f.Rules = e.Card, e.Rules
	b := Batch{
		Card: e.Card, Part: r.Part, Rev: r.RouteRev, Started: r.Pieces, Wanted: r.Wanted,
		Due: r.Due, Priority: r.Priority, Hot: r.Hot, MakesUp: r.MakesUp, Order: r.WorksOrder,
		Customer: r.Customer,
		Line:     r.OrderLine, Lots: r.MaterialLots, Released: e.Clocked(),
	}
	if b.Wanted == 0 {
		b.Wanted = b.Started
	}
	if !r.Released.IsZero() && r.Released.Before(e.Clocked()) {
		b.Released = r.Released
		b.OnFloor = e.Clocked().Sub(r.Released) >= time.Hour
	}
	if route, ok := shop.Route(r.Part, r.RouteRev); ok {
		b.Ops, b.Drawing, b.Name = route.Operations, route.DrawingRev, route.PartName
	}
	f.Batches, f.route = []Batch{b}, b.Ops
}

// hints gives each event its place along the route, as far as it can be said
// without the story: by the operation it names, or by its machine.
func (f *Family) hints(shop *traveler.Shop, events []event) {
	for i := range events {
		events[i].hint = f.hint(shop, &events[i])
	}
}

// behindAll is the place of what is said about other scans: after all that
// happened at the same moment.
const behindAll = traveler.MaxOp + 1

func (f *Family) hint(shop *traveler.Shop, ev *event) int {
	if isControl(ev.e.Scan) || ev.e.Scan.Action == traveler.ActDecide {
		return behindAll
	}
	if len(f.Batches) == 0 {
		return 0
	}
	op := ev.s.Operation
	if op == 0 {
		op = traveler.ParseRef(ev.s.Card).Op
	}
	if op != 0 {
		return int(op)
	}
	for i := range f.route {
		o := &f.route[i]
		if shop.CanWork(ev.machine, o.WorkCentre, ev.e.Arrived) {
			return int(o.Number)
		}
	}
	return 0
}

func awaited(events []event) []traveler.ScanID {
	var out []traveler.ScanID
	for i := range events {
		if isControl(events[i].s) && !events[i].aimed {
			out = append(out, ControlTarget(events[i].s))
		}
	}
	return out
}

// step folds the next event: as it is, as a question, or not at all.
func (f *Family) step(shop *traveler.Shop, ev *event) {
	line := Line{Entry: ev.e, At: ev.at, Uncertain: ev.uncertain, Batch: f.Index(ev.card), Visit: -1,
		By: ev.by, Fate: FateStands}
	if ev.s != ev.e.Scan {
		line.Fate = FateCorrected
	}
	switch {
	case ev.fate != "":
		line.Fate = ev.fate
	case line.Batch < 0 && !isControl(ev.s) && !f.knows(ev.card):
		line.Fate = FateElsewhere
	default:
		f.fit(shop, ev, &line)
		ev.ts, ev.checked = nil, false
	}
	if ev.at.After(f.latest) {
		f.latest = ev.at
	}
	f.Lines.add(line)
	if line.Visit >= 0 && (line.Fate == FateStands || line.Fate == FateCorrected) {
		v := &f.Visits[line.Visit]
		v.seen = append(v.seen, line.At)
	}
}

// knows reports whether a card belongs to this family, or would, were its split
// not taken back.
func (f *Family) knows(card traveler.Code) bool {
	if card == f.Root {
		return true
	}
	for _, e := range f.record {
		if e.Scan != nil && e.Scan.Action == traveler.ActSplit && e.Other == card && card != "" {
			return true
		}
	}
	return false
}

func (f *Family) fit(shop *traveler.Shop, ev *event, line *Line) {
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
		if ev.s.Action == traveler.ActFinish && m.count {
			f.finishUncounted(shop, ev, line)
		}
		return
	}
	if q, reset := f.counterReset(shop, ev); reset {
		f.misfits = append(f.misfits, q)
	}
	f.apply(shop, ev, line)
	f.cutAllClosed(shop, ev, line.Visit)
}

// finishUncounted ends a visit whose count does not fit: that it ended is not
// in doubt, only the pieces wait for an answer.
func (f *Family) finishUncounted(shop *traveler.Shop, ev *event, line *Line) {
	batch := line.Batch
	if sp := f.locate(shop, ev, batch, f.Tallies(batch)); sp.visit < 0 {
		return
	}
	s := *ev.s
	s.Good, s.Scrap, s.Rework, s.Review, s.Missing, s.Reads = nil, nil, nil, nil, nil, nil
	bare := *ev
	bare.s = &s
	f.apply(shop, &bare, line)
	f.cutAllClosed(shop, &bare, line.Visit)
}

// counterReset asks about a machine's counter that reads less than before.
func (f *Family) counterReset(shop *traveler.Shop, ev *event) (Question, bool) {
	if ev.s.Reads == nil || (ev.s.Action != traveler.ActCount && ev.s.Action != traveler.ActFinish) {
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
		ID: "counter:" + string(ev.e.Scan.ID), Kind: QuestionCounter, Card: ev.card, Operation: sp.op,
		Scan: ev.e.Scan.ID, At: ev.at,
		Known:   traveler.Msg{Key: "counter.reset", Args: []string{num(last), num(*ev.s.Reads)}},
		Choices: []string{ChoiceSeen},
	}, true
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

// atWork is the state of the visit that decides a batch's, by the precedence
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
