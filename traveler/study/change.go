package study

import (
	"math"
	"slices"
	"time"

	"tallywalk/traveler/measure"
	"tallywalk/traveler/stat"
	"tallywalk/traveler/story"
)

// Verdict is what can be said of a figure after a change.
type Verdict string

// The verdicts.
const (
	Better  Verdict = "better"
	Worse   Verdict = "worse"
	Unclear Verdict = "can't tell yet"
	Same    Verdict = "no difference that matters"
)

// Change is a figure before and after a route was changed.
type Change struct {
	What          string // lead, minutes, setup, yield, metres, trips
	Unit          string
	LessIsBetter  bool
	Adjusted      bool // as of batches of one size
	Before, After Side
	Ratio         float64    // after to before, of the geometric means
	In            [2]float64 // its interval, as wide as the looks demand
	Smallest      float64    // difference that matters, as a part of before
	Verdict       Verdict
	More          int  // batches of the new route likely needed for a verdict; 0 = none
	BadRun        bool // the change followed a run that was worse than usual
	Looks         int
}

// Side is one side of a change.
type Side struct {
	N        int
	Median   float64
	Values   []float64 // by the end of the batches
	Of       []int     // which of the batches given each value is of
	Average  float64   // mean of all batches of which the figure is known, zeros too; of a ratio, that of all pieces
	Mean     float64   // geometric
	Spread   float64   // standard deviation of the logarithms
	Excluded int       // batches without the figure
}

// BeforeAfter compares a figure of batches on an old and a new route, both by
// their end. Batches are the unit: Welch's t on logarithms, since times of work
// are skewed. Looks is how often someone has looked at these figures as they
// grew: the k-th look may spend 6/(pi^2 k^2) of the 5 %, so that all looks
// together spend no more, however many there are. smallest is the least
// difference that matters, as a part of the old.
func BeforeAfter(what, unit string, less bool, before, after []float64, smallest float64, looks int) Change {
	c := Change{What: what, Unit: unit, LessIsBetter: less, Smallest: smallest, Looks: max(1, looks),
		Verdict: Unclear}
	c.Before, c.After = sideOf(before), sideOf(after)
	if c.Before.N == 0 || c.After.N == 0 {
		return c
	}
	c.Ratio = c.After.Mean / c.Before.Mean
	c.BadRun = badRun(c.Before.Values, less)
	alpha := (1 - measure.Confidence) * 6 / (math.Pi * math.Pi * float64(c.Looks*c.Looks))
	se, free := welch(&c.Before, &c.After)
	if c.Before.N < Few || c.After.N < Few || !(se > 0) {
		c.More = c.needed(alpha)
		return c
	}
	t := stat.TQuantile(1-alpha/2, free)
	d := math.Log(c.Ratio)
	c.In = [2]float64{math.Exp(d - t*se), math.Exp(d + t*se)}
	c.judge()
	if c.Verdict == Unclear {
		c.More = c.needed(alpha)
	}
	return c
}

// judge says what the interval allows.
func (c *Change) judge() {
	low, high := c.In[0], c.In[1]
	if !c.LessIsBetter {
		low, high = 1/c.In[1], 1/c.In[0]
	}
	switch {
	case high < 1:
		c.Verdict = Better
	case low > 1:
		c.Verdict = Worse
	case low > 1-c.Smallest && high < 1+c.Smallest:
		c.Verdict = Same
	}
}

// needed is how many more batches of the new route it likely takes to see the
// smallest difference that matters with a power of 80 %, the old ones being what
// they are; at most a thousand.
func (c *Change) needed(alpha float64) int {
	spread := math.Max(c.Before.Spread, c.After.Spread)
	if !(spread > 0) {
		return max(0, Few-c.After.N)
	}
	delta := math.Log(1 + c.Smallest)
	z := stat.NormalQuantile(1-alpha/2) + stat.NormalQuantile(0.8)
	variance := (delta / z) * (delta / z)
	left := variance - spread*spread/float64(max(1, c.Before.N))
	if left <= 0 {
		return mostMore // the old batches alone scatter too much to see it
	}
	return min(mostMore, max(1, int(math.Ceil(spread*spread/left))-c.After.N))
}

