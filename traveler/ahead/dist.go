package ahead

import (
	"cmp"
	"math"
	"slices"
	"sort"
)

// dist is a distribution of what was seen, in seconds: sorted values with the
// share of all that lies at or below each.
type dist struct {
	at   []float64
	upTo []float64
	n    int // observations it is made of, censored ones included
}

// seen is one observation. One that is cut says only that the value is at most
// (left) or at least (right) that much.
type seen struct {
	v   float64
	cut bool
}

// known is the number of observations that are not cut.
func known(all []seen) (n int) {
	for _, s := range all {
		if !s.cut {
			n++
		}
	}
	return n
}

// rightCut is the distribution of values of which some are only known to be
// longer: the product-limit estimate (Kaplan and Meier 1958). What is left beyond
// the longest stays there.
func rightCut(all []seen) *dist {
	slices.SortFunc(all, func(a, b seen) int {
		if c := cmp.Compare(a.v, b.v); c != 0 {
			return c
		}
		return boolCompare(a.cut, b.cut) // at a tie the exact ones come first
	})
	d := &dist{n: len(all)}
	longer := 1.0
	for i, s := range all {
		if s.cut && i < len(all)-1 {
			continue
		}
		if s.cut {
			longer = 0
		} else {
			longer *= 1 - 1/float64(len(all)-i)
		}
		d.at, d.upTo = append(d.at, s.v), append(d.upTo, 1-longer)
	}
	return d
}

// leftCut is the distribution of values of which some are only known to be
// shorter: the same estimate with time turned around. What is left below the
// shortest counts as nothing.
func leftCut(all []seen) *dist {
	slices.SortFunc(all, func(a, b seen) int {
		if c := cmp.Compare(b.v, a.v); c != 0 {
			return c
		}
		return boolCompare(a.cut, b.cut)
	})
	d := &dist{n: len(all)}
	below := 1.0
	var at, upTo []float64
	for i, s := range all {
		if s.cut {
			continue
		}
		at, upTo = append(at, s.v), append(upTo, below)
		below *= 1 - 1/float64(len(all)-i)
	}
	if below > 1e-12 || len(at) == 0 {
		at, upTo = append(at, 0), append(upTo, below)
	}
	slices.Reverse(at)
	slices.Reverse(upTo)
	d.at, d.upTo = at, upTo
	return d
}

func boolCompare(a, b bool) int {
	switch {
	case a == b:
		return 0
	case b:
		return -1
	}
	return 1
}

// draw is the value at a level from 0 to 1.
func (d *dist) draw(u float64) float64 {
	if d == nil || len(d.at) == 0 {
		return 0
	}
	i := sort.SearchFloat64s(d.upTo, u)
	return d.at[min(i, len(d.at)-1)]
}

// drawAbove is the value at a level among those above x. Beyond all that was seen
// it is x and up to a quarter more: it may come at any moment, but not never.
func (d *dist) drawAbove(u, x float64) float64 {
	if x <= 0 {
		return d.draw(u)
	}
	i := 0
	if d != nil {
		i = sort.Search(len(d.at), func(i int) bool { return d.at[i] > x })
	}
	if d == nil || i == len(d.at) {
		return x * (1 + u/4)
	}
	below := 0.0
	if i > 0 {
		below = d.upTo[i-1]
	}
	return d.at[min(max(i, sort.SearchFloat64s(d.upTo, below+u*(1-below))), len(d.at)-1)]
}

// resid is how far single times lie from what is expected of them, as a factor.
type resid []float64

// draw is a factor at a level; 1 where nothing is known.
func (r resid) draw(u float64) float64 {
	if len(r) == 0 {
		return 1
	}
	return r[min(int(u*float64(len(r))), len(r)-1)]
}

// drawAbove is a factor at a level among those above x; beyond all that was seen
// up to a quarter more than x.
func (r resid) drawAbove(u, x float64) float64 {
	i := sort.SearchFloat64s(r, x)
	if i >= len(r) {
		return math.Max(x, 1e-9) * (1 + u/4)
	}
	return r[min(i+int(u*float64(len(r)-i)), len(r)-1)]
}
