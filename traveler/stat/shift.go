package stat

import (
	"math"
	"slices"
)

// HodgesLehmann is by how much x lies above y: the median of all differences
// between a value of x and one of y, and the interval that goes with
// [MannWhitney] (Hollander and Wolfe, Nonparametric Statistical Methods, 4.2
// and 4.3). It takes the two to have the same form. Below 50 values each the
// interval is exact, and on the safe side with ties; above, by the normal
// approximation. ok is false when either is empty, or when there are too few
// values for the confidence; shift is then still given if neither is empty.
func HodgesLehmann(x, y []float64, conf float64) (shift float64, in Interval, ok bool) {
	m, n := len(x), len(y)
	if m == 0 || n == 0 {
		return math.NaN(), none(), false
	}
	d := newDifferences(x, y)
	pairs := m * n
	shift = (d.at((pairs+1)/2) + d.at(pairs/2+1)) / 2
	if !inside(conf) {
		return shift, none(), false
	}
	rank, reached := shiftRank(m, n, conf)
	if rank < 1 {
		return shift, none(), false
	}
	return shift, Interval{d.at(rank), d.at(pairs - rank + 1), reached}, true
}

// shiftRank is the rank among the differences at which the interval begins,
// and the confidence that it has; 0 if there are too few.
func shiftRank(m, n int, conf float64) (rank int, reached float64) {
	if m >= exactBelow || n >= exactBelow {
		a, b := float64(m), float64(n)
		return int(a*b/2 - z(conf)*math.Sqrt(a*b*(a+b+1)/12)), conf
	}
	dist := newRankDist(m, n)
	for dist.cdf(rank) <= (1-conf)/2 {
		rank++
	}
	return rank, 1 - 2*dist.cdf(rank-1)
}

// differences finds the k-th smallest difference x-y without making them all:
// two routes of a few years give millions.
type differences struct{ x, y []float64 } // both sorted

func newDifferences(x, y []float64) differences {
	d := differences{slices.Clone(x), slices.Clone(y)}
	slices.Sort(d.x)
	slices.Sort(d.y)
	return d
}

// at is the k-th smallest difference, k from 1: the smallest number that k
// differences do not exceed, found by halving.
func (d differences) at(k int) float64 {
	low := d.x[0] - d.y[len(d.y)-1]
	high := d.x[len(d.x)-1] - d.y[0]
	if d.upTo(low) >= k {
		return low
	}
	for {
		mid := low + (high-low)/2
		if mid <= low || mid >= high {
			return high
		}
		if d.upTo(mid) >= k {
			high = mid
		} else {
			low = mid
		}
	}
}

// upTo counts the differences that are not above v.
func (d differences) upTo(v float64) int {
	k, j := 0, 0 // j: the first y that x does not exceed by more than v
	for _, x := range d.x {
		for j < len(d.y) && x-d.y[j] > v {
			j++
		}
		k += len(d.y) - j
	}
	return k
}
