package ahead

import (
	"sort"
	"time"
)

// Correction is how far the dates of past forecasts were off, by how far ahead
// they lay: seconds to add, by level and class. The zero value corrects nothing.
type Correction struct{ done, delivered shifts }

// shifts are seconds to add to the percentiles of one kind of date.
type shifts [len(levels)][classes]float64

func (c *Correction) of(k kind) *shifts {
	if k == ofDone {
		return &c.done
	}
	return &c.delivered
}

// horizonDays are the lower bounds of horizons, in days: of the median, from now.
var horizonDays = [...]float64{0, 1, 3, 6, 10, 15, 22}

// horizonOf is the horizon of a median so many seconds ahead.
func horizonOf(secs float64) int {
	return max(0, sort.Search(len(horizonDays), func(i int) bool { return horizonDays[i]*86400 > secs })-1)
}

// classOf is the class of a batch that stands so, with a median so far ahead.
func classOf(st stage, median float64) int {
	if st == finished {
		return finishedClass
	}
	return horizonOf(median)
}

// apply corrects percentiles of draws; none is before now, and a higher level is
// never earlier than a lower one.
func (s *shifts) apply(raw said, class int) (out said) {
	before := 0.0
	for l := range raw {
		out[l] = max(before, raw[l]+s[l][class])
		before = out[l]
	}
	return out
}

// rawOf is the percentiles of sorted draws.
func rawOf(draws []float32) (out said) {
	for l, level := range levels {
		out[l] = quantile(draws, level)
	}
	return out
}

// dates are moments for seconds from now.
func (s said) dates(at func(float64) time.Time) Dates { return Dates{at(s[0]), at(s[1]), at(s[2])} }

// chance is the corrected chance that a date comes by a moment: where the moment
// lies among the draws, moved as the levels next to it are.
func (s *shifts) chance(draws []float32, class int, by float64) float64 {
	if by <= 0 || len(draws) == 0 {
		return 0
	}
	p50 := share(draws, by-s[0][class])
	switch {
	case p50 <= levels[0]:
		return p50
	case p50 >= levels[2]:
		return share(draws, by-s[2][class])
	}
	// Between two levels the shift goes from the one to the other.
	l := 0
	if p50 > levels[1] {
		l = 1
	}
	f := (p50 - levels[l]) / (levels[l+1] - levels[l])
	return max(levels[0], share(draws, by-s[l][class]-f*(s[l+1][class]-s[l][class])))
}

// share is the share of sorted draws that are not after a moment.
func share(draws []float32, by float64) float64 {
	i := sort.Search(len(draws), func(i int) bool { return float64(draws[i]) > by })
	return float64(i) / float64(len(draws))
}
