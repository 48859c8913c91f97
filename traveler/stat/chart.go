package stat

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// Factors of the moving range of two values, to the three decimals of the
// published tables, so that our limits are the handbooks'.
const (
	d2 = 1.128 // mean range of two values in standard deviations
	d4 = 3.267 // upper limit of the range in mean ranges
)

// Chart is a control chart: values in the order of time, the centre line, and
// limits three sigma away.
type Chart struct {
	Values []float64
	Centre float64
	Sigma  []float64 // by point: one standard deviation about the centre
	Low    []float64 // by point: lower limit
	High   []float64 // by point: upper limit
	// Spread is by what factor sigma was widened because batches differ by
	// more than chance; 1 where it was not.
	Spread float64
}

// Individuals is the chart of single values. Sigma is the mean moving range of
// neighbours divided by 1.128 (NIST/SEMATECH e-Handbook 6.3.2.2). ok is false
// for fewer than two values.
func Individuals(xs []float64) (c Chart, ok bool) {
	if len(xs) < 2 {
		return Chart{}, false
	}
	sigma := stat.Mean(ranges(xs), nil) / d2
	c = newChart(xs, stat.Mean(xs, nil), math.Inf(-1), math.Inf(1), func(int) float64 { return sigma })
	return c, true
}

// MovingRanges is the chart that goes with [Individuals]: how far each value
// is from the one before; one point fewer. Its lower limit is 0. Runs on it
// mean little, because neighbouring ranges share a value.
func MovingRanges(xs []float64) (c Chart, ok bool) {
	if len(xs) < 2 {
		return Chart{}, false
	}
	mr := ranges(xs)
	mean := stat.Mean(mr, nil)
	sigma := mean * (d4 - 1) / 3
	return newChart(mr, mean, 0, math.Inf(1), func(int) float64 { return sigma }), true
}

// newChart draws the limits, cut where values cannot go.
func newChart(values []float64, centre, least, most float64, sigma func(i int) float64) Chart {
	n := len(values)
	c := Chart{
		Values: append([]float64(nil), values...),
		Centre: centre,
		Sigma:  make([]float64, n),
		Low:    make([]float64, n),
		High:   make([]float64, n),
		Spread: 1,
	}
	for i := range values {
		c.Sigma[i] = sigma(i)
		c.Low[i] = max(least, centre-3*c.Sigma[i])
		c.High[i] = min(most, centre+3*c.Sigma[i])
	}
	return c
}

// Z is how many sigma each point is from the centre; NaN where there was
// nothing to look at, 0 where sigma is 0.
func (c Chart) Z() []float64 {
	out := make([]float64, len(c.Values))
	for i, v := range c.Values {
		switch {
		case math.IsNaN(v):
			out[i] = v
		case c.Sigma[i] > 0:
			out[i] = (v - c.Centre) / c.Sigma[i]
		}
	}
	return out
}

// ranges are the distances of neighbours.
func ranges(xs []float64) []float64 {
	out := make([]float64, len(xs)-1)
	for i := range out {
		out[i] = math.Abs(xs[i+1] - xs[i])
	}
	return out
}
