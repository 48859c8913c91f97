package study

import "math"

// Point is what a route comes to at one batch size.
type Point struct {
	Size     int
	EachMin  float64 // machine minutes of a good piece
	EachCost float64
	Cost     float64
}

// Curve follows a route over batch sizes: pieces started, in order.
func (r *Route) Curve(sizes []int, c *Costs) []Point {
	out := make([]Point, len(sizes))
	for i, q := range sizes {
		x := r.Of(float64(q), c)
		out[i] = Point{q, x.EachMin, x.EachCost, x.Cost}
	}
	return out
}

// Crossing is a batch size from which on another route is the cheaper one.
type Crossing struct {
	Size float64 `json:"size"`
	// From there on, the second route is better; else the first.
	Second bool `json:"second"`
}

// Cost is what so many pieces come to. It need not be smooth: a set-up for each
// begun lot of 200 is a step.
type Cost func(pieces float64) float64

// Crossings finds where two costs cross between two sizes: by sign at whole
// sizes, then by halving between them. Where they cross by a step, the size of
// the step is given.
func Crossings(first, second Cost, from, to int) []Crossing {
	var out []Crossing
	diff := func(q float64) float64 { return first(q) - second(q) }
	last, at := diff(float64(from)), float64(from)
	for q := from + 1; q <= to; q++ {
		d := diff(float64(q))
		if d == 0 {
			continue // it is decided where they part again
		}
		if last != 0 && math.Signbit(d) != math.Signbit(last) {
			out = append(out, Crossing{halve(diff, at, float64(q)), d > 0})
		}
		last, at = d, float64(q)
	}
	return out
}

func halve(diff func(float64) float64, a, b float64) float64 {
	sign := math.Signbit(diff(a))
	for range 60 {
		m := (a + b) / 2
		if d := diff(m); d == 0 {
			return m
		} else if math.Signbit(d) == sign {
			a = m
		} else {
			b = m
		}
	}
	return b
}

// Breaks finds the batch sizes at which two routes cross by cost, or minutes, of
// a good piece.
func Breaks(a, b *Route, c *Costs, byMinutes bool, to int) []Crossing {
	each := func(r *Route) Cost {
		return func(q float64) float64 {
			x := r.Of(q, c)
			if byMinutes {
				return x.EachMin
			}
			return x.EachCost
		}
	}
	return Crossings(each(a), each(b), 1, to)
}

// Sizes are the batch sizes of a curve from 1 to a largest: every one while
// they are few, then ever wider apart.
func Sizes(to int) []int {
	var out []int
	for q := 1.0; q <= float64(to); q = math.Max(q+1, math.Ceil(q*1.02)) {
		out = append(out, int(q))
	}
	if n := len(out); n == 0 || out[n-1] != to {
		out = append(out, to)
	}
	return out
}
