package web

import (
	"cmp"
	"math"
	"slices"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/plain"
)

// Check is figures of a choice of batches, as the pages show them and as a
// second, plain way gives them straight from the scans.
type Check struct {
	Batches int            `json:"batches"` // looked at
	Same    int            `json:"same"`    // of them, those for which both ways agree in everything
	Tangled int            `json:"tangled"` // of them, those that the plain way gives up on
	Figures []CheckFigure  `json:"figures"` // over the batches that both ways can tell
	Differ  []CheckBatch   `json:"differ"`
	Reasons map[string]int `json:"reasons"` // why the plain way gave up, and how often
}

// CheckFigure is one figure both ways. Times are seconds.
type CheckFigure struct {
	Name  string  `json:"name"`
	Unit  string  `json:"unit"`
	Shown float64 `json:"shown"`
	Plain float64 `json:"plain"`
	Same  bool    `json:"same"`
}

// CheckBatch is a figure of one batch on which the two ways disagree.
type CheckBatch struct {
	Card   traveler.Code `json:"card"`
	Figure string        `json:"figure"`
	Shown  float64       `json:"shown"`
	Plain  float64       `json:"plain"`
}

// checked is a figure of a batch both ways.
var checked = []struct {
	name, unit string
	shown      func(*traveler.BatchFact) float64
	plain      func(*plain.Figures) float64
}{
	{"lead", "s", func(b *traveler.BatchFact) float64 { return b.Ended.Sub(b.Released).Seconds() }, func(f *plain.Figures) float64 { return f.Lead.Seconds() }},
	{"run", "s", func(b *traveler.BatchFact) float64 {
		return visits(b, func(p *traveler.Parts) time.Duration { return p.Run })
	}, func(f *plain.Figures) float64 { return f.Run.Seconds() }},
	{"setup", "s", func(b *traveler.BatchFact) float64 {
		return visits(b, func(p *traveler.Parts) time.Duration { return p.Setup })
	}, func(f *plain.Figures) float64 { return f.SetUp.Seconds() }},
	{"stop", "s", func(b *traveler.BatchFact) float64 {
		return visits(b, func(p *traveler.Parts) time.Duration { return p.Stop })
	}, func(f *plain.Figures) float64 { return f.Stop.Seconds() }},
	{"good", "", func(b *traveler.BatchFact) float64 { return float64(b.Good) }, func(f *plain.Figures) float64 { return float64(f.Good) }},
	{"scrap", "", func(b *traveler.BatchFact) float64 { return float64(b.Scrap) }, func(f *plain.Figures) float64 { return float64(f.Scrap) }},
	{"trips", "", func(b *traveler.BatchFact) float64 { return float64(len(b.Trip)) }, func(f *plain.Figures) float64 { return float64(f.Trips) }},
}

func visits(b *traveler.BatchFact, of func(*traveler.Parts) time.Duration) float64 {
	sum := 0.0
	for i := range b.Visits {
		sum += of(&b.Visits[i].Parts).Seconds()
	}
	return sum
}

// CheckFigures works the figures of the newest batches that fit out both ways;
// most is how many are looked at.
func CheckFigures(desk traveler.Desk, q traveler.FactQuery, fits func(*traveler.BatchFact) bool, most int) (*Check, error) {
	var list []traveler.BatchFact
	q.Open = false
	err := desk.Facts(q, func(b *traveler.BatchFact) bool {
		if b.State == traveler.StateDone && b.Joined == "" && (fits == nil || fits(b)) {
			list = append(list, *b)
		}
		return true
	})
	if err != nil {
		return nil, err
	}
	slices.SortFunc(list, func(a, b traveler.BatchFact) int {
		return cmp.Or(b.Ended.Compare(a.Ended), cmp.Compare(a.Card, b.Card))
	})
	c := checker{out: &Check{Figures: []CheckFigure{}, Differ: []CheckBatch{}, Reasons: map[string]int{}}, shop: desk.Shop()}
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
	shown []traveler.BatchFact
	plain []plain.Figures
}

func (c *checker) add(b *traveler.BatchFact, record []*traveler.Entry) {
	c.out.Batches++
	p := plain.Batch(c.shop, record)
	if p.Tangled == "" && !p.Ended {
		p.Tangled = "its end was not said"
	}
	if p.Tangled != "" {
		c.out.Tangled++
		c.out.Reasons[p.Tangled]++
		return
	}
	same := true
	for _, x := range checked {
		if s, q := x.shown(b), x.plain(&p); !alike(s, q) {
			same = false
			if len(c.out.Differ) < mostDiffer {
				c.out.Differ = append(c.out.Differ, CheckBatch{b.Card, x.name, s, q})
			}
		}
	}
	if same {
		c.out.Same++
	}
	c.shown, c.plain = append(c.shown, *b), append(c.plain, p)
}

const mostDiffer = 100

// alike allows for rounding to milliseconds.
func alike(a, b float64) bool { return math.Abs(a-b) <= 0.5+1e-9*math.Abs(a) }

// figures adds up both ways, over the batches that both can tell.
func (c *checker) figures() {
	add := func(name, unit string, shown, second float64) {
		c.out.Figures = append(c.out.Figures, CheckFigure{name, unit, shown, second, alike(shown, second)})
	}
	var lead, second []float64
	for i := range c.shown {
		lead, second = append(lead, checked[0].shown(&c.shown[i])), append(second, checked[0].plain(&c.plain[i]))
	}
	if len(lead) > 0 {
		q := measure.QuantilesOf(slices.Clone(lead))
		for _, p := range []struct {
			name  string
			at    float64
			shown float64
		}{{"lead_p50", 50, q.P50.Seconds()}, {"lead_p80", 80, q.P80.Seconds()}, {"lead_p95", 95, q.P95.Seconds()}} {
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
}

const (
	usualChecked = 300
	mostChecked  = 2000
)

// getCheck answers figures both ways.
func (s *Server) getCheck(c *fiber.Ctx) error {
	sel, err := s.selected(c)
	if err != nil {
		return err
	}
	n, err := queryInt(c, "most", usualChecked)
	if err != nil {
		return err
	}
	if n < 1 || n > mostChecked {
		return traveler.Invalid("most", "form.number")
	}
	out, err := CheckFigures(s.cfg.Desk, traveler.FactQuery{Part: sel.Part, From: sel.from, To: sel.to}, sel.fits, n)
	if err != nil {
		return err
	}
	return c.JSON(fiber.Map{"selection": sel, "check": out})
}
