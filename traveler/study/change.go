package study

import (
	"math"
	"time"

	"tallywalk/traveler/measure"
	"tallywalk/traveler/stat"
	"tallywalk/traveler/story"
)

// Verdict is what can be said of a figure after a change.
type Verdict string

// The verdicts.
const (
	Better   Verdict = "better"
	Worse    Verdict = "worse"
	CantTell Verdict = "can't tell yet"
	Same     Verdict = "no difference that matters"
)

// Change is a figure before and after a route was changed.
type Change struct {
	What          string // lead, minutes, scrap, setup, metres
	Unit          string
	LessIsBetter  bool
	Before, After Side
	Ratio         float64    // after to before, of the geometric means
	In            [2]float64 // its interval, as wide as the looks demand
	Smallest      float64    // difference that matters, as a part of before
	Verdict       Verdict
	More          int  // batches of the new route that it likely takes to tell; 0 = none
	BadRun        bool // the change followed a run that was worse than usual
	Looks         int
}

// Side is one side of a change.
type Side struct {
	N        int
	Median   float64
	Values   []float64 // by the end of the batches
	Of       []int     // which of the batches given each value is of
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
	c := Change{What: what, Unit: unit, LessIsBetter: less, Smallest: smallest, Looks: max(1, looks), Verdict: CantTell}
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
	if c.Verdict == CantTell {
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
	for i, x := range xs {
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

// The figures that are compared before and after, from the facts of batches.
type changeFigure struct {
	what, unit string
	less       bool
	of         func(*story.BatchFact) float64
}

var changeFigures = []changeFigure{
	{"lead", "h", true, func(b *story.BatchFact) float64 { return b.Ended.Sub(b.Released).Hours() }},
	{"minutes", "min", true, minutesEach},
	{"setup", "min", true, setUpMinutes},
	{"yield", "", false, func(b *story.BatchFact) float64 { return ratio(float64(b.Good), float64(b.Started)) }},
	{"metres", "m", true, func(b *story.BatchFact) float64 { return b.Metres }},
	{"trips", "", true, func(b *story.BatchFact) float64 { return float64(len(b.Trip)) }},
}

// Changes compares all figures of batches on the old and the new route of a
// part, each by its end.
func Changes(before, after []*story.BatchFact, smallest float64, looks int) []Change {
	var out []Change
	for _, f := range changeFigures {
		values := func(list []*story.BatchFact) []float64 {
			xs := make([]float64, len(list))
			for i, b := range list {
				xs[i] = f.of(b)
			}
			return xs
		}
		out = append(out, BeforeAfter(f.what, f.unit, f.less, values(before), values(after), smallest, looks))
	}
	return out
}

// minutesEach is the machine minutes of a good piece; 0 when something of them
// was not told.
func minutesEach(b *story.BatchFact) float64 {
	sum := 0.0
	for i := range b.Ops {
		if untold(&b.Ops[i]) {
			return 0
		}
		sum += (b.Ops[i].Setup + b.Ops[i].Run).Minutes()
	}
	return ratio(sum, float64(b.Good))
}

func setUpMinutes(b *story.BatchFact) float64 {
	sum := 0.0
	for i := range b.Ops {
		if untold(&b.Ops[i]) {
			return 0
		}
		sum += b.Ops[i].Setup.Minutes()
	}
	return sum
}

// shortSetUp is a planned set-up that people may leave unscanned.
const shortSetUp = 10 * time.Minute

// untold reports whether the times of a batch at an operation are not all known:
// a bound was inferred, or a set-up that takes its time was not scanned.
func untold(o *story.OpFact) bool {
	return o.Inferred || o.Setups == 0 && o.PlanSetup >= shortSetUp && !o.Outside
}

func ratio(a, b float64) float64 {
	if b <= 0 {
		return 0
	}
	return a / b
}
