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
	Actual     time.Duration // geometric mean over batches
	Low, High  time.Duration // its 95 % interval, by t on logs
	Ratio      float64       // actual to plan
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
	Difference = 0.10 // that matters
)

// Fits tests the planned times of all operations against the batches, newest
// plan of each route revision. Batches are the unit: t on the logarithms of
// their ratios to plan, as times of work are skewed; all tests together keep
// false discovery at 5 % (Benjamini and Hochberg 1995). The zero value is ready.
type Fits struct {
	at   map[fitKey]int
	out  []Fit
	logs [][]float64
}

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
		s.take(b, o, "piece", o.PlanPiece, o.Cycle())
		if o.Setups > 0 {
			s.take(b, o, "setup", o.PlanSetup, o.Setup/time.Duration(o.Setups))
		}
	}
}

func (s *Fits) take(b *story.BatchFact, o *story.OpFact, what string, plan, actual time.Duration) {
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
		s.out = append(s.out, Fit{Part: b.Part, Rev: b.Rev, Name: b.Name, Operation: o.Operation, WorkCentre: o.WorkCentre, What: what, P: 1})
		s.logs = append(s.logs, nil)
	}
	s.out[i].Plan = plan
	if o.Inferred {
		s.out[i].LeftOut++
	} else if actual > 0 {
		s.logs[i] = append(s.logs[i], math.Log(float64(actual)/float64(plan)))
	}
}

// Result tests what was added.
func (s *Fits) Result() []Fit {
	out := s.out
	for i := range out {
		out[i].test(s.logs[i])
	}
	discover(out)
	slices.SortFunc(out, func(a, b Fit) int {
		return cmp.Or(cmp.Compare(a.Part, b.Part), cmp.Compare(a.Rev, b.Rev), cmp.Compare(a.Operation, b.Operation), cmp.Compare(b.What, a.What))
	})
	return out
}

func (f *Fit) test(logs []float64) {
	f.N = len(logs)
	if f.N == 0 {
		return
	}
	sum := 0.0
	for _, x := range logs {
		sum += x
	}
	mean := sum / float64(f.N)
	f.Ratio = math.Exp(mean)
	f.Actual = time.Duration(float64(f.Plan) * f.Ratio)
	in, ok := stat.MeanInterval(logs, Confidence)
	if f.N < FewToTest || !ok {
		return
	}
	f.Low, f.High = time.Duration(float64(f.Plan)*math.Exp(in.Low)), time.Duration(float64(f.Plan)*math.Exp(in.High))
	_, f.P, f.Tested = stat.MeanTest(logs, 0)
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
		f.Off = yes && math.Abs(f.Ratio-1) >= Difference
	}
}
