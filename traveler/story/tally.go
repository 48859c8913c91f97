package story

import "tallywalk/traveler"

// Tally is what became of the pieces at one operation of a batch. Always
//
//	In = Good + Scrap + ReworkOpen + ReviewOpen + Missing + ToDo
//
// and what came in is what the operation before let go, less what left for
// other batches and with what came from them, plus Over.
type Tally struct {
	Operation traveler.Op
	In        int // pieces known to have come in
	Good      int // went on, or can go on
	Scrap     int
	Rework    int // ever sent to rework
	// ReworkOpen and ReviewOpen are pieces that wait for rework or for an
	// inspector.
	ReworkOpen, ReviewOpen int
	Missing                int
	ToDo                   int
	Concession             int // of Good: released with a concession
	Assumed                int // of Good: nobody counted them; inferred from a finish or from what came further on
	Over                   int // counted beyond what the operation before let go
	Could                  int // pieces that could have come in, were all before well
	Counted                int // pieces that got a first outcome here
	Seen                   bool
	Said                   bool // anything at all was counted at a first-pass visit
	Closed                 bool // begun, and each visit was finished by someone
	Busy                   bool // some visit goes on
}

// Left is the number of pieces that can still be counted here.
func (t *Tally) Left() int { return max(0, t.Could-t.Counted-t.Assumed) }

// Tallies counts the pieces of a batch at each of its operations, in route
// order.
func (f *Family) Tallies(batch int) []Tally {
	b := &f.Batches[batch]
	out := f.Outcomes(batch)
	flow(b, out)
	imply(b, out)
	return out
}

// Outcomes adds up what was said of the pieces at each operation, in route order,
// before they flow along the route: without In, ToDo, Over and Could, and Assumed
// only where an import said so. A device carries it on by what it says itself.
func (f *Family) Outcomes(batch int) []Tally {
	b := &f.Batches[batch]
	out := make([]Tally, len(b.Ops))
	for i := range b.Ops {
		out[i].Operation = b.Ops[i].Number
	}
	f.addVisits(batch, b, out)
	addDecisions(b, out)
	addReckoned(b, out)
	return out
}

// addVisits adds up what was counted at the visits.
func (f *Family) addVisits(batch int, b *Batch, out []Tally) {
	for i := range f.Visits {
		v := &f.Visits[i]
		if v.Batch != batch {
			continue
		}
		if v.ReworkFor != 0 {
			if k := b.index(v.ReworkFor); k >= 0 {
				addRework(&out[k], v)
			}
			continue
		}
		k := b.index(v.Operation)
		if k < 0 {
			continue
		}
		t := &out[k]
		finished := v.State == VisitFinished
		t.Closed = finished && (t.Closed || !t.Seen)
		t.Seen = true
		t.Busy = t.Busy || v.Open()
		t.Good += v.Good
		t.Scrap += v.Scrap
		t.Rework += v.Rework
		t.ReworkOpen += v.Rework
		t.ReviewOpen += v.Review
		t.Missing += v.Missing
		t.Counted += v.counted()
		t.Said = t.Said || v.counted() > 0
	}
}

// addRework takes what came of pieces that were sent to rework. They are good
// again only where they were found; on the way there they are passed on.
func addRework(t *Tally, v *Visit) {
	if v.Operation == v.ReworkFor {
		t.Good += v.Good
		t.ReworkOpen -= v.Good
	}
	t.Scrap += v.Scrap
	t.ReviewOpen += v.Review
	t.Missing += v.Missing
	t.ReworkOpen -= v.Scrap + v.Review + v.Missing
}

func addDecisions(b *Batch, out []Tally) {
	for i := range b.Decisions {
		d := &b.Decisions[i]
		k := b.index(d.Operation)
		if k < 0 {
			continue
		}
		t := &out[k]
		// What was taken off may have gone since, with the scan it came from.
		good := max(d.Good, -t.Good)
		t.Good += good + d.Concession
		t.Concession += d.Concession
		t.Scrap += d.Scrap
		t.Rework += d.Rework
		t.ReworkOpen += d.Rework
		t.Missing += d.Miss
		total := good + d.Concession + d.Scrap + d.Rework + d.Miss
		if d.FromReview {
			t.ReviewOpen -= total
		} else {
			t.Counted += total
		}
	}
}

