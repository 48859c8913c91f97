package stat

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Share is a count out of a number: good of those tried, faulty of those
// looked at.
type Share struct{ Count, Of int }

// Part is Count/Of; NaN when Of is 0.
func (s Share) Part() float64 { return float64(s.Count) / float64(s.Of) }

func (s Share) valid() bool { return s.Of >= 0 && s.Count >= 0 && s.Count <= s.Of }

// Wilson is Wilson's score interval for a proportion (Wilson 1927; method 3 of
// Newcombe 1998), for things that are independent of each other. For pieces
// that came in batches take [BatchYield]. ok is false when Of is 0 or the
// count is not within it.
func Wilson(s Share, conf float64) (in Interval, ok bool) {
	if !s.valid() || s.Of == 0 || !inside(conf) {
		return none(), false
	}
	p, n, q := s.Part(), float64(s.Of), z(conf)
	q2 := q * q
	centre := (p + q2/(2*n)) / (1 + q2/n)
	half := q / (1 + q2/n) * math.Sqrt(p*(1-p)/n+q2/(4*n*n))
	in = Interval{max(0, centre-half), min(1, centre+half), conf}
	if s.Count == 0 {
		in.Low = 0 // else a rounding error stays
	}
	if s.Count == s.Of {
		in.High = 1
	}
	return in, true
}

// exact is the interval for k of n, which need not be whole.
func exact(k, n, conf float64) Interval {
	miss := (1 - conf) / 2
	in := Interval{0, 1, conf}
	if k > 0 {
		in.Low = distuv.Beta{Alpha: k, Beta: n - k + 1}.Quantile(miss)
	}
	if k < n {
		in.High = distuv.Beta{Alpha: k + 1, Beta: n - k}.Quantile(1 - miss)
	}
	return in
}
