package stat_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"tallywalk/traveler/stat"
)

// Hollander and Wolfe, Nonparametric Statistical Methods (1973), table 4.1,
// permeability of membranes at term and earlier: W = 35, one-sided p .1272.
func membranes() (x, y []float64) {
	return []float64{.80, .83, 1.89, 1.04, 1.45, 1.38, 1.91, 1.64, .73, 1.46},
		[]float64{1.15, .88, .90, .74, 1.21}
}

func TestMannWhitneyExact(t *testing.T) {
	x, y := membranes()
	r, ok := stat.MannWhitney(x, y)
	if !ok || !r.Exact || r.U != 35 {
		t.Fatal(r, ok)
	}
	near(t, "p", r.P, .2544, 5e-5)
	back, _ := stat.MannWhitney(y, x)
	if back.U != 15 || back.P != r.P {
		t.Errorf("the other way round: %+v", back)
	}
}

// R's data set airquality, ozone in May and August; ?wilcox.test prints
// W = 127.5, p-value = .0001208, by the normal approximation because of ties.
func TestMannWhitneyWithTies(t *testing.T) {
	may := []float64{41, 36, 12, 18, 28, 23, 19, 8, 7, 16, 11, 14, 18, 14, 34, 6, 30, 11, 1, 11, 4, 32, 23,
		45, 115, 37}
	august := []float64{39, 9, 16, 78, 35, 66, 122, 89, 110, 44, 28, 65, 22, 59, 23, 31, 44, 21, 9, 45, 168,
		73, 76, 118, 84, 85}
	r, ok := stat.MannWhitney(may, august)
	if !ok || r.Exact || r.U != 127.5 {
		t.Fatal(r, ok)
	}
	near(t, "p", r.P, .0001208, 5e-8)
}

// The smallest p values that tables of the rank sum give, two-sided: 2/C(m+n, m).
func TestMannWhitneyFarApart(t *testing.T) {
	for _, c := range []struct{ m, n, orders int }{{3, 3, 20}, {4, 4, 70}, {5, 5, 252}, {10, 5, 3003}} {
		x, y := upTo(c.m), upTo(c.n)
		for i := range x {
			x[i] += 100
		}
		r, _ := stat.MannWhitney(x, y)
		near(t, fmt.Sprint(c), r.P, 2/float64(c.orders), 1e-12)
	}
}

func TestMannWhitneyAtTheEdges(t *testing.T) {
	if r, ok := stat.MannWhitney(nil, []float64{1}); ok || !math.IsNaN(r.P) {
		t.Error("nothing against one:", r, ok)
	}
	if r, ok := stat.MannWhitney([]float64{1, 1}, []float64{1, 1, 1}); !ok || r.P != 1 {
		t.Error("all the same:", r, ok)
	}
	x, y := upTo(60), upTo(61)
	if r, ok := stat.MannWhitney(x, y); !ok || r.Exact || !(r.P > .8) {
		t.Error("many, nearly the same:", r, ok)
	}
}

// Against all orders, one by one.
func TestMannWhitneyCountsOrders(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := rapid.Permutation(upTo(8)).Draw(t, "order")
		m := rapid.IntRange(1, 7).Draw(t, "first")
		r, _ := stat.MannWhitney(all[:m], all[m:])
		low, high, orders := 0, 0, 0
		for mask := range 1 << 8 {
			u, k := beats(mask)
			if k != m {
				continue
			}
			orders++
			if u <= int(r.U) {
				low++
			}
			if u >= int(r.U) {
				high++
			}
		}
		want := min(1, 2*float64(min(low, high))/float64(orders))
		if math.Abs(r.P-want) > 1e-12 {
			t.Fatalf("p = %v, want %v", r.P, want)
		}
	})
}

// beats counts, of the ranks in mask against those not in it, how many pairs
// the first win, and how many ranks are in it.
func beats(mask int) (u, k int) {
	others := 0
	for bit := range 8 {
		if mask&(1<<bit) == 0 {
			others++
			continue
		}
		u += others
		k++
	}
	return u, k
}

func ExampleMannWhitney() {
	old, improved := []float64{31, 28, 40, 35, 33}, []float64{25, 27, 30, 22, 26}
	r, _ := stat.MannWhitney(old, improved)
	fmt.Printf("p = %.4f\n", r.P)
	// Output: p = 0.0159
}
