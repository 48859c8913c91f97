package main

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"tallywalk/labels"
	"tallywalk/traveler"
	"tallywalk/traveler/study"
	"tallywalk/web"
)

// printComparison writes routes side by side on one A4 page.
func printComparison(w io.Writer, v *web.Comparison, name string, at time.Time) error {
	p := comparisonPage{v: v}
	return labels.WriteComparison(w, p.page(name), at, labels.English())
}

type comparisonPage struct{ v *web.Comparison }

func owner(key string, args ...string) string {
	return traveler.Msg{Key: "owner." + key, Args: args}.Text("en")
}

func (p *comparisonPage) page(name string) *labels.Comparison {
	v := p.v
	c := &labels.Comparison{
		Title:  strings.TrimSpace(owner("title", v.Part) + " " + name),
		Under:  owner("under", strconv.Itoa(v.Size), v.Costs.Currency),
		Answer: p.answer(),
		Parts:  []string{owner("run"), owner("setup"), owner("away"), owner("wait")},
		Curve:  labels.CurveChart{Title: owner("curve", v.Costs.Currency)},
		Notes:  p.notes(),
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

func (p *comparisonPage) name(i int) string { return owner("route", p.v.Routes[i].Name) }

// rows are the figures, a column for each route.
func (p *comparisonPage) rows() []labels.ComparisonRow {
	var out []labels.ComparisonRow
	add := func(key string, strong bool, of func(i int) string) {
		row := labels.ComparisonRow{Name: owner(key), Strong: strong}
		for i := range p.v.Routes {
			row.Cells = append(row.Cells, of(i))
		}
		out = append(out, row)
	}
	res := func(of func(i int) string) func(int) string { return of }
	r := p.v.Routes
	add("setups", false, res(func(i int) string {
		return fmt.Sprintf("%d / %d / %d", r[i].Result.SetUps, r[i].Result.Clampings, r[i].Result.Trips)
	}))
	add("metres", false, res(func(i int) string { return whole(r[i].Result.Metres) + " m" }))
	add("setupmin", false, res(func(i int) string { return whole(r[i].Result.SetUpMin) + " min" }))
	add("eachmin", true, res(func(i int) string { return p.estimate(i, "minutes", maybe(r[i].Result.EachMin, 2), 2) + " min" }))
	add("yield", false, res(func(i int) string { return percent(r[i].Result.Yield) }))
	add("perclamping", false, res(func(i int) string { return percent(r[i].Result.PerClamping) }))
	if p.v.Good > 0 {
		add("start", false, res(func(i int) string {
			if r[i].Start == nil {
				return "–"
			}
			return strconv.Itoa(*r[i].Start)
		}))
	}
	add("eachcost", true, res(func(i int) string { return p.estimate(i, "cost", maybe(r[i].Result.EachCost, 2), 2) }))
	add("machine", false, res(func(i int) string { return p.each(i, r[i].Result.Machine) }))
	add("labour", false, res(func(i int) string { return p.each(i, r[i].Result.Labour) }))
	add("handling", false, res(func(i int) string { return p.each(i, r[i].Result.Handling) }))
	add("material", false, res(func(i int) string { return p.each(i, r[i].Result.Material+r[i].Result.Outside) }))
	add("scrap", false, res(func(i int) string { return p.each(i, r[i].Result.Scrap) }))
	add("lead", true, res(func(i int) string {
		return days(r[i].Result.LeadH) + " / " + days(r[i].Result.LeadHighH)
	}))
	add("wip", false, res(func(i int) string { return maybe(r[i].Result.WIP, 1) }))
	add("oneoff", false, res(func(i int) string { return whole(r[i].OneOff) }))
	add("rests", false, res(func(i int) string { return p.rests(i) }))
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

// rests says how many batches stand behind a route, and what is only planned or
// assumed of it.
func (p *comparisonPage) rests(i int) string {
	r := &p.v.Routes[i]
	from := map[study.Source]int{}
	for k := range r.Steps {
		for _, v := range []study.Source{r.Steps[k].SetUp.Source, r.Steps[k].Piece.Source, r.Steps[k].Yield.Source} {
			from[v]++
		}
	}
	return owner("rests.of", strconv.Itoa(r.Batches), strconv.Itoa(from[study.Planned]), strconv.Itoa(from[study.Assumed]))
}

// answer says in sentences what the comparison comes to.
func (p *comparisonPage) answer() []string {
	var out []string
	for i := range p.v.Against {
		a := &p.v.Against[i]
		for _, f := range a.Figures {
			if f.Figure == "cost" || f.Figure == "minutes" {
				out = append(out, p.difference(a.First, a.Second, f.Figure, &f))
			}
		}
		out = append(out, p.breaks(i))
	}
	return out
}

func (p *comparisonPage) difference(first, second, figure string, f *web.Compared) string {
	d := f.Difference
	if d.Value == nil || f.First.Value == nil || *f.First.Value == 0 {
		return owner("nothing", first, second)
	}
	unit := "min"
	if figure == "cost" {
		unit = p.v.Costs.Currency
	}
	word := "less"
	if *d.Value > 0 {
		word = "more"
	}
	args := []string{second, first, fmt.Sprintf("%.2f %s", math.Abs(*d.Value), unit), percent(math.Abs(*d.Value / *f.First.Value))}
	if d.Low == nil || d.High == nil {
		return owner(figure+"."+word+".unsure", args...)
	}
	if *d.Low <= 0 && *d.High >= 0 {
		return owner(figure+".either", second, first, fmt.Sprintf("%.2f", *d.Low), fmt.Sprintf("%.2f %s", *d.High, unit))
	}
	return owner(figure+"."+word, append(args, fmt.Sprintf("%.2f", math.Min(math.Abs(*d.Low), math.Abs(*d.High))), fmt.Sprintf("%.2f", math.Max(math.Abs(*d.Low), math.Abs(*d.High))))...)
}

// breaks says from what batch size on which route is the cheaper one.
func (p *comparisonPage) breaks(i int) string {
	a := &p.v.Against[i]
	if len(a.ByCost) == 0 {
		first, second := p.v.Routes[0].Result.EachCost, p.v.Routes[i+1].Result.EachCost
		if first == nil || second == nil || *first == *second {
			return owner("breaks.same", a.First, a.Second)
		}
		if *first < *second {
			return owner("breaks.none", a.First, a.Second)
		}
		return owner("breaks.none", a.Second, a.First)
	}
	var out []string
	for _, x := range a.ByCost {
		better := a.First
		if x.Second {
			better = a.Second
		}
		out = append(out, owner("breaks.from", whole(math.Ceil(x.Size)), better))
	}
	return strings.Join(out, " ")
}

// notes say what the figures rest on and what they leave out.
func (p *comparisonPage) notes() []string {
	out := []string{owner("note.intervals", strconv.Itoa(p.v.Few)), owner("note.lead")}
	if c := &p.v.Clamping; c.Known {
		out = append(out, owner("note.clamping", percent(c.Loss.Likely), percent(c.Loss.Low), percent(c.Loss.High), strconv.Itoa(c.Batches), strconv.Itoa(c.Parts)))
	}
	for i := range p.v.Routes {
		r := &p.v.Routes[i]
		if len(r.Result.Unrated) > 0 {
			var names []string
			for _, wc := range r.Result.Unrated {
				names = append(names, string(wc))
			}
			out = append(out, owner("note.unrated", r.Name, strings.Join(names, ", ")))
		}
		if len(r.Assumptions) > 0 {
			a := &r.Assumptions[0]
			out = append(out, owner("note.assumption", r.Name, a.Operation.String(), owner("what."+a.What), maybe(a.Low, 2), maybe(a.High, 2)))
		}
	}
	return append(out, owner("note.caution"))
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
