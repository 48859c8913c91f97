package measure

import (
	"slices"

	"tallywalk/traveler"
	"tallywalk/traveler/stat"
)

// Confidence is that of every interval shown.
const Confidence = 0.95

// StepYield is the first-pass yield of one operation of a route: pieces that
// came out good without rework or concession, of those presented for the first
// time and decided (ISO 22400-2 first pass yield, by first-pass count).
type StepYield struct {
	Operation  traveler.Op
	WorkCentre traveler.WorkCentre
	Clampings  int
	First      stat.Yield
	Known      bool // there is a batch with pieces decided here
	Presented  int
	FirstGood  int
	Undecided  int // in review still: left out
	Scrap      int
	Rework     int
	Concession int
	Assumed    int // passed uncounted: left out
}

// RouteYield is what becomes of the pieces along a route.
type RouteYield struct {
	Steps      []StepYield
	Rolled     stat.Yield // product of the steps' first-pass yields
	RolledOK   bool
	Normalised float64 // of one step: the rolled yield's n-th root
	Final      stat.Yield
	FinalOK    bool
	Started    int
	Good       int // at the end, reworked and by concession too
	Batches    int
}

// YieldOf adds up the batches of one route that are done.
func YieldOf(batches []traveler.BatchFact) RouteYield {
	var out RouteYield
	var done []*traveler.BatchFact
	var final []stat.Share
	for i := range batches {
		b := &batches[i]
		if b.State != traveler.StateDone || b.Joined != "" {
			continue
		}
		done = append(done, b)
		out.Started += b.Started
		out.Good += b.Good
		final = append(final, stat.Share{Count: min(b.Good, b.Started), Of: b.Started})
	}
	out.Batches = len(done)
	ops := opsOf(done)
	rows := make([][]stat.Share, len(done))
	for _, op := range ops {
		step, shares := stepOf(op, done)
		out.Steps = append(out.Steps, step)
		for i := range shares {
			rows[i] = append(rows[i], shares[i])
		}
	}
	out.Rolled, out.RolledOK = stat.RolledYield(rows, Confidence)
	out.Normalised = stat.NormalisedYield(out.Rolled.Yield, len(ops))
	out.Final, out.FinalOK = stat.BatchYield(final, Confidence)
	return out
}

// opsOf lists the operations that any of the batches has been at, in order.
func opsOf(batches []*traveler.BatchFact) []traveler.Op {
	var out []traveler.Op
	for _, b := range batches {
		for i := range b.Ops {
			if n := b.Ops[i].Operation; !slices.Contains(out, n) {
				out = append(out, n)
			}
		}
	}
	slices.Sort(out)
	return out
}

// stepOf adds up one operation; shares are by batch, none where it has no
// pieces decided there.
func stepOf(op traveler.Op, batches []*traveler.BatchFact) (StepYield, []stat.Share) {
	s := StepYield{Operation: op}
	shares := make([]stat.Share, len(batches))
	for i, b := range batches {
		for k := range b.Ops {
			o := &b.Ops[k]
			if o.Operation != op {
				continue
			}
			s.WorkCentre, s.Clampings = o.WorkCentre, o.Clampings
			s.Presented += o.Presented
			s.FirstGood += o.FirstGood
			s.Undecided += o.Undecided
			s.Scrap += o.Scrap
			s.Rework += o.Rework
			s.Concession += o.Concession
			s.Assumed += o.Assumed
			shares[i] = stat.Share{Count: o.FirstGood, Of: max(o.FirstGood, o.Presented-o.Undecided)}
		}
	}
	var some []stat.Share
	for _, x := range shares {
		if x.Of > 0 {
			some = append(some, x)
		}
	}
	s.First, s.Known = stat.BatchYield(some, Confidence)
	return s, shares
}
