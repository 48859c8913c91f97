package study

import (
	"cmp"
	"slices"

	"tallywalk/traveler"
	"tallywalk/traveler/stat"
	"tallywalk/traveler/story"
)

// Start is how many pieces to start for so many good ones.
type Start struct {
	Pieces  int
	Surplus float64 // good pieces above those wanted, in the mean
	Batches int     // behind the yield; 0 = it is planned or assumed
}

// finalOf is what a batch that is done gave of what was started; ok is false for
// one whose pieces went to others, or came from them.
func finalOf(b *story.BatchFact) (s stat.Share, ok bool) {
	if !b.Finished() || b.JoinedIn > 0 || b.SplitOff > 0 || b.Started <= 0 {
		return s, false
	}
	return stat.Share{Count: min(b.Good, b.Started), Of: b.Started}, true
}

// Spreads learns from the batches of a shop how much their yields differ. The
// zero value is ready.
type Spreads struct {
	of map[traveler.RouteKey][]stat.Share
}

// Add counts a batch, if it is done.
func (s *Spreads) Add(b *story.BatchFact) {
	share, ok := finalOf(b)
	if !ok {
		return
	}
	if s.of == nil {
		s.of = map[traveler.RouteKey][]stat.Share{}
	}
	k := traveler.RouteKey{Part: b.Part, Rev: b.Rev}
	s.of[k] = append(s.of[k], share)
}

// Result is how much batches differ in the shop.
func (s *Spreads) Result() stat.SpreadPrior {
	keys := make([]traveler.RouteKey, 0, len(s.of))
	for k := range s.of {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(a, b traveler.RouteKey) int {
		return cmp.Or(cmp.Compare(a.Part, b.Part), cmp.Compare(a.Rev, b.Rev))
	})
	routes := make([][]stat.Share, len(keys))
	for i, k := range keys {
		routes[i] = s.of[k]
	}
	return stat.ShopSpreads(routes)
}

// Start is the fewest pieces to start so that so many come out good with a
// confidence: over what this route's yield may be after its batches, and over
// how much batches differ, of which the shop knows more. A yield that is planned
// or assumed is taken as the mean. ok is false where no number gives it.
func (r *Route) Start(good int, conf float64, batches []story.BatchFact, shop stat.SpreadPrior) (s Start,
	ok bool) {
	measured := true
	y := 1.0
	for i := range r.Steps {
		y *= r.Steps[i].Yield.Likely
		measured = measured && r.Steps[i].Yield.Source == Measured
	}
	next := stat.NextYieldAt(y, shop)
	if measured {
		var shares []stat.Share
		for i := range batches {
			if x, ok := finalOf(&batches[i]); ok {
				shares = append(shares, x)
			}
		}
		if len(shares) >= Few {
			next, s.Batches = stat.NextYieldOf(shares, shop), len(shares)
		}
	}
	if s.Pieces, ok = next.Start(good, conf); ok {
		s.Surplus = float64(s.Pieces)*next.Mean() - float64(good)
	}
	return s, ok
}
