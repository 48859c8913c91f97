package stat_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"tallywalk/traveler/stat"
)

// Worked out with exact arithmetic: the probability with n and with n-1.
func TestStartQuantity(t *testing.T) {
	for _, c := range []struct {
		yield        float64
		wanted, want int
		with, before float64
	}{
		{.9, 10, 13, .9658, .8891},
		{.95, 20, 23, .9742, .9052},
		{.98, 50, 53, .9785, .9141},
		{.8, 5, 9, .9804, .9437},
		{.9, 100, 117, .9569, .9298},
	} {
		n, ok := stat.StartQuantity(c.wanted, c.yield, .95)
		if !ok || n != c.want {
			t.Errorf("%d wanted at %v: start %d (%v), want %d", c.wanted, c.yield, n, ok, c.want)
		}
		near(t, fmt.Sprint("chance with ", c.want), tail(c.want, c.wanted, c.yield), c.with, 5e-5)
		near(t, fmt.Sprint("chance with one less than ", c.want), tail(c.want-1, c.wanted, c.yield), c.before, 5e-5)
	}
}

// tail is P(Binomial(n, p) >= k), added up term by term.
func tail(n, k int, p float64) float64 {
	var sum float64
	for i := k; i <= n; i++ {
		a, _ := math.Lgamma(float64(n + 1))
		b, _ := math.Lgamma(float64(i + 1))
		c, _ := math.Lgamma(float64(n - i + 1))
		sum += math.Exp(a - b - c + float64(i)*math.Log(p) + float64(n-i)*math.Log(1-p))
	}
	return sum
}

func TestStartQuantityIsTheSmallest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		wanted := rapid.IntRange(1, 400).Draw(t, "wanted")
		yield := rapid.Float64Range(.05, .999).Draw(t, "yield")
		conf := rapid.Float64Range(.05, .999).Draw(t, "confidence")
		n, ok := stat.StartQuantity(wanted, yield, conf)
		if !ok || tail(n, wanted, yield) < conf-1e-9 {
			t.Fatalf("%d is too few", n)
		}
		if n > wanted && tail(n-1, wanted, yield) > conf+1e-9 {
			t.Fatalf("%d would do", n-1)
		}
	})
}

func TestStartQuantityAtTheEdges(t *testing.T) {
	if n, ok := stat.StartQuantity(7, 1, .95); n != 7 || !ok {
		t.Errorf("perfect yield: %d, %v", n, ok)
	}
	if n, ok := stat.StartQuantity(0, .5, .95); n != 0 || !ok {
		t.Errorf("nothing wanted: %d, %v", n, ok)
	}
	for _, y := range []float64{0, -1, 1.1, math.NaN(), 1e-12} {
		if n, ok := stat.StartQuantity(7, y, .95); ok {
			t.Errorf("yield %v: %d", y, n)
		}
	}
	if n, ok := stat.StartQuantity(7, .5, 1); ok {
		t.Errorf("certainty: %d", n)
	}
}

// Tompkins, Facilities Planning (from memory, worked out again): 97,000 parts
// through steps that scrap 4, 1 and 3 per cent.
func TestChainedStart(t *testing.T) {
	enter, ok := stat.ChainedStart(97_000, .04, .01, .03)
	if !ok || len(enter) != 3 {
		t.Fatal(enter, ok)
	}
	near(t, "third step", enter[2], 100_000, 1e-6)
	near(t, "second step", enter[1], 101_010.1, .05)
	near(t, "first step", enter[0], 105_218.9, .05)
	for _, scrap := range []float64{1, -.1, math.NaN()} {
		if enter, ok := stat.ChainedStart(10, scrap); ok {
			t.Errorf("scrap %v: %v", scrap, enter)
		}
	}
}

func ExampleStartQuantity() {
	n, ok := stat.StartQuantity(100, 0.9, 0.95)
	fmt.Println(n, ok)
	// Output: 117 true
}

func ExampleChainedStart() {
	enter, _ := stat.ChainedStart(97_000, .04, .01, .03)
	fmt.Printf("%.1f\n", enter)
	// Output: [105218.9 101010.1 100000.0]
}
