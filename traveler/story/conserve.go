package story

import "tallywalk/traveler"

// Unbalanced finds the first operation of a batch at which pieces are lost or made: what
// came in is not what is accounted for (see Tally), more came in than the operation before
// let go, or a count is negative. Operation 0 stands for the batch as a whole.
func (f *Family) Unbalanced(batch int) (at traveler.Op, is bool) {
	b := &f.Batches[batch]
	ts := f.Tallies(batch)
	sum := f.sum(batch, ts)
	before := sum.Started
	for k := range ts {
		t := &ts[k]
		if t.Operation < b.First {
			continue
		}
		out := t.Good + t.Scrap + t.ReworkOpen + t.ReviewOpen + t.Missing + t.ToDo
		if t.In != out || t.In > before+b.moved(t.Operation)+t.Over ||
			min(t.In, t.ToDo, t.ReworkOpen, t.ReviewOpen) < 0 {
			return t.Operation, true
		}
		before = t.Good
	}
	return 0, sum.ToDo < 0
}
