package stat

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat"
)

// FewestToResample is how many values [BootstrapMeanInterval] needs. Below it
// too many resamples have no spread to divide by.
const FewestToResample = 5

// BootstrapMeanInterval is the studentised bootstrap interval for the mean
// (Efron and Tibshirani 1993, chapter 12): each resample's distance from the
// mean is divided by the resample's own standard error. It follows skewed
// values, where a plain percentile bootstrap covers too seldom. The same rng
// state gives the same interval; 2,000 resamples are enough for two figures.
// ok is false for fewer than five values or 100 resamples. Where all values
// are the same it has no width.
func BootstrapMeanInterval(xs []float64, conf float64, resamples int, rng *rand.Rand) (in Interval, ok bool) {
	n := len(xs)
	if n < FewestToResample || resamples < 100 || rng == nil || !inside(conf) {
		return none(), false
	}
	mean, sd := stat.MeanStdDev(xs, nil)
	if !varied(xs) {
		return Interval{mean, mean, conf}, true
	}
	ts := make([]float64, 0, resamples)
	sample := make([]float64, n)
	for len(ts) < resamples {
		for i := range sample {
			sample[i] = xs[rng.IntN(n)]
		}
		if !varied(sample) { // says nothing of the spread: draw again
			continue
		}
		m, s := stat.MeanStdDev(sample, nil)
		ts = append(ts, (m-mean)/s)
	}
	slices.Sort(ts)
	return Interval{
		Low:  mean - Percentile(ts, 0.5+conf/2)*sd,
		High: mean - Percentile(ts, 0.5-conf/2)*sd,
		Conf: conf,
	}, true
}

// varied reports whether the values are not all the same. A standard deviation
// of rounding errors would hide that.
func varied(xs []float64) bool { return slices.Min(xs) < slices.Max(xs) }

// BootstrapMeanAll goes through all n^n resamples of at most seven values and
// gives the mean of their means and its standard error, exactly. ok is false
// for none and for more than seven.
func BootstrapMeanAll(xs []float64) (mean, se float64, ok bool) {
	n := len(xs)
	if n == 0 || n > 7 {
		return math.NaN(), math.NaN(), false
	}
	var sum, squares float64
	drawn := make([]int, n)
	all := int(math.Pow(float64(n), float64(n)))
	for range all {
		var m float64
		for _, i := range drawn {
			m += xs[i]
		}
		m /= float64(n)
		sum += m
		squares += m * m
		count(drawn)
	}
	mean = sum / float64(all)
	return mean, math.Sqrt(max(0, squares/float64(all)-mean*mean)), true
}

// count goes to the next number written in digits 0 to n-1.
func count(digits []int) {
	for i := range digits {
		digits[i]++
		if digits[i] < len(digits) {
			return
		}
		digits[i] = 0
	}
}
