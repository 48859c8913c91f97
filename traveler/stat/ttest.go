package stat

import (
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// MeanTest is Student's two-sided t test of whether the mean of xs is mu: its
// statistic and p. ok is false with fewer than two values, or when all are the
// same.
func MeanTest(xs []float64, mu float64) (t, p float64, ok bool) {
	n := float64(len(xs))
	if n < 2 {
		return 0, 1, false
	}
	mean, sd := stat.MeanStdDev(xs, nil)
	if !(sd > 0) || math.IsInf(mean, 0) {
		return 0, 1, false
	}
	t = (mean - mu) / (sd / math.Sqrt(n))
	p = 2 * distuv.StudentsT{Mu: 0, Sigma: 1, Nu: n - 1}.Survival(math.Abs(t))
	return t, p, true
}
