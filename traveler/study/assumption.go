package study

import (
	"cmp"
	"math"
	"slices"

	"tallywalk/traveler"
)

// Assumption is how much one uncertain figure of a route moves what the route
// comes to, when it alone goes from its low to its high.
type Assumption struct {
	Operation traveler.Op
	What      string // setup, piece, yield, wait
	Value     Value
	Low, High float64 // what the route comes to then
}

// Swing is how far the outcome moves.
func (a *Assumption) Swing() float64 { return math.Abs(a.High - a.Low) }

// Assumptions lists what is uncertain of a route, what matters most first.
func (r *Route) Assumptions(size float64, c *Costs, figure Figure) []Assumption {
	var out []Assumption
	for k := range r.Steps {
		for _, x := range []struct {
			what string
			of   func(*Step) *Value
		}{
			{"setup", func(s *Step) *Value { return &s.SetUp }},
			{"piece", func(s *Step) *Value { return &s.Piece }},
			{"yield", func(s *Step) *Value { return &s.Yield }},
		} {
			v := *x.of(&r.Steps[k])
			if !v.Spread() {
				continue
			}
			out = append(out, Assumption{
				r.Steps[k].Operation, x.what, v, r.with(k, x.of, v.Low, size, c, figure),
				r.with(k, x.of, v.High, size, c, figure),
			})
		}
	}
	slices.SortStableFunc(out, func(a, b Assumption) int { return cmp.Compare(b.Swing(), a.Swing()) })
	return out
}

// with works the figure out with one value changed.
func (r *Route) with(k int, of func(*Step) *Value, x, size float64, c *Costs, figure Figure) float64 {
	n := *r
	n.Steps = slices.Clone(r.Steps)
	of(&n.Steps[k]).Likely = x
	res := n.Of(size, c)
	return figure(&res)
}
