package measure

import (
	"slices"

	"tallywalk/traveler"
	"tallywalk/traveler/stat"
	"tallywalk/traveler/story"
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
	// Aside is a step that fewer than half of the batches were at, added on the
	// floor for some of them: no part of the rolled yield.
	Aside bool
}

// RouteYield is what becomes of the pieces along a route.
type RouteYield struct {
	Steps      []StepYield
	Rolled     stat.Yield // product of the first-pass yields of the steps that are not aside
	RolledOK   bool
	Normalised float64 // of one step: the rolled yield's n-th root
	Final      stat.Yield
	FinalOK    bool
	Started    int
	Good       int // at the end, reworked and by concession too
	Batches    int
}

// Yields adds up the batches of one route that are done. The zero value is
// ready.
type Yields struct {
	out   RouteYield
	final []stat.Share
	steps []*stepSum
}

// stepSum is one operation; shares are by batch, none where it has no pieces
// decided there.
type stepSum struct {
	StepYield
	shares, some []stat.Share // some: those with pieces
}

// Add counts a batch, and reports whether it is done.
func (y *Yields) Add(b *story.BatchFact) bool {
	if !b.Finished() {
		return false
	}
	n := y.out.Batches
	y.out.Batches++
	y.out.Started += b.Started
	y.out.Good += b.Good
	y.final = append(y.final, stat.Share{Count: min(b.Good, b.Started), Of: b.Started})
	for i := range b.Ops {
		y.step(b.Ops[i].Operation).add(&b.Ops[i], n)
	}
	return true
}

// step is the sum of an operation, in its place along the route.
func (y *Yields) step(op traveler.Op) *stepSum {
	i, found := slices.BinarySearchFunc(y.steps, op,
		func(s *stepSum, op traveler.Op) int { return int(s.Operation - op) })
	if !found {
		y.steps = slices.Insert(y.steps, i, &stepSum{StepYield: StepYield{Operation: op}})
	}
	return y.steps[i]
}

// add takes the n-th batch at an operation.
func (s *stepSum) add(o *story.OpFact, n int) {
	s.WorkCentre, s.Clampings = o.WorkCentre, o.Clampings
	s.Presented += o.Presented
	s.FirstGood += o.FirstGood
	s.Undecided += o.Undecided
	s.Scrap += o.Scrap
	s.Rework += o.Rework
	s.Concession += o.Concession
	s.Assumed += o.Assumed
	s.fill(n)
	s.shares = append(s.shares, firstShare(o))
}

// firstShare is what came out good the first time at an operation, of what is decided.
func firstShare(o *story.OpFact) stat.Share {
	return stat.Share{Count: o.FirstGood, Of: max(o.FirstGood, o.Presented-o.Undecided)}
}

// FirstPasses adds up batches of any routes: what came out good the first time at all of
// their operations together, of what is decided there. The zero value is ready.
type FirstPasses struct{ shares []stat.Share }

// Add counts a batch, and reports whether it is done.
func (s *FirstPasses) Add(b *story.BatchFact) bool {
	if !b.Finished() {
		return false
	}
	var all stat.Share
	for i := range b.Ops {
		x := firstShare(&b.Ops[i])
		all.Count += x.Count
		all.Of += x.Of
	}
	if all.Of > 0 {
		s.shares = append(s.shares, all)
	}
	return true
}

// Result is the share with its interval between batches; known is false where nothing is
// decided.
func (s *FirstPasses) Result() (y stat.Yield, known bool) {
	return stat.BatchYield(s.shares, Confidence)
}

// fill stands for the batches that were not at the operation.
func (s *stepSum) fill(n int) {
	for len(s.shares) < n {
		s.shares = append(s.shares, stat.Share{})
	}
}

// Size is how many batches were counted, and how many pieces were started in
// them.
func (y *Yields) Size() (batches, started int) { return y.out.Batches, y.out.Started }

// Result is what became of the pieces along the route.
func (y *Yields) Result() RouteYield {
	most := 0
	for _, s := range y.steps {
		s.fill(y.out.Batches)
		s.some = slices.DeleteFunc(slices.Clone(s.shares), func(x stat.Share) bool { return x.Of == 0 })
		most = max(most, len(s.some))
	}
	rows, along := make([][]stat.Share, y.out.Batches), 0
	for _, s := range y.steps {
		s.First, s.Known = stat.BatchYield(s.some, Confidence)
		s.Aside = 2*len(s.some) < most
		y.out.Steps = append(y.out.Steps, s.StepYield)
		if s.Aside {
			continue
		}
		along++
		for i, x := range s.shares {
			rows[i] = append(rows[i], x)
		}
	}
	y.out.Rolled, y.out.RolledOK = stat.RolledYield(rows, Confidence)
	y.out.Normalised = stat.NormalisedYield(y.out.Rolled.Yield, along)
	y.out.Final, y.out.FinalOK = stat.BatchYield(y.final, Confidence)
	return y.out
}
