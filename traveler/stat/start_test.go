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
		near(t, fmt.Sprint("chance with one less than ", c.want), tail(c.want-1, c.wanted, c.yield), c.before,
			5e-5)
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

func ExampleStartQuantity() {
	n, ok := stat.StartQuantity(100, 0.9, 0.95)
	fmt.Println(n, ok)
	// Output: 117 true
}

// Geissler's families of twelve children in Saxony: how many had so many boys,
// with the beta-binomial of alpha 34.09558 and beta 31.5715, as tables of the
// data give it (from memory of Lindsey and Altham, Applied Statistics 47, 1998,
// and of encyclopedias): expected numbers to one decimal, log-likelihood -12492.9.
func TestBetaBinomialOfFamilies(t *testing.T) {
	observed := []int{3, 24, 104, 286, 670, 1033, 1343, 1112, 829, 478, 181, 45, 7}
	expected := []float64{2.3, 22.6, 104.8, 310.9, 655.7, 1036.2, 1257.9, 1182.1, 853.6, 461.9, 177.9, 43.8,
		5.2}
	like := 0.0
	for k, n := range observed {
		l := stat.BetaBinomialLog(k, 12, 34.09558, 31.5715)
		like += float64(n) * l
		near(t, fmt.Sprint("families with boys: ", k), 6115*math.Exp(l), expected[k], 0.05)
	}
	near(t, "log-likelihood", like, -12492.9, 0.05)
	// With alpha and beta 1 all numbers are as likely (Bayes 1763).
	for k := range 8 {
		near(t, "of seven", stat.BetaBinomialLog(k, 7, 1, 1), math.Log(1.0/8), 1e-12)
	}
}

// Where batches hardly differ the start quantity is the binomial one; where they
// do it is larger; and the chance of what is given is not below what is asked.
func TestStartAllowsForBatches(t *testing.T) {
	var alike, unlike []stat.Share
	for i := range 60 {
		alike = append(alike, stat.Share{Count: 900, Of: 1000})
		unlike = append(unlike, stat.Share{Count: 900 + 60*(i%2*2-1), Of: 1000})
	}
	binomial, _ := stat.StartQuantity(300, .9, .95)
	same := stat.NextYieldOf(alike, stat.ShopSpreads([][]stat.Share{alike, alike, alike}))
	if n, ok := same.Start(300, .95); !ok || n < binomial || n > binomial+4 {
		t.Errorf("batches that are alike: start %d, one by one %d", n, binomial)
	}
	differ := stat.NextYieldOf(unlike, stat.ShopSpreads([][]stat.Share{unlike}))
	n, ok := differ.Start(300, .95)
	if !ok || n < 360 || n > 385 {
		t.Errorf("yields of .84 and .96: start %d", n)
	}
	if differ.AtLeast(n, 300) < .95 || differ.AtLeast(n-1, 300) >= .95 {
		t.Errorf("%d is not the fewest: %v", n, differ.AtLeast(n, 300))
	}
	near(t, "mean", differ.Mean(), .9, .005)
	if _, ok := (stat.NextYield{}).Start(10, .95); ok {
		t.Error("nothing is known, and a number is given")
	}
}
