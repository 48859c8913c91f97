package labels

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"tallywalk/traveler/study"
)

// WriteComparison writes routes of a part, which has a name, side by side on one A4
// page, to hand to whoever decides. It fails as w does.
func WriteComparison(w io.Writer, v *study.Comparison, name string, printed time.Time, tr Texts) error {
	return writeComparison(w, (&worded{v, tr}).page(name), printed, tr)
}

// worded is a comparison in the words and figures of its page.
type worded struct {
	v  *study.Comparison
	tr Texts
}

func (p *worded) page(name string) *comparisonPage {
	v := p.v
	c := &comparisonPage{
		Title:       strings.TrimSpace(p.v.Owner("title", v.Part) + " " + name),
		Under:       p.v.Owner("under", strconv.Itoa(v.Size), v.Costs.Currency),
		Answer:      p.answer(),
		Parts:       []string{p.v.Owner("run"), p.v.Owner("setup"), p.v.Owner("away"), p.v.Owner("wait")},
		Curve:       curveChart{Title: p.v.Owner("curve", v.Costs.Currency)},
		Notes:       p.notes(),
		StripsTitle: p.v.Owner("strips"),
	}
	for i := range v.Routes {
		r := &v.Routes[i]
		c.Columns = append(c.Columns, p.name(i))
		line := curveLine{Name: p.name(i)}
		for _, x := range r.Curve {
			if x.EachCost != nil {
				line.Points = append(line.Points, [2]float64{float64(x.Size), *x.EachCost})
			}
		}
		c.Curve.Lines = append(c.Curve.Lines, line)
		c.Strips = append(c.Strips, p.strip(i))
	}
	c.Curve.Marks = append(c.Curve.Marks, curveMark{Size: float64(v.Size), Name: p.v.Owner("here")})
	for i := range v.Against {
		for _, x := range v.Against[i].ByCost {
			c.Curve.Marks = append(c.Curve.Marks,
				curveMark{Size: x.Size, Name: p.v.Owner("break", whole(x.Size))})
		}
	}
	c.Rows = p.rows()
	return c
}

// strip is where the lead time of a route goes.
func (p *worded) strip(i int) strip {
	x := &p.v.Routes[i].Parts
	hours := []float64{
		x.Run / 3600, (x.Setup + x.FirstOff) / 3600, x.Outside / 3600,
		(x.Stop + x.Transport + x.Queue + x.Between) / 3600,
	}
	sum := 0.0
	for _, h := range hours {
		sum += h
	}
	return strip{Name: p.name(i), Hours: hours, Total: p.local(days(sum))}
}

func (p *worded) name(i int) string { return p.v.Title(&p.v.Routes[i]) }

// loud are the warnings that belong beside the answer, not at the foot.
var loud = []string{"centre", "labour", "unrated", "lead-mixed"}

// answer is what it comes to, and what should be looked at before it is believed.
func (p *worded) answer() (out []string) {
	for _, s := range p.v.Answer {
		if s.About != "minute-breaks" {
			out = append(out, s.Say)
		}
	}
	for _, s := range p.v.Notes {
		if slices.Contains(loud, s.About) {
			out = append(out, p.v.Owner("look", s.Say))
		}
	}
	return out
}

func (p *worded) notes() (out []string) {
	for _, s := range p.v.Notes {
		if !slices.Contains(loud, s.About) {
			out = append(out, s.Say)
		}
	}
	return out
}

// local is a figure with the decimal sign of the paper's language.
func (p *worded) local(figure string) string {
	return strings.ReplaceAll(figure, ".", p.tr.say("decimal_sign"))
}

// ofCost are the figures that the cost above them is made of.
var ofCost = []string{"machine", "labour", "handling", "material", "scrap"}

// rows are the figures, a column for each route.
func (p *worded) rows() []comparisonRow {
	var out []comparisonRow
	add := func(key string, strong bool, of func(i int) string) {
		row := comparisonRow{Name: p.v.Owner(key), Strong: strong, Part: slices.Contains(ofCost, key)}
		for i := range p.v.Routes {
			row.Cells = append(row.Cells, p.local(of(i)))
		}
		out = append(out, row)
	}
	r := p.v.Routes
	add("setups", false, func(i int) string {
		return fmt.Sprintf("%d / %d / %s", r[i].Result.SetUps, r[i].Result.Clampings,
			tenths(r[i].Result.Trips))
	})
	add("metres", false, func(i int) string { return whole(r[i].Result.Metres) + " m" })
	add("setupmin", false, func(i int) string { return whole(r[i].Result.SetUpMin) + " min" })
	add(
		"eachmin", true, func(i int) string {
			return p.estimate(i, "minutes", maybe(r[i].Result.EachMin, 2), 2)
		},
	)
	add("yield", false, func(i int) string { return percent(r[i].Result.Yield) })
	add("perclamping", false, func(i int) string { return percent(r[i].Result.PerClamping) })
	if p.v.Good > 0 {
		add("start", false, func(i int) string {
			if r[i].Start == nil {
				return "–"
			}
			return strconv.Itoa(*r[i].Start)
		})
	}
	add("eachcost", true,
		func(i int) string { return p.estimate(i, "cost", maybe(r[i].Result.EachCost, 2), 2) })
	add("machine", false, func(i int) string { return p.each(i, r[i].Result.Machine) })
	add("labour", false, func(i int) string { return p.each(i, r[i].Result.Labour) })
	add("handling", false, func(i int) string { return p.each(i, r[i].Result.Handling) })
	add("material", false, func(i int) string { return p.each(i, r[i].Result.Material+r[i].Result.Outside) })
	add("scrap", false, func(i int) string { return p.each(i, r[i].Result.Scrap) })
	add("lead", true, func(i int) string {
		return days(r[i].Result.LeadH) + " / " + days(r[i].Result.LeadHighH)
	})
	add("wip", false, func(i int) string { return maybe(r[i].Result.WIP, 1) })
	add("oneoff", false, func(i int) string { return whole(r[i].OneOff) })
	add("rests", false, func(i int) string { return r[i].RestsOn() })
	return out
}

// estimate is a figure with its interval, where it has one.
func (p *worded) estimate(i int, figure, plain string, digits int) string {
	for k := range p.v.Against {
		a := &p.v.Against[k]
		for _, f := range a.Figures {
			e := f.Second
			if i == 0 {
				e = f.First
			} else if k != i-1 {
				continue
			}
			if f.Figure == figure && e.Low != nil && e.High != nil && e.Value != nil {
				return fmt.Sprintf("%.*f (%.*f–%.*f)", digits, *e.Value, digits, *e.Low, digits, *e.High)
			}
		}
	}
	return plain
}

func (p *worded) each(i int, cost float64) string {
	if g := p.v.Routes[i].Result.Good; g > 0 {
		return fmt.Sprintf("%.2f", cost/g)
	}
	return "–"
}

func whole(x float64) string   { return strconv.FormatFloat(math.Round(x), 'f', 0, 64) }
func tenths(x float64) string  { return strconv.FormatFloat(math.Round(10*x)/10, 'f', -1, 64) }
func percent(x float64) string { return strconv.FormatFloat(100*x, 'f', 1, 64) + " %" }

func maybe(x *float64, digits int) string {
	if x == nil {
		return "–"
	}
	return strconv.FormatFloat(*x, 'f', digits, 64)
}

// days says hours as a shop says them.
func days(h float64) string {
	if h < 48 {
		return fmt.Sprintf("%.1f h", h)
	}
	return fmt.Sprintf("%.1f d", h/24)
}
