package main

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"tallywalk/labels"
	"tallywalk/traveler"
	"tallywalk/traveler/study"
)

// printComparison writes routes side by side on one A4 page.
func printComparison(w io.Writer, v *study.Comparison, name string, at time.Time) error {
	p := comparisonPage{v: v}
	return labels.WriteComparison(w, p.page(name), at, labels.English())
}

type comparisonPage struct{ v *study.Comparison }

func owner(key string, args ...string) string {
	return traveler.Msg{Key: "owner." + key, Args: args}.Text("en")
}

func (p *comparisonPage) page(name string) *labels.Comparison {
	v := p.v
	c := &labels.Comparison{
		Title:       strings.TrimSpace(owner("title", v.Part) + " " + name),
		Under:       owner("under", strconv.Itoa(v.Size), v.Costs.Currency),
		Answer:      p.answer(),
		Parts:       []string{owner("run"), owner("setup"), owner("away"), owner("wait")},
		Curve:       labels.CurveChart{Title: owner("curve", v.Costs.Currency)},
		Notes:       p.notes(),
		StripsTitle: owner("strips"),
	}
	for i := range v.Routes {
		r := &v.Routes[i]
		c.Columns = append(c.Columns, p.name(i))
		line := labels.CurveLine{Name: p.name(i)}
		for _, x := range r.Curve {
			if x.EachCost != nil {
				line.Points = append(line.Points, [2]float64{float64(x.Size), *x.EachCost})
			}
		}
		c.Curve.Lines = append(c.Curve.Lines, line)
		c.Strips = append(c.Strips, p.strip(i))
	}
	c.Curve.Marks = append(c.Curve.Marks, labels.CurveMark{Size: float64(v.Size), Name: owner("here")})
	for i := range v.Against {
		for _, x := range v.Against[i].ByCost {
			c.Curve.Marks = append(c.Curve.Marks, labels.CurveMark{Size: x.Size, Name: owner("break", whole(x.Size))})
		}
	}
	c.Rows = p.rows()
	return c
}

// strip is where the lead time of a route goes.
func (p *comparisonPage) strip(i int) labels.Strip {
	x := &p.v.Routes[i].Parts
	hours := []float64{x.Run / 3600, (x.Setup + x.FirstOff) / 3600, x.Outside / 3600, (x.Stop + x.Transport + x.Queue + x.Between) / 3600}
	sum := 0.0
	for _, h := range hours {
		sum += h
	}
	return labels.Strip{Name: p.name(i), Hours: hours, Total: days(sum)}
}

func (p *comparisonPage) name(i int) string { return p.v.Routes[i].Title() }

// loud are the warnings that belong beside the answer, not at the foot.
var loud = []string{"centre", "labour", "unrated", "lead-mixed"}

// answer is what it comes to, and what should be looked at before it is believed.
func (p *comparisonPage) answer() (out []string) {
	for _, s := range p.v.Answer {
		if s.About != "minute-breaks" {
			out = append(out, s.Say)
		}
	}
	for _, s := range p.v.Notes {
		if slices.Contains(loud, s.About) {
			out = append(out, owner("look", s.Say))
		}
	}
	return out
}

func (p *comparisonPage) notes() (out []string) {
	for _, s := range p.v.Notes {
		if !slices.Contains(loud, s.About) {
			out = append(out, s.Say)
		}
	}
	return out
}

// ofCost are the figures that the cost above them is made of.
var ofCost = []string{"machine", "labour", "handling", "material", "scrap"}

// rows are the figures, a column for each route.
func (p *comparisonPage) rows() []labels.ComparisonRow {
	var out []labels.ComparisonRow
	add := func(key string, strong bool, of func(i int) string) {
		row := labels.ComparisonRow{Name: owner(key), Strong: strong, Part: slices.Contains(ofCost, key)}
		for i := range p.v.Routes {
			row.Cells = append(row.Cells, of(i))
		}
		out = append(out, row)
	}
	r := p.v.Routes
	add("setups", false, func(i int) string {
		return fmt.Sprintf("%d / %d / %d", r[i].Result.SetUps, r[i].Result.Clampings, r[i].Result.Trips)
	})
	add("metres", false, func(i int) string { return whole(r[i].Result.Metres) + " m" })
	add("setupmin", false, func(i int) string { return whole(r[i].Result.SetUpMin) + " min" })
	add("eachmin", true, func(i int) string { return p.estimate(i, "minutes", maybe(r[i].Result.EachMin, 2), 2) })
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
	add("eachcost", true, func(i int) string { return p.estimate(i, "cost", maybe(r[i].Result.EachCost, 2), 2) })
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
func (p *comparisonPage) estimate(i int, figure, plain string, digits int) string {
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

func (p *comparisonPage) each(i int, cost float64) string {
	if g := p.v.Routes[i].Result.Good; g > 0 {
		return fmt.Sprintf("%.2f", cost/g)
	}
	return "–"
}

func whole(x float64) string   { return strconv.FormatFloat(math.Round(x), 'f', 0, 64) }
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
