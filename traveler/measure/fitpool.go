package measure

import (
	"cmp"
	"slices"

	"tallywalk/traveler"
	"tallywalk/traveler/stat"
)

// FitPool is how planned times of one kind of work stand together: set-ups, or pieces, of
// one work centre, of those operations that have too few batches each to be tested alone.
type FitPool struct {
	WorkCentre        traveler.WorkCentre
	What              string // setup or piece
	Operations, Parts int
	N                 int     // set-ups, or runs: the units of the interval
	Ratio             float64 // all time they took over all that was planned
	Low, High         float64 // its 95 % interval
	Known             bool    // there is an interval
}

// fitKind is a kind of work.
type fitKind struct {
	wc   traveler.WorkCentre
	what string
}

// kindSums are the operations of one kind, and what each batch took and should have.
type kindSums struct {
	FitPool
	parts         map[string]bool
	took, planned []float64
}

// Pools are the kinds of work with operations of too few batches, sorted by work centre.
// The ratio is of sums ([stat.RatioOf]), so that a long set-up counts for more than a
// short one.
func (s *Fits) Pools() []FitPool {
	kinds := map[fitKind]*kindSums{}
	for i := range s.out {
		f, sums := &s.out[i], &s.sums[i]
		if len(sums.n) == 0 || len(sums.n) >= FewToTest {
			continue
		}
		k := fitKind{f.WorkCentre, f.What}
		if kinds[k] == nil {
			kinds[k] = &kindSums{FitPool: FitPool{WorkCentre: k.wc, What: k.what}, parts: map[string]bool{}}
		}
		kinds[k].add(f, sums)
	}
	out := []FitPool{}
	for _, k := range kinds {
		r, ok := stat.RatioOf(k.took, k.planned, Confidence)
		k.Parts, k.N, k.Ratio, k.Known = len(k.parts), r.N, r.Value, ok
		if ok {
			k.Low, k.High = r.In.Low, r.In.High
		}
		out = append(out, k.FitPool)
	}
	slices.SortFunc(out, func(a, b FitPool) int {
		return cmp.Or(cmp.Compare(a.WorkCentre, b.WorkCentre), cmp.Compare(b.What, a.What))
	})
	return out
}

func (k *kindSums) add(f *Fit, sums *fitSums) {
	k.Operations++
	k.parts[f.Part] = true
	for i, n := range sums.n {
		k.took = append(k.took, sums.took[i])
		k.planned = append(k.planned, n*float64(f.Plan))
	}
}
