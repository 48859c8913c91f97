package study

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// crowded is the part of its open time from which a work centre's queue is worth
// a warning.
const crowded = 0.85

// Notes say what a comparison rests on and what it leaves out; what someone
// should look at first comes first.
func Notes(v *Comparison) []Sentence {
	out := []Sentence{}
	for i := range v.Against {
		out = append(out, v.centreNotes(i)...)
	}
	out = append(out, v.leadNote()...)
	if v.Costs.Labour == 0 {
		out = append(out, Sentence{About: "labour", Route: -1, Warn: true, Say: v.Owner("note.labour")})
	}
	for i := range v.Routes {
		out = append(out, v.routeNotes(i)...)
	}
	for i := range v.Routes {
		if r := &v.Routes[i]; len(r.Assumptions) > 0 && r.Assumptions[0].Low != nil &&
			r.Assumptions[0].High != nil {
			a := &r.Assumptions[0]
			low, high := math.Min(*a.Low, *a.High), math.Max(*a.Low, *a.High)
			out = append(
				out,
				Sentence{
					About: "assumption", Route: i,
					Say: v.Owner(
						"note.assumption", v.Title(r), a.Operation.String(), v.Owner("what."+a.What),
						v.fixed(low, 2),
						v.fixed(high, 2),
					),
				},
			)
		}
	}
	if c := &v.Clamping; c.Known {
		out = append(
			out,
			Sentence{
				About: "clamping", Route: -1,
				Say: v.Owner(
					"note.clamping", v.percent(c.Loss.Likely), v.percent(c.Loss.Low), v.percent(c.Loss.High),
					strconv.Itoa(c.Batches), strconv.Itoa(c.Parts),
				),
			},
		)
	}
	for _, name := range []string{"caution", "intervals", "lead"} {
		out = append(out, Sentence{About: name, Route: -1, Say: v.Owner("note."+name, strconv.Itoa(v.Few))})
	}
	return out
}

// centreNotes warn where a route makes a queue grow.
func (v *Comparison) centreNotes(i int) (out []Sentence) {
	a, first, second := &v.Against[i], &v.Routes[0], &v.Routes[i+1]
	demand := v.fixed(math.Round(v.Demand), 0)
	for _, c := range a.Centres {
		if c.Then == nil || c.First == nil || *c.Then < crowded || *c.Then <= *c.First+0.005 {
			continue
		}
		s := Sentence{About: "centre", Route: i + 1, Warn: true}
		if c.QueueThen == nil {
			s.Say = v.Owner("note.centre", v.Title(second), string(c.WorkCentre), v.percent(*c.Then), demand)
		} else {
			s.Say = v.Owner(
				"note.full", v.Title(second), string(c.WorkCentre), v.percent(*c.Then), demand,
				v.percent(*c.First),
				v.called(first), v.hours(*c.QueueThen/60),
			)
		}
		out = append(out, s)
	}
	return out
}

// leadNote warns where a lead time that was measured stands beside one that was
// added up: waits add up to less than batches really take.
func (v *Comparison) leadNote() []Sentence {
	var measured, added []string
	for i := range v.Routes {
		if r := &v.Routes[i]; r.Result.LeadIs == Measured {
			measured = append(measured, v.Owner("note.lead.of", v.called(r), v.hours(r.Result.AddedH)))
		} else {
			added = append(added, v.called(r))
		}
	}
	if len(measured) == 0 || len(added) == 0 {
		return nil
	}
	and := v.Owner("and")
	return []Sentence{
		{
			About: "lead-mixed", Route: -1, Warn: true,
			Say: v.Owner("note.lead-mixed", strings.Join(added, and), strings.Join(measured, and)),
		},
	}
}

// routeNotes say what a route's values rest on.
func (v *Comparison) routeNotes(i int) (out []Sentence) {
	r := &v.Routes[i]
	add := func(about string, warn bool, args ...string) {
		out = append(
			out,
			Sentence{
				About: about, Route: i, Warn: warn,
				Say: v.Owner("note."+about, append([]string{v.Title(r)}, args...)...),
			},
		)
	}
	guessed := r.guessed()
	switch {
	case r.Sources()[Measured] == 0:
		add("guessed", true)
	case r.Batches == 0:
		add("unrun", true, strconv.Itoa(guessed))
	case r.Batches < v.Few:
		add("few", true, strconv.Itoa(r.Batches), strconv.Itoa(v.Few))
	case r.Batches < v.FewInterval:
		add("few-interval", true, strconv.Itoa(r.Batches), strconv.Itoa(v.FewInterval))
	case guessed > 0:
		add("partly", false, strconv.Itoa(guessed))
	}
	if len(r.Sizes) == 2 && r.Batches >= v.Few && (v.Size < r.Sizes[0] || v.Size > r.Sizes[1]) {
		add("sizes", true, strconv.Itoa(r.Sizes[0]), strconv.Itoa(r.Sizes[1]), strconv.Itoa(v.Size))
	}
	if names := r.Result.Unrated; len(names) > 0 {
		var list []string
		for _, wc := range names {
			list = append(list, string(wc))
		}
		add("unrated", true, strings.Join(list, ", "))
	}
	if v.Good > 0 && r.Start == nil {
		add("start", true, strconv.Itoa(v.Good))
	}
	return out
}

// guessed counts the set-up times, piece times and yields that are not measured.
func (r *ComparedRoute) guessed() int {
	from := r.Sources()
	return from[Planned] + from[Assumed]
}

// Sources counts where set-up times, piece times and yields come from.
func (r *ComparedRoute) Sources() map[Source]int {
	from := map[Source]int{}
	for k := range r.Steps {
		if s := &r.Steps[k]; !s.Outside {
			from[s.SetUp.Source]++
			from[s.Piece.Source]++
			from[s.Yield.Source]++
		}
	}
	return from
}

// RestsOn says how many batches a route rests on, and how many of its values
// are planned or assumed.
func (r *ComparedRoute) RestsOn() string {
	from := r.Sources()
	return fmt.Sprintf("%d / %d / %d", r.Batches, from[Planned], from[Assumed])
}
