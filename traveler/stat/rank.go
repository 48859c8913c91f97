package stat

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// exactBelow is the sample size below which the rank statistic's distribution
// is worked out exactly, if there are no ties.
const exactBelow = 50

// RankTest is the result of [MannWhitney].
type RankTest struct {
	U     float64 // pairs in which x is the greater; half for a tie
	P     float64 // two-sided
	Exact bool    // else by the normal approximation
}

// MannWhitney tests whether values of x tend to be greater or smaller than
// values of y (Wilcoxon's rank sum test; U is R's W). Exact for fewer than 50
// values each without ties, else by the normal approximation, corrected for
// ties and continuity. P is 1 when all values are the same; ok is false when
// either is empty.
func MannWhitney(x, y []float64) (r RankTest, ok bool) {
	m, n := len(x), len(y)
	if m == 0 || n == 0 {
		return RankTest{U: math.NaN(), P: math.NaN()}, false
	}
	u, ties := rankSum(x, y)
	if ties == 0 && m < exactBelow && n < exactBelow {
		low := int(min(u, float64(m*n)-u))
		return RankTest{U: u, P: min(1, 2*newRankDist(m, n).cdf(low)), Exact: true}, true
	}
	return RankTest{U: u, P: approximate(u, float64(m), float64(n), ties)}, true
}

func approximate(u, m, n, ties float64) float64 {
	all := m + n
	sigma := math.Sqrt(m * n / 12 * (all + 1 - ties/(all*(all-1))))
	away := math.Abs(u-m*n/2) - 0.5
	if away <= 0 || !(sigma > 0) {
		return 1
	}
	return 2 * distuv.UnitNormal.Survival(away/sigma)
}

// rankSum is U of x and the sum of t^3-t over groups of t equal values.
func rankSum(x, y []float64) (u, ties float64) {
	type value struct {
		v     float64
		fromX bool
	}
	all := make([]value, 0, len(x)+len(y))
	for _, v := range x {
		all = append(all, value{v, true})
	}
	for _, v := range y {
		all = append(all, value{v, false})
	}
	slices.SortFunc(all, func(a, b value) int {
		switch {
		case a.v < b.v:
			return -1
		case a.v > b.v:
			return 1
		}
		return 0
	})
	for i := 0; i < len(all); {
		j, xs := i, 0.0
		for ; j < len(all) && all[j].v == all[i].v; j++ {
			if all[j].fromX {
				xs++
			}
		}
		t := float64(j - i)
		u += xs * float64(i+1+j) / 2 // the mean rank of those from i to j
		ties += t*t*t - t
		i = j
	}
	m := float64(len(x))
	return u - m*(m+1)/2, ties
}

// rankDist is the distribution of U when both samples come from the same.
type rankDist []float64 // by u: P(U <= u)

// newRankDist counts the orders of m and n values that give each U: those
// where the greatest value is one of the m, which then beats all n, and those
// where it is one of the n.
func newRankDist(m, n int) rankDist {
	row := make([][]float64, n+1) // of i values against j, by j
	for i := range m + 1 {
		for j := range n + 1 {
			if i == 0 || j == 0 {
				row[j] = []float64{1}
				continue
			}
			ways := make([]float64, i*j+1)
			for u, w := range row[j] {
				ways[u+j] += w
			}
			for u, w := range row[j-1] {
				ways[u] += w
			}
			row[j] = ways
		}
	}
	d := rankDist(row[n])
	for u := 1; u < len(d); u++ {
		d[u] += d[u-1]
	}
	all := d[len(d)-1]
	for u := range d {
		d[u] /= all
	}
	return d
}

func (d rankDist) cdf(u int) float64 {
	if u < 0 {
		return 0
	}
	return d[min(u, len(d)-1)]
}
