// Package selfcheck works figures out twice, as the pages show them and a second,
// plain way straight from the scans, and says where the two differ.
package selfcheck

import (
	"cmp"
	"math"
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/plain"
	"tallywalk/traveler/story"
)

// Check is figures of a choice of batches, as the pages show them and as a
// second, plain way gives them straight from the scans.
type Check struct {
	Batches int            `json:"batches"` // looked at
	Same    int            `json:"same"`    // of them, those for which both ways agree in everything
	Tangled int            `json:"tangled"` // of them, those that the plain way gives up on
	Figures []Figure       `json:"figures"` // over the batches that both ways can work out
	Differ  []Difference   `json:"differ"`
	Reasons map[string]int `json:"reasons"` // why the plain way gave up, and how often
}

// Figure is one figure both ways. Times are seconds.
type Figure struct {
	Name  string  `json:"name"`
	Unit  string  `json:"unit"`
	Shown float64 `json:"shown"`
	Plain float64 `json:"plain"`
	Same  bool    `json:"same"`
}

// Difference is a figure of one batch on which the two ways disagree.
type Difference struct {
	Card   traveler.Code `json:"card"`
	Figure string        `json:"figure"`
	Shown  float64       `json:"shown"`
	Plain  float64       `json:"plain"`
	// Entries are those of the record that both ways started from.
	Entries []traveler.Seq `json:"entries"`
}

// checked is a figure of a batch both ways.
var checked = []struct {
	name, unit string
	shown      func(*story.BatchFact) float64
	plain      func(*plain.Figures) float64
}{
	{
		"lead", "s", func(b *story.BatchFact) float64 { return b.Ended.Sub(b.Released).Seconds() },
		func(f *plain.Figures) float64 { return f.Lead.Seconds() },
	},
	{"run", "s", func(b *story.BatchFact) float64 {
		return visits(b, func(p *story.Parts) time.Duration { return p.Run })
	}, func(f *plain.Figures) float64 { return f.Run.Seconds() }},
	{"setup", "s", func(b *story.BatchFact) float64 {
		return visits(b, func(p *story.Parts) time.Duration { return p.Setup })
	}, func(f *plain.Figures) float64 { return f.SetUp.Seconds() }},
	{"stop", "s", func(b *story.BatchFact) float64 {
		return visits(b, func(p *story.Parts) time.Duration { return p.Stop })
	}, func(f *plain.Figures) float64 { return f.Stop.Seconds() }},
	{"rest", "s", func(b *story.BatchFact) float64 {
		return (b.Parts.Queue + b.Parts.Transport + b.Parts.Between).Seconds()
	}, func(f *plain.Figures) float64 { return f.Rest.Seconds() }},
	{
		"good", "", func(b *story.BatchFact) float64 { return float64(b.Good) },
		func(f *plain.Figures) float64 { return float64(f.Good) },
	},
	{
		"scrap", "", func(b *story.BatchFact) float64 { return float64(b.Scrap) },
		func(f *plain.Figures) float64 { return float64(f.Scrap) },
	},
	{
		"trips", "", func(b *story.BatchFact) float64 { return float64(len(b.Trip)) },
		func(f *plain.Figures) float64 { return float64(f.Trips) },
	},
	{"presented", "", func(b *story.BatchFact) float64 {
		return pieces(b, func(o *story.OpFact) int { return o.Presented })
	}, func(f *plain.Figures) float64 { return steps(f, func(s plain.Step) int { return s.Presented }) }},
	{"first", "", func(b *story.BatchFact) float64 {
		return pieces(b, func(o *story.OpFact) int { return o.FirstGood })
	}, func(f *plain.Figures) float64 { return steps(f, func(s plain.Step) int { return s.Good }) }},
}

func pieces(b *story.BatchFact, of func(*story.OpFact) int) (n float64) {
	for i := range b.Ops {
		n += float64(of(&b.Ops[i]))
	}
	return n
}

func steps(f *plain.Figures, of func(plain.Step) int) (n float64) {
	for _, s := range f.Steps {
		n += float64(of(s))
	}
	return n
}

func visits(b *story.BatchFact, of func(*story.Parts) time.Duration) float64 {
	sum := 0.0
	for i := range b.Visits {
		sum += of(&b.Visits[i].Parts).Seconds()
	}
	return sum
}

