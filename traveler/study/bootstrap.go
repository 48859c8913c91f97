package study

import (
	"math"
	"math/rand/v2"
	"slices"

	"tallywalk/traveler/measure"
	"tallywalk/traveler/stat"
)

// Figure is something that a route comes to.
type Figure func(*Result) float64

// The figures that are compared with an interval.
var (
	EachMinutes Figure = func(r *Result) float64 { return r.EachMin }
	EachCost    Figure = func(r *Result) float64 { return r.EachCost }
	Rolled      Figure = func(r *Result) float64 { return r.Yield }
	SetUpTime   Figure = func(r *Result) float64 { return r.SetUpMin }
)

// Estimate is a figure with its interval.
type Estimate struct {
	Value, Low, High float64
	Known            bool // there is an interval
}

// Compared is how the second route stands to the first in one figure.
type Compared struct {
	First, Second Estimate
	Difference    Estimate // second less first
}

// Compare compares figures of two routes at a batch size, with 95 % intervals
// by the studentised bootstrap over batches (Efron and Tibshirani 1993, 12.5;
// Hall 1992): each resample draws as many batches as there were, and is
// measured by its own standard error, which comes from the figure's gradient
// (infinitesimal jackknife). A route of too few batches has none, and so has its
// difference from another.
func Compare(a, b *Samples, figures []Figure, size float64, c *Costs, resamples int,
	rng *rand.Rand) []Compared {
	fa, fb := newFunctional(a, figures, size, c), newFunctional(b, figures, size, c)
	value := [2][]float64{slices.Clone(fa.value), slices.Clone(fb.value)}
	se := [2][]float64{slices.Clone(fa.se), slices.Clone(fb.se)}
	ts := make([][3][]float64, len(figures))
	for range resamples {
		fa.resample(rng)
		fb.resample(rng)
		for i := range figures {
			da, db := fa.value[i]-value[0][i], fb.value[i]-value[1][i]
			t := &ts[i]
			t[0], t[1] = studentise(t[0], da, fa.se[i]), studentise(t[1], db, fb.se[i])
			t[2] = studentise(t[2], db-da, math.Hypot(fa.se[i], fb.se[i]))
		}
	}
	out := make([]Compared, len(figures))
	for i := range figures {
		out[i] = Compared{
			First:      estimate(value[0][i], se[0][i], ts[i][0]),
			Second:     estimate(value[1][i], se[1][i], ts[i][1]),
			Difference: estimate(value[1][i]-value[0][i], math.Hypot(se[0][i], se[1][i]), ts[i][2]),
		}
		out[i].Difference.widen(math.Hypot(se[0][i], se[1][i]),
			welchFree(se[0][i], se[1][i], len(a.rows), len(b.rows)))
		// What is only planned or assumed, or rests on few batches, is not certain.
		few := [2]bool{a.done < FewForInterval, b.done < FewForInterval}
		out[i].First.without(few[0])
		out[i].Second.without(few[1])
		out[i].Difference.without(few[0] || few[1])
	}
	return out
}

func studentise(ts []float64, d, se float64) []float64 {
	if t := d / se; !math.IsNaN(t) && !math.IsInf(t, 0) {
		ts = append(ts, t)
	}
	return ts
}

// fewResamples is below what no interval is given: the figure hardly varies, or
// is undefined, in the resamples.
const fewResamples = 100

func estimate(value, se float64, ts []float64) Estimate {
	e := Estimate{Value: value, Low: value, High: value}
	if len(ts) < fewResamples || !(se > 0) {
		return e
	}
	slices.Sort(ts)
	low, high := quantile(ts, (1-measure.Confidence)/2), quantile(ts, (1+measure.Confidence)/2)
	e.Low, e.High, e.Known = value-high*se, value-low*se, true
	return e
}

// without takes the interval away, if so.
func (e *Estimate) without(so bool) {
	if so {
		e.Low, e.High, e.Known = e.Value, e.Value, false
	}
}

// widen makes an interval no narrower, to either side, than Student's: of few
// batches too few resamples are as unlike as other batches might be.
func (e *Estimate) widen(se, free float64) {
	if !e.Known || !(se > 0) {
		return
	}
	half := stat.TQuantile((1+measure.Confidence)/2, free) * se
	e.Low, e.High = math.Min(e.Low, e.Value-half), math.Max(e.High, e.Value+half)
}

