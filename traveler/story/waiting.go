package story

import (
	"tallywalk/traveler"
	"time"
)

// WaitKind says what pieces wait for.
type WaitKind string

// What pieces can wait for.
const (
	WaitWork   WaitKind = "work"   // the next operation
	WaitRework WaitKind = "rework" // being reworked
	WaitReview WaitKind = "review" // an inspector's decision
)

// Wait is pieces of a batch that wait in front of an operation.
type Wait struct {
	Operation traveler.Op
	Kind      WaitKind
	Machine   traveler.MachineID // where they arrived; empty while no machine is chosen
	Pieces    int
	Since     time.Time
	Arrived   bool // Since is a scanned arrival, not the end of what was before
}

// Waits lists where pieces of a batch wait, in route order.
func (f *Family) Waits(batch int) []Wait {
	b := &f.Batches[batch]
	if !b.Cancelled.IsZero() || b.Joined != "" {
		return nil
	}
	ts := f.Tallies(batch)
	next := f.nextOp(batch, ts)
	var out []Wait
	for k := b.firstIndex(); k < len(ts); k++ {
		t := &ts[k]
		if t.ReviewOpen > 0 {
			out = append(out,
				Wait{Operation: t.Operation, Kind: WaitReview, Pieces: t.ReviewOpen,
					Since: f.lastCount(batch, t.Operation)})
		}
		if t.ReworkOpen > 0 && !f.inRework(batch, t.Operation) {
			out = append(out,
				Wait{Operation: t.Operation, Kind: WaitRework, Pieces: t.ReworkOpen,
					Since: f.lastCount(batch, t.Operation)})
		}
		out = f.waitsAt(out, batch, k, next, ts)
	}
	return out
}

func (f *Family) waitsAt(out []Wait, batch, k int, next traveler.Op, ts []Tally) []Wait {
	t := &ts[k]
	pieces := f.together(batch, k, ts)
	arrived := -1
	for i := range f.Visits {
		v := &f.Visits[i]
		if v.Batch != batch || v.Operation != t.Operation || v.ReworkFor != 0 || !v.Open() {
			continue
		}
		if v.State != VisitWaiting {
			return out // someone is at it
		}
		arrived = i
	}
	if f.over(batch, k, ts) || (t.Operation != next && pieces == 0) {
		return out
	}
	w := Wait{Operation: t.Operation, Kind: WaitWork, Pieces: pieces, Since: f.cameFree(batch, k, ts)}
	if pieces == 0 {
		w.Pieces = t.Left()
	}
	if w.Pieces == 0 {
		return out // all of them were lost on the way
	}
	if arrived >= 0 {
		v := &f.Visits[arrived]
		w.Machine, w.Since, w.Arrived = v.Machine, v.Arrived, !v.ArrivalInferred
	}
	return append(out, w)
}

func (f *Family) inRework(batch int, op traveler.Op) bool {
	for i := range f.Visits {
		if v := &f.Visits[i]; v.Batch == batch && v.ReworkFor == op && v.Open() {
			return true
		}
	}
	return false
}

// cameFree is since when pieces have waited in front of operation k: the end of
// the last visit before it, else the release.
func (f *Family) cameFree(batch, k int, ts []Tally) time.Time {
	t := f.Batches[batch].Released
	for i := range f.Visits {
		v := &f.Visits[i]
		if v.Batch == batch && v.ReworkFor == 0 && v.Operation <= ts[k].Operation {
			if e := v.Ended(); e.After(t) {
				t = e
			}
		}
	}
	return t
}

// Before is when a visit's batch was last known to be done elsewhere before it
// came: the end of the visit before, or the release.
func (f *Family) Before(visit int) time.Time {
	v := &f.Visits[visit]
	t := f.Batches[v.Batch].Released
	for i := range f.Visits {
		o := &f.Visits[i]
		if i == visit || o.Batch != v.Batch {
			continue
		}
		switch e := o.Ended(); {
		case o.Arrived.Before(v.Arrived) && (e.IsZero() || e.After(v.Arrived)):
			return v.Arrived // sent ahead while that still went on
		case !e.IsZero() && e.After(t) && !e.After(v.Arrived):
			t = e
		}
	}
	return t
}

// NextOp is the first operation of a batch that is not finished; 0 when all
// are.
func (f *Family) NextOp(batch int) traveler.Op { return f.nextOp(batch, f.Tallies(batch)) }

// Spot says what a scan at a machine would be about: the operation, its open
// visit (-1 = none), and how many pieces can still be counted there.
func (f *Family) Spot(shop *traveler.Shop, batch int, machine traveler.MachineID,
	at time.Time) (op traveler.Op, visit, left int) {
	ev := &event{s: &traveler.Scan{Action: traveler.ActRun}, machine: machine, at: at}
	ts := f.Tallies(batch)
	sp := f.locate(shop, ev, batch, ts)
	if k := f.Batches[batch].index(sp.op); k >= 0 {
		left = ts[k].Left()
		if sp.rework != 0 {
			left = ts[f.Batches[batch].index(sp.rework)].ReworkOpen
		}
	}
	return sp.op, sp.visit, left
}