// Figures works the figures of the newest batches that fit out both ways; fits may
// be nil, most is how many are looked at, zone the shop's, by which dates are kept.
// It fails as the desk does.
func Figures(
	desk story.Desk, zone *time.Location, q story.FactQuery, fits func(*story.BatchFact) bool, most int,
) (*Check, error) {
	var list []story.BatchFact
	q.Open = false
	err := desk.Facts(q, func(b *story.BatchFact) bool {
		if b.Finished() && (fits == nil || fits(b)) {
			list = append(list, *b)
		}
		return true
	})
	if err != nil {
		return nil, err
	}
	slices.SortFunc(list, func(a, b story.BatchFact) int {
		return cmp.Or(b.Ended.Compare(a.Ended), cmp.Compare(a.Card, b.Card))
	})
	c := checker{
		out:  &Check{Figures: []Figure{}, Differ: []Difference{}, Reasons: map[string]int{}},
		shop: desk.Shop(),
		zone: zone,
	}
	for i := range list[:min(most, len(list))] {
		f, err := desk.Family(list[i].Root)
		if err != nil {
			return nil, err
		}
		c.add(&list[i], f.Record())
	}
	c.figures()
	return c.out, nil
}

type checker struct {
	out   *Check
	shop  *traveler.Shop
	zone  *time.Location
	shown []story.BatchFact
	plain []plain.Figures
}

func (c *checker) add(b *story.BatchFact, record []*traveler.Entry) {
	c.out.Batches++
	p := plain.Batch(c.shop, record, b.Card)
	if p.Tangled == "" && !p.Ended {
		p.Tangled = "its end was not said"
	}
	if p.Tangled != "" {
		c.out.Tangled++
		c.out.Reasons[p.Tangled]++
		return
	}
	same := true
	differ := func(name, unit string, s, q float64) {
		if alike(unit, s, q) {
			return
		}
		same = false
		if len(c.out.Differ) < mostDiffer {
			c.out.Differ = append(c.out.Differ, Difference{b.Card, name, s, q, entriesOf(record, b.Card)})
		}
	}
	for _, x := range checked {
		differ(x.name, x.unit, x.shown(b), x.plain(&p))
	}
	shown, second := c.inTime(b, &p)
	differ("in_time", "", shown, second)
	if same {
		c.out.Same++
	}
	c.shown, c.plain = append(c.shown, *b), append(c.plain, p)
}

// entriesOf lists what the record has of a batch.
func entriesOf(record []*traveler.Entry, card traveler.Code) []traveler.Seq {
	out := []traveler.Seq{}
	for _, e := range record {
		if e.Card == card || e.Other == card {
			out = append(out, e.Seq)
		}
	}
	return out
}

// inTime is the pieces of a batch that kept their date, both ways, as if it were
// an order line of its own.
func (c *checker) inTime(b *story.BatchFact, p *plain.Figures) (shown, second float64) {
	on := measure.OnTimes{DueEnd: func(due time.Time) time.Time { return calendar.EndOfDay(due, c.zone) }}
	alone := *b
	alone.Order = ""
	on.Add(&alone)
	return float64(on.Result(b.Ended.AddDate(1, 0, 0)).OnTimePieces), float64(p.InTime(c.zone, b.Ended))
}

const mostDiffer = 100

// alike allows for rounding of times to milliseconds.
func alike(unit string, a, b float64) bool {
	off := 1e-9
	if unit == "s" {
		off = 0.5
	}
	return math.Abs(a-b) <= off+1e-9*math.Abs(a)
}

// figures adds up both ways, over the batches that both can work out.
func (c *checker) figures() {
	add := func(name, unit string, shown, second float64) {
		c.out.Figures = append(c.out.Figures, Figure{name, unit, shown, second, alike(unit, shown, second)})
	}
	var lead, second []float64
	for i := range c.shown {
		lead, second = append(lead, checked[0].shown(&c.shown[i])),
			append(second, checked[0].plain(&c.plain[i]))
	}
	if len(lead) > 0 {
		q := measure.QuantilesOf(slices.Clone(lead))
		for _, p := range []struct {
			name  string
			at    float64
			shown float64
		}{{"lead_p50", 50, q.P50.Seconds()}, {"lead_p80", 80, q.P80.Seconds()},
			{"lead_p95", 95, q.P95.Seconds()}} {
			add(p.name, "s", p.shown, plain.Percentile(second, p.at))
		}
	}
	for _, x := range checked[1:] {
		a, b := 0.0, 0.0
		for i := range c.shown {
			a += x.shown(&c.shown[i])
			b += x.plain(&c.plain[i])
		}
		add(x.name, x.unit, a, b)
	}
	a, b := 0.0, 0.0
	for i := range c.shown {
		x, y := c.inTime(&c.shown[i], &c.plain[i])
		a, b = a+x, b+y
	}
	add("in_time", "", a, b)
	c.rolled(add)
}

// rolled compares the yield along the route, where all batches took the same.
func (c *checker) rolled(add func(name, unit string, shown, second float64)) {
	var y measure.Yields
	for i := range c.shown {
		if b := &c.shown[i]; b.Part != c.shown[0].Part || b.Rev != c.shown[0].Rev {
			return
		}
		y.Add(&c.shown[i])
	}
	if r := y.Result(); r.RolledOK {
		add("rolled", "%", 100*r.Rolled.Yield, 100*plain.Rolled(c.plain))
	}
}
