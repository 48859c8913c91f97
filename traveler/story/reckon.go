package story

import (
	"slices"
	"tallywalk/traveler"
)

// ForLog is what a decision about the pieces of an operation is for, where an
// import made it from the rows of an old log.
const ForLog = "log"

// Reckoning is what became of the pieces at an operation, as an import worked it
// out from all the rows of an old log. Rows count pieces again when these come a
// second time, and count fewer than went on; a reckoning says how many there
// were, so that pieces are conserved. The visits keep what their rows say. It
// stands in place of the sums of the visits and of an earlier reckoning.
type Reckoning struct {
	Operation traveler.Op
	Good      int // went on
	Passed    int // of Good: no row counts them
	Rework    int // still out for rework
	Review    int // still set aside
	Missing   int
}

// reckoned takes what an import worked out.
func (b *Batch) reckoned(s *traveler.Scan) {
	r := Reckoning{Operation: s.Operation, Good: s.GoodPieces(), Passed: s.Pieces,
		Rework: traveler.SumLosses(s.Rework), Review: traveler.SumLosses(s.Review),
		Missing: s.MissingPieces()}
	list := slices.DeleteFunc(slices.Clone(b.Reckoned),
		func(x Reckoning) bool { return x.Operation == r.Operation })
	b.Reckoned = append(list, r)
}

// addReckoned puts what was worked out in place of what was added up.
func addReckoned(b *Batch, out []Tally) {
	for _, r := range b.Reckoned {
		k := b.index(r.Operation)
		if k < 0 {
			continue
		}
		t := &out[k]
		t.Good, t.Assumed, t.ReworkOpen = r.Good, r.Passed, r.Rework
		t.ReviewOpen, t.Missing = r.Review, r.Missing
		t.Counted = r.Good - r.Passed + t.Scrap + r.Rework + r.Review + r.Missing
		t.Said = true
	}
}

// isReckoning reports whether a scan is an import's reckoning.
func (ev *event) isReckoning() bool {
	return ev.s.Action == traveler.ActDecide && ev.s.For == ForLog && ev.e.FromLog()
}
