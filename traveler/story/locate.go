package story

import (
	"slices"
	"tallywalk/traveler"
)

// spot is where a scan belongs: a batch, an operation, the visit it is part of
// (-1 = a new one), and the operation that sent pieces to rework.
type spot struct {
	batch   int
	op      traveler.Op
	visit   int
	rework  traveler.Op
	machine traveler.MachineID
}

// locate finds the spot of a scan. op is 0 when the batch has no operation that
// could be meant.
func (f *Family) locate(shop *traveler.Shop, ev *event, batch int, ts []Tally) spot {
	sp := spot{batch: batch, visit: -1, machine: ev.machine}
	s := ev.s
	if s.Visit != "" {
		if v := f.visitOf(s.Visit); v >= 0 && f.Visits[v].Batch == batch {
			vis := &f.Visits[v]
			return spot{batch, vis.Operation, v, vis.ReworkFor, vis.Machine}
		}
	}
	sp.op = s.Operation
	if sp.op == 0 {
		sp.op = traveler.ParseRef(s.Card).Op
	}
	if s.Action == traveler.ActFirstOff && s.HasCounts() {
		if v := f.awaitsVerdict(batch, sp.op, ev.machine); v >= 0 {
			vis := &f.Visits[v]
			return spot{batch, vis.Operation, v, vis.ReworkFor, vis.Machine}
		}
	}
	if n, ok := traveler.ParseOp(s.For); ok && s.Action != traveler.ActDecide &&
		s.Action != traveler.ActOverride {
		sp.rework = n
	}
	if sp.op == 0 {
		sp.op = f.likelyOp(shop, ev, &sp, ts)
	}
	if ev.e.FromLog() && s.Visit == "" && (s.Action == traveler.ActSetup || s.Action == traveler.ActRun) {
		return sp
	}
	sp.visit = f.openVisit(&sp, s.Action)
	return sp
}

// awaitsVerdict finds the visit whose first piece waits for a verdict, which
// may be given at the machine or in the inspection room.
func (f *Family) awaitsVerdict(batch int, op traveler.Op, machine traveler.MachineID) int {
	found := -1
	for i := range f.Visits {
		v := &f.Visits[i]
		if v.Batch != batch || v.State == VisitFinished || (op != 0 && v.Operation != op) {
			continue
		}
		if v.FirstOff == FirstWaiting && (found < 0 || v.Machine == machine) {
			found = i
		}
	}
	return found
}

func (f *Family) visitOf(id traveler.ScanID) int {
	// A station names a visit by its first scan.
	for i := range f.Visits {
		if f.Visits[i].ID == id {
			return i
		}
	}
	for i := range f.Visits {
		if slices.Contains(f.Visits[i].Scans, id) {
			return i
		}
	}
	return -1
}

// likelyOp is the operation meant by a scan that names none: the one that goes
// on at this machine, else the first one this machine could do and that is not
// over, else the batch's next one.
func (f *Family) likelyOp(shop *traveler.Shop, ev *event, sp *spot, ts []Tally) traveler.Op {
	b := &f.Batches[sp.batch]
	if v := f.unfinished(ev, sp); v >= 0 {
		sp.rework = f.Visits[v].ReworkFor
		return f.Visits[v].Operation
	}
	last := traveler.Op(0)
	for k := b.firstIndex(); k < len(b.Ops); k++ {
		o := &b.Ops[k]
		if !shop.CanWork(ev.machine, o.WorkCentre, ev.at) {
			continue
		}
		if sp.rework != 0 {
			if o.Number <= sp.rework {
				last = o.Number
			}
			continue
		}
		last = o.Number
		if !f.over(sp.batch, k, ts) {
			return o.Number
		}
	}
	if last != 0 {
		return last
	}
	if sp.rework != 0 {
		return sp.rework
	}
	return f.nextOp(sp.batch, ts)
}

// unfinished is the visit that goes on at a machine, or -1. One that the batch
// was seen to have left goes on only by what continues work.
func (f *Family) unfinished(ev *event, sp *spot) int {
	left := -1
	for i := len(f.Visits) - 1; i >= 0; i-- {
		v := &f.Visits[i]
		if v.Batch != sp.batch || v.Machine != ev.machine || v.State == VisitFinished {
			continue
		}
		if sp.rework != 0 && v.ReworkFor != sp.rework {
			continue
		}
		if v.Open() {
			return i
		}
		if left < 0 && !begins(ev.s.Action) {
			left = i
		}
	}
	return left
}

// begins reports whether an action begins a stay rather than going on with one.
func begins(act traveler.Action) bool {
	return act == traveler.ActSetup || act == traveler.ActArrive || act == traveler.ActSend
}

// over reports whether operation k of a batch is finished: everything counted
// and finished, or the batch was seen further on.
func (f *Family) over(batch, k int, ts []Tally) bool {
	b, t := &f.Batches[batch], &ts[k]
	if k < b.firstIndex() || b.skipped(t.Operation) {
		return true
	}
	if !t.Seen || t.Busy {
		return false
	}
	// What was not counted is asked about; it does not keep the batch here.
	return t.Closed || seenAfter(k, ts) || (t.Counted > 0 && t.Could <= t.Counted)
}

func seenAfter(k int, ts []Tally) bool {
	for j := k + 1; j < len(ts); j++ {
		if ts[j].Seen {
			return true
		}
	}
	return false
}

// nextOp is the first operation that is not over; 0 when all are.
func (f *Family) nextOp(batch int, ts []Tally) traveler.Op {
	for k := range ts {
		if !f.over(batch, k, ts) {
			return ts[k].Operation
		}
	}
	return 0
}

// openVisit finds the visit a scan goes on with. Setting, or arriving, at a
// machine that the batch was seen to have left begins another one.
func (f *Family) openVisit(sp *spot, act traveler.Action) int {
	finished := -1
	for i := len(f.Visits) - 1; i >= 0; i-- {
		v := &f.Visits[i]
		if v.Batch != sp.batch || v.Machine != sp.machine || v.Operation != sp.op ||
			v.ReworkFor != sp.rework {
			continue
		}
		if v.State == VisitFinished {
			if finished < 0 {
				finished = i
			}
			continue
		}
		if !v.PassedBy.IsZero() && begins(act) {
			return -1
		}
		return i
	}
	if act == traveler.ActCount || act == traveler.ActReceive {
		return finished
	}
	return -1
}
