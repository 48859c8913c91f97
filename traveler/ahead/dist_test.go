package ahead

import (
	"math"
	"testing"
)

// The remission times of leukaemia patients on 6-MP (Freireich et al. 1963, the
// textbook example of the product-limit estimate; from memory): weeks 6 6 6 6+ 7 9+
// 10 10+ 11+ 13 16 17+ 19+ 20+ 22 23 25+ 32+ 32+ 34+ 35+. Survival after 6: .857, 7:
// .807, 10: .753, 13: .690, 16: .627, 22: .538, 23: .448.
func TestProductLimit(t *testing.T) {
	var all []seen
	for _, v := range []float64{6, 6, 6, -6, 7, -9, 10, -10, -11, 13, 16, -17, -19, -20, 22, 23, -25, -32,
		-32, -34, -35} {
		all = append(all, seen{math.Abs(v), v < 0})
	}
	d := rightCut(all)
	for at, left := range map[float64]float64{6: .857, 7: .807, 10: .753, 13: .690, 16: .627, 22: .538,
		23: .448} {
		below := 0.0
		for i := range d.at {
			if d.at[i] <= at {
				below = d.upTo[i]
			}
		}
		if math.Abs(1-below-left) > 5e-4 {
			t.Errorf("after %v: %.4f left, want %.3f", at, 1-below, left)
		}
	}
	// The same with time turned around is what is known to be shorter.
	for i := range all {
		all[i].v = 40 - all[i].v
	}
	r := leftCut(all)
	upTo := map[float64]float64{}
	for i := range r.at {
		upTo[r.at[i]] = max(upTo[r.at[i]], r.upTo[i])
	}
	if math.Abs(upTo[34]-1) > 1e-9 || math.Abs(upTo[33]-.857) > 5e-4 || math.Abs(upTo[17]-.538) > 5e-4 {
		t.Errorf("%v", r)
	}
}

// Conformal coverage by enumeration: of any seven values that come in any order, a
// new one lies at or below what the six before it say for 85 % in at least 85 % of
// all orders; exactly six of seven, since that is the least share that is enough.
func TestConformalByEnumeration(t *testing.T) {
	values := []float64{3, -2, 7, 1, 12, 5, 9}
	within := 0
	for last := range values {
		var before []seen
		for i, v := range values {
			if i != last {
				before = append(before, seen{v: v})
			}
		}
		if values[last] <= conformal(before, .85) {
			within++
		}
	}
	if within != 6 {
		t.Errorf("%d of 7 lie within, want 6", within)
	}
	// At 90 % six values are too few to be sure: the largest is all that can be said.
	if got := conformal([]seen{{v: 1}, {v: 2}, {v: 3}}, .9); got != 3 {
		t.Errorf("%v, want 3", got)
	}
	// One that is only known to be later counts as later.
	if got := conformal([]seen{{v: 1}, {v: 2}, {v: 3}, {2.5, true}, {3.5, true}, {4, true}, {5, true}},
		.5); got < 3 {
		t.Errorf("%v, want at least 3", got)
	}
}
