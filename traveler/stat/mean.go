package stat

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// MeanInterval is Student's interval for the mean. It needs two values, and
// values that are not far from a bell curve; times of work seldom are.
// Where all values are the same it has no width: no spread was seen.
func MeanInterval(xs []float64, conf float64) (in Interval, ok bool) {
	if len(xs) < 2 || !inside(conf) {
		return none(), false
	}
	mean, sd := stat.MeanStdDev(xs, nil)
	return meanInterval(mean, sd, len(xs), conf), true
}

func meanInterval(mean, sd float64, n int, conf float64) Interval {
	half := t(conf, n-1) * stat.StdErr(sd, float64(n))
	return Interval{mean - half, mean + half, conf}
}

// GeometricMean is the mean of the logarithms, taken back. NaN unless all
// values are above 0 and there is one.
func GeometricMean(xs []float64) float64 {
	if len(xs) == 0 || !positive(xs) {
		return math.NaN()
	}
	return stat.GeometricMean(xs, nil)
}

func positive(xs []float64) bool {
	for _, x := range xs {
		if !(x > 0) {
			return false
		}
	}
	return true
}
