package measure

import (
	"cmp"
	"math"
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/stat"
	"tallywalk/traveler/story"
)

// Fit is how a planned time of an operation stands against what was.
type Fit struct {
	Part, Rev  string
	Name       string
	Operation  traveler.Op
	WorkCentre traveler.WorkCentre
	What       string // setup or piece
	Plan       time.Duration
	Actual     time.Duration // of one set-up, or one piece: all of them together
	Low, High  time.Duration // its 95 % interval
	Ratio      float64       // actual to plan
	Batch      time.Duration // what a batch takes longer than planned, in the mean; below 0 when shorter
	N          int
	LeftOut    int
	P          float64 // of there being no difference
	Tested     bool    // enough batches, and a plan to test
	Off        bool    // does not fit: of all tested, false discovery at 5 %, and 10 % off
}

// What must hold before a planned time is called wrong.
const (
	FewToTest  = 6
	Discovery  = 0.05 // false ones among those called wrong
	Difference = 0.10 // of the plan, that matters
	// BatchDifference is what matters of a batch: who plans in shifts gains
	// nothing by less.
	BatchDifference = 5 * time.Minute
)

// Fits tests the planned times of all operations against the batches, newest
// plan of each route revision. Actual is all time by all set-ups, or pieces, as
// everywhere. Batches are the unit ([stat.RatioOf]); all tests together keep
// false discovery at 5 % (Benjamini and Hochberg 1995). The zero value is ready.
type Fits struct {
	at   map[fitKey]int
	out  []Fit
	sums []fitSums
}

// fitSums are the batches behind one planned time: what they took, and in how
// many set-ups or pieces.
type fitSums struct{ took, n []float64 }

type fitKey struct {
	part, rev string
	op        traveler.Op
	what      string
}

// Add counts a batch.
func (s *Fits) Add(b *story.BatchFact) {
	for k := range b.Ops {
		o := &b.Ops[k]
		if !o.Closed || o.Outside {
			continue
		}
		run, made := o.TookRun()
		s.take(b, o, "piece", o.PlanPiece, run, made)
		if o.Setups > 0 {
			setup, setups := o.TookSetUp()
			s.take(b, o, "setup", o.PlanSetup, setup, setups)
		}
	}
}

func (s *Fits) take(b *story.BatchFact, o *story.OpFact, what string, plan, took time.Duration, n int) {
	if plan <= 0 {
		return
	}
	if s.at == nil {
		s.at = map[fitKey]int{}
	}
	k := fitKey{b.Part, b.Rev, o.Operation, what}
	i, ok := s.at[k]
	if !ok {
		i = len(s.out)
		s.at[k] = i
		s.out = append(s.out,
			Fit{Part: b.Part, Rev: b.Rev, Name: b.Name, Operation: o.Operation, WorkCentre: o.WorkCentre,
				What: what, P: 1})
		s.sums = append(s.sums, fitSums{})
	}
	s.out[i].Plan = plan
	if o.Inferred {
		s.out[i].LeftOut++
	} else if took > 0 && n > 0 {
		x := &s.sums[i]
		x.took, x.n = append(x.took, float64(took)), append(x.n, float64(n))
	}
}

// Result tests what was added.
func (s *Fits) Result() []Fit {
	out := slices.Clone(s.out)
	for i := range out {
		out[i].test(&s.sums[i])
	}
	discover(out)
	slices.SortFunc(out, func(a, b Fit) int {
		return cmp.Or(cmp.Compare(a.Part, b.Part), cmp.Compare(a.Rev, b.Rev),
			cmp.Compare(a.Operation, b.Operation), cmp.Compare(b.What, a.What))
	})
	return out
}

func (f *Fit) test(s *fitSums) {
	f.N = len(s.n)
	if f.N == 0 {
		return
	}
	r, ok := stat.RatioOf(s.took, s.n, Confidence)
	each := 0.0
	for _, n := range s.n {
		each += n / float64(f.N)
	}
	f.Ratio = r.Value / float64(f.Plan)
	f.Actual = time.Duration(r.Value)
	f.Batch = time.Duration((r.Value - float64(f.Plan)) * each)
	if f.N < FewToTest || !ok {
		return
	}
	f.Low, f.High = time.Duration(r.In.Low), time.Duration(r.In.High)
	f.P, f.Tested = r.Test(float64(f.Plan)), true
}

// discover marks what does not fit.
func discover(fits []Fit) {
	var p []float64
	var of []int
	for i := range fits {
		if fits[i].Tested {
			p = append(p, fits[i].P)
			of = append(of, i)
		}
	}
	for k, yes := range stat.BenjaminiHochberg(p, Discovery) {
		f := &fits[of[k]]
		f.Off = yes && math.Abs(f.Ratio-1) >= Difference && f.Batch.Abs() >= BatchDifference
	}
}
