package stat

import (
	"gonum.org/v1/gonum/mathext"
)

// StartQuantity is the fewest pieces to start so that at least wanted of them
// come out good with the probability conf or more, when each does with yield,
// independently: P(Binomial(n, yield) >= wanted) >= conf. ok is false when
// yield is not above 0 and at most 1, or more than a hundred million would be
// needed. Nothing wanted needs nothing.
func StartQuantity(wanted int, yield, conf float64) (n int, ok bool) {
	switch {
	case !(yield > 0 && yield <= 1) || !inside(conf):
		return 0, false
	case yield == 1:
		return max(0, wanted), true
	}
	return fewest(wanted, func(n int) bool { return atLeast(n, wanted, yield) >= conf })
}

// fewest is the least number from wanted on with which enough are surely good;
// more means better. ok is false when a hundred million are too few.
func fewest(wanted int, enough func(n int) bool) (n int, ok bool) {
	if wanted <= 0 {
		return 0, true
	}
	const most = 100_000_000
	low, high := wanted-1, wanted // low is too few
	for !enough(high) {
		low = high
		high *= 2
		if high > most {
			return 0, false
		}
	}
	for high-low > 1 {
		if mid := low + (high-low)/2; enough(mid) {
			high = mid
		} else {
			low = mid
		}
	}
	return high, true
}

// atLeast is P(Binomial(n, p) >= k) for 1 <= k and 0 < p < 1.
func atLeast(n, k int, p float64) float64 {
	if n < k {
		return 0
	}
	return mathext.RegIncBeta(float64(k), float64(n-k+1), p)
}