// quantile is that of the bootstrap literature: the (B+1)p-th.
func quantile(sorted []float64, p float64) float64 {
	h := p * float64(len(sorted)+1)
	i := int(h)
	switch {
	case i < 1:
		return sorted[0]
	case i >= len(sorted):
		return sorted[len(sorted)-1]
	}
	return sorted[i-1] + (h-float64(i))*(sorted[i]-sorted[i-1])
}

// functional is figures of a route as functions of the means of its samples'
// columns.
type functional struct {
	s       *Samples
	figures []Figure
	size    float64
	costs   *Costs
	route   Route // scratch
	mean    []float64
	grad    [][]float64 // of each figure
	step    []float64   // scratch
	value   []float64
	se      []float64
	draw    []float64 // how often each batch is drawn
}

func newFunctional(s *Samples, figures []Figure, size float64, c *Costs) *functional {
	f := &functional{s: s, figures: figures, size: size, costs: c, route: *s.route}
	f.route.Steps = slices.Clone(s.route.Steps)
	n, m := columns*len(f.route.Steps), len(figures)
	f.mean, f.grad = make([]float64, n), make([][]float64, m)
	for i := range f.grad {
		f.grad[i] = make([]float64, n)
	}
	f.value, f.se, f.step = make([]float64, m), make([]float64, m), make([]float64, m)
	f.draw = make([]float64, len(s.rows))
	for i := range f.draw {
		f.draw[i] = 1
	}
	f.drawn()
	return f
}

func (f *functional) resample(rng *rand.Rand) {
	n := len(f.s.rows)
	if n < 2 {
		return
	}
	clear(f.draw)
	for range n {
		f.draw[rng.IntN(n)]++
	}
	f.drawn()
}

// drawn works out the figures of the batches that are drawn, and their standard
// errors.
func (f *functional) drawn() {
	n := len(f.draw)
	clear(f.mean)
	for i, times := range f.draw {
		if times == 0 {
			continue
		}
		for j, x := range f.s.rows[i] {
			f.mean[j] += times * x
		}
	}
	for j := range f.mean {
		f.mean[j] /= float64(max(1, n))
	}
	f.at(f.value)
	clear(f.se)
	if n < 2 {
		return
	}
	f.gradient()
	for k := range f.figures {
		g := f.grad[k]
		at := dot(g, f.mean)
		for i, times := range f.draw {
			if times > 0 {
				l := dot(g, f.s.rows[i]) - at
				f.se[k] += times * l * l
			}
		}
		// Of batches that are drawn once each, as if each were left out in turn:
		// (n-1)/n and n/(n-1) squared make the variance unbiased, and no less.
		f.se[k] = math.Sqrt(f.se[k] / float64((n-1)*(n-1)))
	}
}

func dot(a, b []float64) float64 {
	b = b[:len(a)]
	var even, odd float64
	for i := 0; i+1 < len(a); i += 2 {
		even += a[i] * b[i]
		odd += a[i+1] * b[i+1]
	}
	if n := len(a); n%2 == 1 {
		even += a[n-1] * b[n-1]
	}
	return even + odd
}

// gradient is taken by small steps of each mean: back for good pieces, of which
// there cannot be more than came in.
func (f *functional) gradient() {
	for j, m := range f.mean {
		for k := range f.grad {
			f.grad[k][j] = 0
		}
		if m == 0 {
			continue
		}
		h := m * 1e-5
		if j%columns == good {
			h = -h
		}
		f.mean[j] = m + h
		f.at(f.step)
		for k := range f.grad {
			f.grad[k][j] = (f.step[k] - f.value[k]) / h
		}
		f.mean[j] = m
	}
}

// at works the figures out for the present means.
func (f *functional) at(out []float64) {
	for k := range f.route.Steps {
		s := &f.route.Steps[k]
		m := f.mean[at(k, 0):at(k+1, 0)]
		if s.SetUp.Source == Measured && m[setUpBatch] > 0 {
			s.SetUp.Likely = m[setUp] / m[setUpBatch]
		}
		if s.Piece.Source == Measured && m[made] > 0 {
			s.Piece.Likely = m[run] / m[made]
		}
		if s.Yield.Source == Measured && m[came] > 0 {
			s.Yield.Likely = m[good] / m[came]
		}
	}
	var r Result
	f.route.into(&r, f.size, f.costs, likely)
	for k, figure := range f.figures {
		out[k] = figure(&r)
	}
}
