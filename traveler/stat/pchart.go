package stat

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// PChart is the chart of the faulty part of samples, each with its own size
// and so its own limits: centre ± 3*sqrt(p(1-p)/n), cut at 0 and 1
// (NIST/SEMATECH e-Handbook 6.3.3.2). It takes the pieces of a sample as
// independent; for batches take [PChartBetween]. A sample of 0 is a gap: NaN.
// ok is false when there is no piece, or a count is not within its number.
func PChart(samples []Share) (c Chart, ok bool) {
	return pChart(samples, 1)
}

// PChartBetween is the p chart widened by the spread between batches: it first
// asks how much more neighbouring batches differ than independent pieces
// would, and widens the limits by that factor (p' chart of Laney, Improved
// control charts for attributes, Quality Engineering 14, 2002). The factor is
// the mean moving range of the points' z values divided by 1.128, and stands
// in Spread. Unlike Laney's it never narrows the limits. ok as for [PChart].
func PChartBetween(samples []Share) (c Chart, ok bool) {
	c, ok = pChart(samples, 1)
	if !ok {
		return c, false
	}
	var zs []float64
	for _, z := range c.Z() {
		if !math.IsNaN(z) {
			zs = append(zs, z)
		}
	}
	if len(zs) < 2 {
		return c, true
	}
	return pChart(samples, max(1, stat.Mean(ranges(zs), nil)/d2))
}

func pChart(samples []Share, spread float64) (c Chart, ok bool) {
	var all Share
	parts := make([]float64, len(samples))
	for i, s := range samples {
		if !s.valid() {
			return Chart{}, false
		}
		all.Count += s.Count
		all.Of += s.Of
		parts[i] = s.Part()
	}
	if all.Of == 0 {
		return Chart{}, false
	}
	p := all.Part()
	c = newChart(parts, p, 0, 1, func(i int) float64 {
		if samples[i].Of == 0 {
			return math.NaN()
		}
		return spread * math.Sqrt(p*(1-p)/float64(samples[i].Of))
	})
	c.Spread = spread
	return c, true
}
