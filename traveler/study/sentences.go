package study

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"tallywalk/traveler"
)

// The sentences of a comparison, the same on the page and on paper.

func owner(key string, args ...string) string {
	return traveler.Msg{Key: "owner." + key, Args: args}.Text("en")
}

// Title is what a route is called at the beginning of a sentence.
func (r *ComparedRoute) Title() string {
	if r.Name == r.RouteRev {
		return owner("route", r.Name)
	}
	return owner("named", r.Name)
}

// called is what it is called within a sentence.
func (r *ComparedRoute) called() string {
	if r.Name == r.RouteRev {
		return owner("route.in", r.Name)
	}
	return owner("named", r.Name)
}

// Answers say in sentences what a comparison comes to.
func Answers(v *Comparison) []Sentence {
	out := []Sentence{}
	for i := range v.Against {
		said := map[string]Sentence{}
		for _, f := range v.Against[i].Figures {
			if f.Figure == "cost" || f.Figure == "minutes" {
				said[f.Figure] = v.difference(i, &f)
			}
		}
		out = append(out, said["cost"], v.breaks(i), said["minutes"], v.minuteBreaks(i))
	}
	return out
}

// difference says how the i-th other route stands to the first in one figure.
func (v *Comparison) difference(i int, f *ComparedFigure) Sentence {
	first, second, d := &v.Routes[0], &v.Routes[i+1], f.Difference
	s := Sentence{About: f.Figure, Route: i + 1}
	unit, span := " min", second.Minutes
	if f.Figure == "cost" {
		unit, span = " "+v.Costs.Currency, second.Cost
	}
	if d.Value == nil || f.First.Value == nil || *f.First.Value == 0 {
		s.Verdict, s.Say = "unsure", owner("nothing", first.called(), second.called())
		return s
	}
	word := "less"
	s.Verdict = "better"
	if *d.Value > 0 {
		word, s.Verdict = "more", "worse"
	}
	amount := func(x float64) string { return fixed(math.Abs(x), 2) + unit }
	args := []string{
		second.Title(), first.called(), amount(*d.Value), "−" + percentText(math.Abs(*d.Value / *f.First.Value)),
	}
	if word == "more" {
		args[3] = "+" + strings.TrimPrefix(args[3], "−")
	}
	switch {
	case math.Abs(*d.Value) < 0.005:
		s.Verdict, s.Say = "same", owner(f.Figure+".same", second.called(), first.called())
	case d.Low == nil || d.High == nil:
		s.Verdict, s.Say = "unsure", owner(f.Figure+"."+word+".unsure", args...)+v.whyUnsure(first, second, span, unit)
	case *d.Low <= 0 && *d.High >= 0:
		s.Verdict, s.Say = "either", owner(
			f.Figure+".either", second.called(), first.called(), amount(*d.Low), amount(*d.High),
		)
	default:
		a, b := math.Min(math.Abs(*d.Low), math.Abs(*d.High)), math.Max(math.Abs(*d.Low), math.Abs(*d.High))
		s.Say = owner(f.Figure+"."+word, append(args, fixed(a, 2), amount(b))...)
	}
	return s
}

// whyUnsure says why a difference has no interval: too few batches, or values
// that nobody measured.
func (v *Comparison) whyUnsure(first, second *ComparedRoute, span []float64, unit string) string {
	if n := min(first.Batches, second.Batches); first.guessed()+second.guessed() == 0 && n < v.FewInterval {
		return owner("unsure.few", strconv.Itoa(n), strconv.Itoa(v.FewInterval))
	}
	return assumedSpan(span, unit, second)
}

// assumedSpan says what the assumptions of a route allow.
func assumedSpan(span []float64, unit string, r *ComparedRoute) string {
	if len(span) < 2 || span[1]-span[0] < 0.005 {
		return owner("unsure.blind")
	}
	return owner("unsure.within", fixed(span[0], 2), fixed(span[1], 2)+unit, r.called())
}

// breaks says from what batch size on which route is the cheaper one, and how
// sure that is.
func (v *Comparison) breaks(i int) Sentence {
	a, first, second := &v.Against[i], &v.Routes[0], &v.Routes[i+1]
	say := v.crossed(a.ByCost, first, second, first.Result.EachCost, second.Result.EachCost, "")
	return Sentence{About: "breaks", Route: i + 1, Say: strings.TrimSpace(say + " " + v.sure(i))}
}

func (v *Comparison) minuteBreaks(i int) Sentence {
	a, first, second := &v.Against[i], &v.Routes[0], &v.Routes[i+1]
	say := v.crossed(a.ByMinutes, first, second, first.Result.EachMin, second.Result.EachMin, "minutes.")
	return Sentence{About: "minute-breaks", Route: i + 1, Say: say}
}

// crossed says where two routes cross; by is "" for cost.
func (v *Comparison) crossed(list []Crossing, first, second *ComparedRoute, x, y *float64, by string) string {
	if len(list) == 0 {
		if x == nil || y == nil || *x == *y {
			if by != "" {
				return owner("minutes.same", first.called(), second.called())
			}
			return owner("breaks.same", first.Title(), second.called())
		}
		if *x < *y {
			first, second = second, first
		}
		return owner(by+"breaks.none", second.Title(), first.called())
	}
	var out []string
	for k, c := range list {
		before, after := second, first
		if c.Second {
			before, after = first, second
		}
		at := fixed(math.Ceil(c.Size), 0)
		if k == 0 {
			out = append(out, owner(by+"breaks.below", at, before.called()))
		}
		out = append(out, owner("breaks.from", at, after.called()))
	}
	return strings.Join(out, " ")
}

// sure says at which batch sizes it cannot be told which route is the cheaper
// one.
func (v *Comparison) sure(i int) string {
	a := &v.Against[i]
	kind := ".assumed"
	for _, f := range a.Figures {
		if f.Figure == "cost" && f.Difference.Low != nil {
			kind = ""
		}
	}
	if span := v.Routes[i+1].Cost; kind != "" && (len(span) < 2 || span[1]-span[0] < 0.005) {
		return "" // nobody has said how far off the plan may be
	}
	var parts []string
	for k, s := range a.Sure {
		if s.Told {
			continue
		}
		from, to := strconv.Itoa(s.From), strconv.Itoa(s.To)
		switch {
		case len(a.Sure) == 1:
			return owner("sure.none")
		case k == 0:
			parts = append(parts, owner("sure.up", from, to))
		case k == len(a.Sure)-1:
			parts = append(parts, owner("sure.on", from, to))
		default:
			parts = append(parts, owner("sure.between", from, to))
		}
	}
	if len(parts) == 0 {
		return owner("sure.all" + kind)
	}
	return owner("sure.some"+kind, strings.Join(parts, owner("and")))
}

func percentText(x float64) string { return fixed(100*x, 1) + "\u00a0%" }

// fixed writes a number with so many digits after the point, and its thousands
// apart.
func fixed(x float64, digits int) string {
	s := strconv.FormatFloat(math.Abs(x), 'f', digits, 64)
	whole, rest, _ := strings.Cut(s, ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if rest != "" {
		whole += "." + rest
	}
	if x < 0 && strings.Trim(s, "0.") != "" {
		whole = "−" + whole
	}
	return whole
}

// hours writes hours as a shop says them.
func hours(h float64) string {
	if h < 48 {
		return fmt.Sprintf("%.1f h", h)
	}
	return fmt.Sprintf("%.1f d", h/24)
}