const mostMore = 1000

func sideOf(xs []float64) Side {
	m := Side{Values: []float64{}}
	var logs, sorted []float64
	known := 0
	for i, x := range xs {
		if !math.IsNaN(x) {
			known++
			m.Average += (x - m.Average) / float64(known)
		}
		if !(x > 0) {
			m.Excluded++
			continue
		}
		m.Values, m.Of = append(m.Values, x), append(m.Of, i)
		logs = append(logs, math.Log(x))
		sorted = insert(sorted, x)
	}
	m.N = len(logs)
	if m.N == 0 {
		return m
	}
	m.Median = stat.Median(sorted)
	mu := mean(logs)
	m.Mean = math.Exp(mu)
	for _, l := range logs {
		m.Spread += (l - mu) * (l - mu)
	}
	m.Spread = math.Sqrt(m.Spread / float64(max(1, m.N-1)))
	return m
}

func insert(sorted []float64, x float64) []float64 {
	i := len(sorted)
	sorted = append(sorted, x)
	for ; i > 0 && sorted[i-1] > x; i-- {
		sorted[i] = sorted[i-1]
	}
	sorted[i] = x
	return sorted
}

// welch is the standard error of a difference of means and its degrees of
// freedom (Welch 1947).
func welch(a, b *Side) (se, free float64) {
	va, vb := a.Spread*a.Spread/float64(a.N), b.Spread*b.Spread/float64(b.N)
	se = math.Sqrt(va + vb)
	free = (va + vb) * (va + vb) / (va*va/float64(max(1, a.N-1)) + vb*vb/float64(max(1, b.N-1)))
	return se, math.Max(1, free)
}

// badRun reports whether the last fifth of the old batches, five at least, was
// worse than those before: what follows a bad run gets better by itself.
func badRun(values []float64, less bool) bool {
	n := max(5, len(values)/5)
	if len(values) < 2*n {
		return false
	}
	early, late := values[:len(values)-n], values[len(values)-n:]
	r, ok := stat.MannWhitney(late, early)
	if !ok || r.P > 0.10 {
		return false
	}
	// U counts the pairs in which the late one is larger.
	larger := r.U > float64(len(late)*len(early))/2
	return larger == less
}

// The figures that are compared before and after, from the facts of batches, as
// they would be of batches of one size.
type changeFigure struct {
	what, unit string
	less       bool
	adjusted   bool // for the size of the batch
	of         func(b *story.BatchFact, size float64) float64
	// pooled: the average is that of all pieces, as everywhere, not of batches.
	pooled func(w *work, size float64) float64
}

var changeFigures = []changeFigure{
	{"lead", "h", true, true, leadHours, nil},
	{"minutes", "min", true, true, minutesEach, func(w *work, size float64) float64 {
		return ratio(w.setup/w.batches/size+ratio(w.run, w.started), ratio(w.good, w.started))
	}},
	{"setup", "min", true, false,
		func(b *story.BatchFact, _ float64) float64 { setup, _ := workMinutes(b); return setup }, nil},
	{"yield", "", false, false,
		func(b *story.BatchFact, _ float64) float64 { return ratio(float64(b.Good), float64(b.Started)) },
		func(w *work, _ float64) float64 {
			return ratio(w.good, w.started)
		}},
	{"metres", "m", true, false, func(b *story.BatchFact, _ float64) float64 { return b.Metres }, nil},
	{"trips", "", true, false, func(b *story.BatchFact, _ float64) float64 { return float64(len(b.Trip)) },
		nil},
}

// work is what batches took and gave, together.
type work struct{ batches, setup, run, started, good float64 }

// add counts a batch; its times are in minutes.
func (w *work) add(b *story.BatchFact) {
	if setup, each := workMinutes(b); !math.IsNaN(setup) {
		w.setup, w.run = w.setup+setup, w.run+each*float64(b.Started)
	}
	w.batches, w.started, w.good = w.batches+1, w.started+float64(b.Started), w.good+float64(b.Good)
}

