package stat

import (
	"sort"

	"gonum.org/v1/gonum/stat/distuv"
)

// QuantileInterval is an interval for the p-quantile of what the values were
// drawn from, between two of the values themselves. It assumes nothing of the
// distribution: the number of values below the quantile is binomial (Conover,
// Practical Nonparametric Statistics, 3.2). Each side misses with at most
// (1-conf)/2, so that Conf is conf or more. ok is false when there are too few
// values: for the median at 95 %, fewer than six.
func QuantileInterval(sorted []float64, p, conf float64) (in Interval, ok bool) {
	n := len(sorted)
	if n == 0 || !inside(p) || !inside(conf) {
		return none(), false
	}
	below := distuv.Binomial{N: float64(n), P: p}
	miss := (1 - conf) / 2
	low := lastRank(below, n, miss)
	high := firstRank(below, n, miss)
	if low == 0 || high > n {
		return none(), false
	}
	return Interval{
		Low:  sorted[low-1],
		High: sorted[high-1],
		Conf: below.CDF(float64(high-1)) - below.CDF(float64(low-1)),
	}, true
}

// MedianInterval is the QuantileInterval of the median.
func MedianInterval(sorted []float64, conf float64) (in Interval, ok bool) {
	return QuantileInterval(sorted, 0.5, conf)
}

// lastRank is the highest rank that the quantile lies below with at most miss;
// 0 if there is none.
func lastRank(below distuv.Binomial, n int, miss float64) int {
	return sort.Search(n, func(k int) bool { return below.CDF(float64(k)) > miss })
}

// firstRank is the lowest rank that the quantile lies above with at most miss;
// n+1 if there is none.
func firstRank(below distuv.Binomial, n int, miss float64) int {
	return 1 + sort.Search(n, func(k int) bool { return below.Survival(float64(k)) <= miss })
}
