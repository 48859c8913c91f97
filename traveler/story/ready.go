package story

import (
	"slices"
	"time"

	"tallywalk/traveler"
)

// What is said of a thing that an operation needs.
const (
	ReadyThere   = "there"
	ReadyMissing = "missing"
	ReadyOpen    = "open" // what was said of it is taken back: nobody knows
)

// Tick is what was last said of a thing that an operation of a batch needs.
type Tick struct {
	Operation traveler.Op
	Thing     string // one of the shop's reasons of kind ready; empty = each of them
	State     string // ReadyThere or ReadyMissing
	Note      string
	By        traveler.PersonID
	Name      string // account or station that said it
	Machine   traveler.MachineID
	At        time.Time
	Scan      traveler.ScanID
}

// readyOp is the operation that a scan of things is about: the one said, else the
// batch's next.
func (f *Family) readyOp(ev *event, batch int, ts []Tally) traveler.Op {
	if op := ev.s.Operation; op != 0 {
		return op
	}
	return f.nextOp(batch, ts)
}

// checkReady says whether something can be said of a thing: it is on the shop's list,
// and the operation has not begun. What comes late of one that has changes nothing and
// asks nobody.
func (f *Family) checkReady(shop *traveler.Shop, ev *event, batch int, ts []Tally) *misfit {
	s, b := ev.s, &f.Batches[batch]
	switch s.Reason {
	case ReadyThere, ReadyMissing, ReadyOpen:
	default:
		return no("ready.what", s.Reason)
	}
	op := f.readyOp(ev, batch, ts)
	k := b.index(op)
	if k < 0 || k < b.firstIndex() {
		return no("op.unknown", op.String(), opList(b))
	}
	if ts[k].Closed || f.Begun(batch, op) {
		m := no("ready.begun", op.String())
		m.lapsed = true
		return m
	}
	things := shop.Things(b.Ops[k].WorkCentre, ev.at)
	named := func(r traveler.Reason) bool { return r.Code == s.For }
	if len(things) == 0 || s.For != "" && !slices.ContainsFunc(things, named) ||
		s.For == "" && s.Reason == ReadyMissing {
		return no("ready.thing", s.For, op.String())
	}
	return nil
}

// ready notes what was said of a thing, in place of what was said of it before.
func (f *Family) ready(ev *event, batch int) {
	s, b := ev.s, &f.Batches[batch]
	op := f.readyOp(ev, batch, f.Tallies(batch))
	if b.index(op) < 0 {
		return
	}
	ticks := make([]Tick, 0, len(b.Ticks)+1)
	for _, t := range b.Ticks {
		if t.Operation != op || s.For != "" && t.Thing != s.For {
			ticks = append(ticks, t)
		}
	}
	if s.Reason != ReadyOpen || s.For != "" && hasTick(ticks, op, "") {
		ticks = append(ticks, Tick{
			Operation: op, Thing: s.For, State: s.Reason, Note: s.Note, By: s.Operator, Name: ev.e.By.Name,
			Machine: ev.machine, At: ev.at, Scan: ev.e.Scan.ID,
		})
	}
	b.Ticks = ticks
}

func hasTick(ticks []Tick, op traveler.Op, thing string) bool {
	return slices.ContainsFunc(ticks, func(t Tick) bool { return t.Operation == op && t.Thing == thing })
}

// Needed is a thing that an operation needs, with what was last said of it; Tick is
// zero where nobody knows.
type Needed struct {
	Thing traveler.Reason
	Tick  Tick
}

// Needs lists what an operation of a batch needs, by the shop's list as it is at t; none
// once work on it has begun, nor where the shop has no such list. Nobody having looked
// does not mean that something is missing.
func (f *Family) Needs(shop *traveler.Shop, batch int, op traveler.Op, t time.Time) (out []Needed) {
	b := &f.Batches[batch]
	k := b.index(op)
	if k < b.firstIndex() || k < 0 {
		return nil
	}
	things := shop.Things(b.Ops[k].WorkCentre, t)
	if len(things) == 0 || f.Begun(batch, op) {
		return nil
	}
	for _, r := range things {
		out = append(out, Needed{r, b.tick(op, r.Code)})
	}
	return out
}

// tick is what was last said of a thing that an operation needs; zero where that was
// taken back, or nobody said anything.
func (b *Batch) tick(op traveler.Op, thing string) (t Tick) {
	for _, x := range b.Ticks {
		if x.Operation == op && (x.Thing == thing || x.Thing == "") {
			t = x // the later ones are about less
		}
	}
	if t.State == ReadyOpen {
		return Tick{}
	}
	return t
}

// Begun reports whether work on an operation of a batch has begun: what it needs was
// there then.
func (f *Family) Begun(batch int, op traveler.Op) bool {
	return slices.ContainsFunc(f.Visits, func(v Visit) bool {
		return v.Batch == batch && v.Operation == op && v.ReworkFor == 0 && v.State != VisitWaiting
	})
}

// Missing lists the things of which someone said that an operation of a batch lacks
// them, of those that are on the shop's list at t; none once work on it has begun.
func (f *Family) Missing(shop *traveler.Shop, batch int, op traveler.Op, t time.Time) (things []string) {
	if len(f.Batches[batch].Ticks) == 0 {
		return nil
	}
	for _, n := range f.Needs(shop, batch, op, t) {
		if n.Tick.State == ReadyMissing {
			things = append(things, n.Thing.Code)
		}
	}
	return things
}