// Mix is the sizes of the batches that are compared. Where they differ, less
// time for a piece says nothing of the route by itself: times are compared as of
// batches of one size, set-up and run apart.
type Mix struct {
	Size          float64 // compared at: the median of both sides together
	Before, After float64 // medians of pieces started; 0 where a side has no batches
	Differ        bool    // by more than chance, and a quarter
}

// sizesDiffer is by what part medians must differ for a warning.
const sizesDiffer = 0.25

func mixOf(before, after []*story.BatchFact) (m Mix) {
	sizes := func(list []*story.BatchFact) []float64 {
		var out []float64
		for _, b := range list {
			if b.Started > 0 {
				out = append(out, float64(b.Started))
			}
		}
		slices.Sort(out)
		return out
	}
	x, y := sizes(before), sizes(after)
	both := append(slices.Clone(x), y...)
	slices.Sort(both)
	if len(both) > 0 {
		m.Size = stat.Median(both)
	}
	if len(x) == 0 || len(y) == 0 {
		return m // a median of none is 0
	}
	m.Before, m.After = stat.Median(x), stat.Median(y)
	r, ok := stat.MannWhitney(x, y)
	m.Differ = ok && r.P < 1-measure.Confidence && math.Abs(m.After-m.Before) > sizesDiffer*m.Before
	return m
}

// Changes compares all figures of batches on the old and the new route of a
// part, each by its end.
func Changes(before, after []*story.BatchFact, smallest float64, looks int) ([]Change, Mix) {
	var out []Change
	mix := mixOf(before, after)
	for _, f := range changeFigures {
		values := func(list []*story.BatchFact) []float64 {
			xs := make([]float64, len(list))
			for i, b := range list {
				xs[i] = f.of(b, mix.Size)
			}
			return xs
		}
		c := BeforeAfter(f.what, f.unit, f.less, values(before), values(after), smallest, looks)
		c.Adjusted = f.adjusted
		if f.pooled != nil {
			c.Before.Average, c.After.Average = f.average(before, mix.Size), f.average(after, mix.Size)
		}
		out = append(out, c)
	}
	return out, mix
}

// average is that of all pieces of the batches of which the figure is known; 0 of
// none.
func (f *changeFigure) average(list []*story.BatchFact, size float64) float64 {
	var w work
	for _, b := range list {
		if !math.IsNaN(f.of(b, size)) {
			w.add(b)
		}
	}
	if w.batches == 0 {
		return 0
	}
	return f.pooled(&w, size)
}

// leadHours is the lead time, its runs as long as a batch of the size would take.
func leadHours(b *story.BatchFact, size float64) float64 {
	run := b.Parts.Run.Hours()
	return b.Ended.Sub(b.Released).Hours() - run + run*ratio(size, float64(b.Started))
}

// minutesEach is the machine minutes of a good piece, of a batch of the size: its
// set-ups shared by so many, and its runs as long a piece as they were.
func minutesEach(b *story.BatchFact, size float64) float64 {
	setup, run := workMinutes(b)
	return ratio(setup/size+run, ratio(float64(b.Good), float64(b.Started)))
}

// workMinutes is the set-ups of a batch, and its runs for each piece started, in
// minutes; NaN when something of them is not known.
func workMinutes(b *story.BatchFact) (setup, runEach float64) {
	run := 0.0
	for i := range b.Ops {
		if timesMissing(&b.Ops[i]) {
			return math.NaN(), math.NaN()
		}
		setup += b.Ops[i].Setup.Minutes()
		run += b.Ops[i].Run.Minutes()
	}
	return setup, ratio(run, float64(b.Started))
}

// shortSetUp is a planned set-up that people may leave unscanned.
const shortSetUp = 10 * time.Minute

// timesMissing reports whether the times of a batch at an operation are not all known:
// a bound was inferred, or a set-up that takes its time was not scanned.
func timesMissing(o *story.OpFact) bool {
	return o.Inferred || o.Setups == 0 && o.PlanSetup >= shortSetUp && !o.Outside
}

// ratio is NaN where there is nothing to divide by.
func ratio(a, b float64) float64 {
	if b <= 0 {
		return math.NaN()
	}
	return a / b
}
