package study

import (
	"math"
	"strconv"
	"strings"

	"tallywalk/traveler"
)

// The sentences of a comparison, the same on the page and on paper.

// Languages are those that comparisons are said in.
func Languages() []string { return []string{traveler.English, "de"} }

// Owner is a sentence for whoever decides, in the comparison's language.
func (v *Comparison) Owner(key string, args ...string) string {
	return traveler.Msg{Key: "owner." + key, Args: args}.Text(v.Language)
}

// Title is what a route is called at the beginning of a sentence.
func (v *Comparison) Title(r *ComparedRoute) string {
	if r.Name == r.RouteRev {
		return v.Owner("route", r.Name)
	}
	return v.Owner("named", r.Name)
}

// called is what it is called within a sentence.
func (v *Comparison) called(r *ComparedRoute) string {
	if r.Name == r.RouteRev {
		return v.Owner("route.in", r.Name)
	}
	return v.Owner("named", r.Name)
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
		s.Verdict, s.Say = "unsure", v.Owner("nothing", v.called(first), v.called(second))
		return s
	}
	word := "less"
	s.Verdict = "better"
	if *d.Value > 0 {
		word, s.Verdict = "more", "worse"
	}
	amount := func(x float64) string { return v.fixed(math.Abs(x), 2) + unit }
	args := []string{
		v.Title(second), v.called(first), amount(*d.Value),
		"−" + v.percent(math.Abs(*d.Value / *f.First.Value)),
	}
	if word == "more" {
		args[3] = "+" + strings.TrimPrefix(args[3], "−")
	}
	switch {
	case math.Abs(*d.Value) < 0.005:
		s.Verdict, s.Say = "same", v.Owner(f.Figure+".same", v.called(second), v.called(first))
	case d.Low == nil || d.High == nil:
		s.Verdict, s.Say = "unsure", v.Owner(f.Figure+"."+word+".unsure", args...)+v.whyUnsure(first, second,
			span, unit)
	case *d.Low <= 0 && *d.High >= 0:
		s.Verdict, s.Say = "either", v.Owner(
			f.Figure+".either", v.called(second), v.called(first), amount(*d.Low), amount(*d.High),
		)
	default:
		a, b := math.Min(math.Abs(*d.Low), math.Abs(*d.High)), math.Max(math.Abs(*d.Low), math.Abs(*d.High))
		s.Say = v.Owner(f.Figure+"."+word, append(args, v.fixed(a, 2), amount(b))...)
	}
	return s
}

// whyUnsure says why a difference has no interval: too few batches, or values
// that nobody measured.
func (v *Comparison) whyUnsure(first, second *ComparedRoute, span []float64, unit string) string {
	if n := min(first.Batches, second.Batches); first.guessed()+second.guessed() == 0 && n < v.FewInterval {
		return v.Owner("unsure.few", strconv.Itoa(n), strconv.Itoa(v.FewInterval))
	}
	return v.assumedSpan(span, unit, second)
}

// assumedSpan says what the assumptions of a route allow.
func (v *Comparison) assumedSpan(span []float64, unit string, r *ComparedRoute) string {
	if len(span) < 2 || span[1]-span[0] < 0.005 {
		return v.Owner("unsure.blind")
	}
	return v.Owner("unsure.within", v.fixed(span[0], 2), v.fixed(span[1], 2)+unit, v.called(r))
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
				return v.Owner("minutes.same", v.called(first), v.called(second))
			}
			return v.Owner("breaks.same", v.Title(first), v.called(second))
		}
		if *x < *y {
			first, second = second, first
		}
		return v.Owner(by+"breaks.none", v.Title(second), v.called(first))
	}
	var out []string
	for k, c := range list {
		before, after := second, first
		if c.Second {
			before, after = first, second
		}
		at := v.fixed(math.Ceil(c.Size), 0)
		if k == 0 {
			out = append(out, v.Owner(by+"breaks.below", at, v.called(before)))
		}
		out = append(out, v.Owner("breaks.from", at, v.called(after)))
	}
	return strings.Join(out, " ")
}

// sure says at which batch sizes it is not sure which route is the cheaper one.
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
		if s.Sure {
			continue
		}
		from, to := strconv.Itoa(s.From), strconv.Itoa(s.To)
		switch {
		case len(a.Sure) == 1:
			return v.Owner("sure.none")
		case k == 0:
			parts = append(parts, v.Owner("sure.up", from, to))
		case k == len(a.Sure)-1:
			parts = append(parts, v.Owner("sure.on", from, to))
		default:
			parts = append(parts, v.Owner("sure.between", from, to))
		}
	}
	if len(parts) == 0 {
		return v.Owner("sure.all" + kind)
	}
	return v.Owner("sure.some"+kind, strings.Join(parts, v.Owner("and")))
}

func (v *Comparison) percent(x float64) string { return v.fixed(100*x, 1) + "\u00a0%" }

// marks are the decimal sign and what stands between thousands, by language (CLDR).
var marks = map[string][2]string{traveler.English: {".", ","}, "de": {",", "."}}

// fixed writes a number with so many digits after the decimal sign, and its thousands
// apart.
func (v *Comparison) fixed(x float64, digits int) string {
	sign, ok := marks[v.Language]
	if !ok {
		sign = marks[traveler.English]
	}
	s := strconv.FormatFloat(math.Abs(x), 'f', digits, 64)
	whole, rest, _ := strings.Cut(s, ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + sign[1] + whole[i:]
	}
	if rest != "" {
		whole += sign[0] + rest
	}
	if x < 0 && strings.Trim(s, "0.") != "" {
		whole = "−" + whole
	}
	return whole
}

// hours writes hours as a shop says them.
func (v *Comparison) hours(h float64) string {
	if h < 48 {
		return v.fixed(h, 1) + " h"
	}
	return v.fixed(h/24, 1) + " d"
}
