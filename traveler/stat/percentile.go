package stat

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// Percentile is the value below which the part p of the values lies, by
// definition 7 of Hyndman and Fan (1996): the one of the spreadsheets'
// PERCENTILE.INC, so that a planner who checks by hand gets our number.
// p is from 0 to 1; the values are sorted upwards. NaN if there are none or p
// is outside.
func Percentile(sorted []float64, p float64) float64 {
	if len(sorted) == 0 || math.IsNaN(p) || p < 0 || p > 1 {
		return math.NaN()
	}
	h := p * float64(len(sorted)-1)
	i := int(h)
	if i == len(sorted)-1 {
		return sorted[i]
	}
	return sorted[i] + (h-float64(i))*(sorted[i+1]-sorted[i])
}

// Median is the middle value, or the mean of the middle two.
func Median(sorted []float64) float64 { return Percentile(sorted, 0.5) }

// StandardDeviation is that of a sample, by n-1; 0 for fewer than two values.
func StandardDeviation(xs []float64) float64 {
	if len(xs) < 2 {
		return 0
	}
	return stat.StdDev(xs, nil)
}