// flow lets the pieces run along the route: known is what surely came, could is
// what may have come where nobody has closed an operation yet.
func flow(b *Batch, out []Tally) {
	known, could := b.Started, b.Started
	first := b.firstIndex()
	for k := range out {
		t := &out[k]
		t.balance()
		if k < first {
			*t = Tally{Operation: t.Operation, Closed: true}
			continue
		}
		delta := b.moved(t.Operation)
		known, could = max(0, known+delta), max(0, could+delta)
		if k == first && t.Counted > could {
			// The bar gave more than was started.
			known, could = t.Counted, t.Counted
		}
		t.Could = max(could, t.Counted)
		t.In = max(known, t.Counted)
		skipped := b.skipped(t.Operation)
		if skipped && !t.Seen {
			t.Closed = true
		}
		if (t.Closed && !t.Said && t.Counted == 0) || (skipped && !t.Seen) {
			t.Assumed = max(0, t.Could-t.Counted)
			t.Good += t.Assumed
			t.In = t.Could
		}
		t.ToDo = t.In - t.Counted - t.Assumed
		known = t.Good
		could = t.Good
		if !t.Closed {
			could = t.Good + t.Could - t.Counted - t.Assumed
		}
	}
}

// balance lets pieces that came back from rework or review without having been
// sent there, because a supervisor said so, count as counted here.
func (t *Tally) balance() {
	if t.ReworkOpen < 0 {
		t.Counted -= t.ReworkOpen
		t.ReworkOpen = 0
	}
	if t.ReviewOpen < 0 {
		t.Counted -= t.ReviewOpen
		t.ReviewOpen = 0
	}
}

// Moved is the number of pieces that joined before an operation, less those
// that left there; operation 0 is the end of the route.
func (b *Batch) Moved(before traveler.Op) int { return b.moved(before) }

func (b *Batch) moved(before traveler.Op) int {
	n := 0
	for _, x := range b.In {
		if x.Before == before {
			n += x.N
		}
	}
	for _, x := range b.Out {
		if x.Before == before {
			n -= x.N
		}
	}
	return n
}

// imply goes back along the route: pieces that were counted further on have
// passed the operation before, even if nobody counted them there.
func imply(b *Batch, out []Tally) {
	for k := len(out) - 1; k > b.firstIndex(); k-- {
		t, prev := &out[k], &out[k-1]
		need := t.In - b.moved(t.Operation) - prev.Good
		if need <= 0 {
			continue
		}
		if prev.Closed {
			t.Over = need
			continue
		}
		grow := min(need, max(0, prev.Could-prev.Counted-prev.Assumed))
		prev.Good += grow
		prev.Assumed += grow
		prev.In = max(prev.In, prev.Counted+prev.Assumed)
		prev.ToDo = prev.In - prev.Counted - prev.Assumed
		t.Over = need - grow
	}
}

// Sum is what became of the pieces of a whole batch:
//
//	Started + In - Out + Over = Good + Scrap + ReworkOpen + ReviewOpen + Missing + ToDo
type Sum struct {
	Started, In, Out       int
	Over                   int // counted somewhere beyond what the operation before let go
	Good                   int // good at the last operation
	Scrap, Rework, Missing int
	ReworkOpen, ReviewOpen int
	Concession             int
	ToDo                   int // still somewhere along the route
}

// Sum adds up a batch.
func (f *Family) Sum(batch int) Sum { return f.sum(batch, f.Tallies(batch)) }

func (f *Family) sum(batch int, ts []Tally) Sum {
	b := &f.Batches[batch]
	var s Sum
	s.Started = b.Started
	for _, x := range b.In {
		s.In += x.N
	}
	for _, x := range b.Out {
		s.Out += x.N
	}
	first := b.firstIndex()
	for k := range ts {
		t := &ts[k]
		if k == first {
			s.Started = max(s.Started, t.In-b.moved(t.Operation))
		} else {
			s.Over += t.Over
		}
		s.Scrap += t.Scrap
		s.Rework += t.Rework
		s.Missing += t.Missing
		s.ReworkOpen += t.ReworkOpen
		s.ReviewOpen += t.ReviewOpen
		s.Concession += t.Concession
	}
	// More may have been split off after the last operation than it let go.
	end := f.atEnd(batch, ts)
	s.Good, s.Over = max(0, end), s.Over+max(0, -end)
	s.ToDo = s.Started + s.In - s.Out + s.Over - s.Good - s.Scrap - s.ReworkOpen - s.ReviewOpen - s.Missing
	return s
}

// Short is how many of the pieces that are wanted of a batch can't come any more:
// what is good, still to do, at rework or set aside is fewer than that. A batch
// that was cancelled or joined to another wants nothing.
func (f *Family) Short(batch int) int {
	b := &f.Batches[batch]
	if !b.Cancelled.IsZero() || b.Joined != "" {
		return 0
	}
	s := f.Sum(batch)
	return max(0, b.Wanted-s.Good-s.ToDo-s.ReworkOpen-s.ReviewOpen)
}

// atEnd is the number of good pieces after the last operation.
func (f *Family) atEnd(batch int, ts []Tally) int {
	b := &f.Batches[batch]
	if b.firstIndex() >= len(ts) {
		return b.Started + b.moved(0)
	}
	return ts[len(ts)-1].Good + b.moved(0)
}
