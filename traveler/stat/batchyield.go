package stat

import "math"

// Yield is a yield with what it rests on.
type Yield struct {
	Yield   float64 // all good / all tried; along a route the product of its steps
	In      Interval
	Batches int
	Pieces  int // tried; along a route at the step with the fewest
	// Deff is the design effect: how many times wider the variance is than
	// if the pieces were independent; 1 or more. Pieces/Deff is roughly how
	// many independent pieces the yield is worth.
	Deff float64
}

// BatchYield is the yield over batches, each with its good pieces out of those
// tried, and an interval that allows for the spread between batches.
//
// Method: ratio estimator; its variance from the batches by Taylor
// linearisation (Cochran, Sampling Techniques, 3rd ed., 6.3, with k/(k-1) for
// k batches), never below that of independent pieces; from both the effective
// number of pieces, pieces/deff, made smaller for the degrees of freedom by
// the square of the normal over Student's quantile; and the exact interval for
// that number (Korn and Graubard, Survey Methodology 24, 1998).
//
// Where every piece is good, or none, the spread cannot be seen, and the
// interval is the one of independent pieces: the best case. Where faults are
// rare and come many at a time, few batches have seen them and the interval
// covers less often than it says; the test shows how often. ok is false for
// fewer than two batches with pieces, or counts that are not within what was
// tried; Yield is then still given if every step has a piece.
func BatchYield(batches []Share, conf float64) (y Yield, ok bool) {
	rows := make([][]Share, len(batches))
	for i := range batches {
		rows[i] = batches[i : i+1]
	}
	return RolledYield(rows, conf)
}

// RolledYield is the rolled throughput yield of a route, the product of the
// yields of its steps, with an interval. batches[i][s] is what batch i did at
// step s; a row may be shorter, or have 0 of 0, where a batch has not been.
// Keeping the batch together matters: one that goes badly at one step often
// does at the next.
//
// Method: as [BatchYield], with the variance of the logarithm of the product
// by linearisation (delta method): each batch weighs with the sum over the
// steps of (good - yield*tried)/(all tried*yield). A step without a fault
// counts with half a fault for the variance that independent pieces would
// have, so that a short clean step does not pass for a sure one.
func RolledYield(batches [][]Share, conf float64) (y Yield, ok bool) {
	steps, valid := totals(batches)
	y = Yield{Yield: math.NaN(), In: none(), Deff: math.NaN(), Batches: tried(batches)}
	if !valid || len(steps) == 0 {
		return y, false
	}
	y.Yield, y.Pieces = 1, steps[0].Of
	for _, s := range steps {
		y.Yield *= s.Part()
		y.Pieces = min(y.Pieces, s.Of)
	}
	if y.Pieces == 0 || y.Batches < 2 || !inside(conf) {
		return y, false
	}
	var effective float64
	effective, y.Deff = worth(y, steps, batches)
	narrow := z(conf) / t(conf, y.Batches-1)
	effective *= narrow * narrow
	y.In = exact(y.Yield*effective, effective, conf)
	return y, true
}

// worth is the number of independent pieces that a yield is worth, and the
// design effect.
func worth(y Yield, steps []Share, batches [][]Share) (pieces, deff float64) {
	if y.Yield == 0 || y.Yield == 1 {
		return float64(y.Pieces), 1
	}
	alone := aloneVariance(steps)
	deff = max(1, betweenVariance(steps, batches, y.Batches)/alone)
	return (1 - y.Yield) / (y.Yield * alone * deff), deff
}

// aloneVariance is the variance of the logarithm of the product if the pieces
// were independent.
func aloneVariance(steps []Share) float64 {
	var v float64
	for _, s := range steps {
		p, n := s.Part(), float64(s.Of)
		if s.Count == s.Of && len(steps) > 1 {
			p = 1 - 0.5/n
		}
		v += (1 - p) / (n * p)
	}
	return v
}

// betweenVariance is the same from how the batches differ.
func betweenVariance(steps []Share, batches [][]Share, k int) float64 {
	var sum float64
	for _, row := range batches {
		var weight float64
		for s, b := range row {
			p := steps[s].Part()
			weight += (float64(b.Count) - p*float64(b.Of)) / (float64(steps[s].Of) * p)
		}
		sum += weight * weight
	}
	return sum * float64(k) / float64(k-1)
}

// totals adds up each step.
func totals(batches [][]Share) (steps []Share, valid bool) {
	for _, row := range batches {
		for s, b := range row {
			if !b.valid() {
				return nil, false
			}
			if s == len(steps) {
				steps = append(steps, Share{})
			}
			steps[s].Count += b.Count
			steps[s].Of += b.Of
		}
	}
	return steps, true
}

// tried counts the batches with at least one piece anywhere.
func tried(batches [][]Share) int {
	k := 0
	for _, row := range batches {
		for _, b := range row {
			if b.Of > 0 {
				k++
				break
			}
		}
	}
	return k
}
