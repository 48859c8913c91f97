package stat_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"tallywalk/traveler/stat"
)

// NIST/SEMATECH e-Handbook 6.3.2.2, flow rate of ten batches.
func flow() []float64 {
	return []float64{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}
}

func TestIndividuals(t *testing.T) {
	c, ok := stat.Individuals(flow())
	if !ok {
		t.Fatal("no chart")
	}
	near(t, "centre", c.Centre, 50.81, 1e-9)
	near(t, "upper limit", c.High[0], 55.8041, 5e-5)
	near(t, "lower limit", c.Low[9], 45.8159, 5e-5)
	if s := c.Signals(stat.WesternElectricRun); len(s) != 0 {
		t.Errorf("the handbook finds the process in control, we %v", s)
	}
	mr, ok := stat.MovingRanges(flow())
	if !ok || len(mr.Values) != 9 {
		t.Fatal(mr, ok)
	}
	near(t, "mean moving range", mr.Centre, 1.8778, 5e-5)
	near(t, "upper limit of the ranges", mr.High[0], 6.1347, 5e-5)
	near(t, "lower limit of the ranges", mr.Low[0], 0, 0)
}

func TestChartOfTooLittle(t *testing.T) {
	if c, ok := stat.Individuals([]float64{1}); ok {
		t.Error("one value:", c)
	}
	if c, ok := stat.MovingRanges(nil); ok {
		t.Error("no ranges:", c)
	}
	c, ok := stat.Individuals([]float64{2, 2, 2})
	if !ok || c.High[0] != 2 || len(c.Signals(stat.NelsonRun)) != 0 {
		t.Error("no spread:", c, ok)
	}
}

// Orange-juice cans, 50 a sample, faulty ones: Montgomery, Introduction to
// Statistical Quality Control, and the NIST/SEMATECH e-Handbook 6.3.3.2.
func cans() []stat.Share {
	return samples(50, 12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22, 8, 10, 5, 13, 11, 20, 18, 24, 15,
		9, 12, 7, 13, 9, 6)
}

func samples(of int, counts ...int) []stat.Share {
	out := make([]stat.Share, len(counts))
	for i, n := range counts {
		out[i] = stat.Share{Count: n, Of: of}
	}
	return out
}

func TestPChartOfCans(t *testing.T) {
	c, ok := stat.PChart(cans())
	if !ok {
		t.Fatal("no chart")
	}
	near(t, "p-bar", c.Centre, .2313, 5e-5)
	near(t, "upper limit", c.High[0], .4102, 5e-5)
	near(t, "lower limit", c.Low[0], .0524, 5e-5)
	var out []int
	for _, s := range c.Signals(0) {
		if s.Rule == stat.Beyond3 {
			out = append(out, s.Point+1)
		}
	}
	if !slices.Equal(out, []int{15, 23}) {
		t.Errorf("samples %v are out, want 15 and 23", out)
	}
	rest := slices.Delete(slices.Delete(cans(), 22, 23), 14, 15)
	c, _ = stat.PChart(rest)
	near(t, "p-bar without them", c.Centre, .2150, 5e-5)
	near(t, "upper limit without them", c.High[0], .3893, 5e-5)
	near(t, "lower limit without them", c.Low[0], .0407, 5e-5)
}

// The public data set Circuits, 500 a sample; limits worked out with exact
// arithmetic.
func TestPChartOfCircuits(t *testing.T) {
	c, _ := stat.PChart(
		samples(500, 5, 6, 11, 6, 4, 9, 17, 10, 12, 9, 8, 7, 7, 15, 8, 18, 12, 16, 4, 7, 17, 12, 8, 7, 15, 6,
			8, 12, 7, 9))
	near(t, "p-bar", c.Centre, .019467, 5e-7)
	near(t, "upper limit", c.High[0], .038003, 5e-7)
	near(t, "lower limit", c.Low[0], .000931, 5e-7)
	for _, s := range c.Signals(0) {
		if s.Rule == stat.Beyond3 {
			t.Errorf("sample %d is out", s.Point+1)
		}
	}
}

func TestPChartWithGapsAndSizes(t *testing.T) {
	c, ok := stat.PChart([]stat.Share{{Count: 1, Of: 100}, {}, {Count: 3, Of: 400}})
	if !ok || !math.IsNaN(c.Values[1]) || !math.IsNaN(c.High[1]) {
		t.Fatal(c, ok)
	}
	// p = 4/500; three sigma of 400 is half of three sigma of 100.
	near(t, "limit of 100", c.High[0], .008+.3*math.Sqrt(.008*.992), 1e-12)
	near(t, "limit of 400", c.High[2], .008+.15*math.Sqrt(.008*.992), 1e-12)
	near(t, "lower limit", c.Low[0], 0, 0)
	for _, bad := range [][]stat.Share{nil, {{}}, {{Count: 2, Of: 1}}} {
		if c, ok := stat.PChartBetween(bad); ok {
			t.Errorf("chart of %v: %v", bad, c)
		}
	}
}

// Laney (2002): with equal samples the p' chart is the individuals chart of
// the parts. The latter is tied to the handbook above.
func TestPChartBetweenIsIndividualsForEqualSamples(t *testing.T) {
	wide, ok := stat.PChartBetween(cans())
	if !ok || !(wide.Spread > 1) {
		t.Fatal(wide.Spread, ok)
	}
	parts := make([]float64, 0, 30)
	for _, s := range cans() {
		parts = append(parts, s.Part())
	}
	single, _ := stat.Individuals(parts)
	near(t, "centre", wide.Centre, single.Centre, 1e-12)
	near(t, "upper limit", wide.High[0], single.High[0], 1e-12)
}

// Batches that differ by more than chance: plain limits cry wolf, widened ones
// do not; and where batches do not differ, both are nearly the same.
func TestPChartBetweenKeepsQuiet(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 9))
	bad := func(rho float64) []stat.Share {
		out := betaBatches(rng, 400, .9, rho)
		for i := range out {
			out[i].Count = out[i].Of - out[i].Count
		}
		return out
	}
	spread := bad(.2)
	plain, _ := stat.PChart(spread)
	wide, _ := stat.PChartBetween(spread)
	if a, b := len(beyond3(plain)), len(beyond3(wide)); a < 25 || b > 10 {
		t.Errorf("of 400 batches with spread %d signal without widening, %d with", a, b)
	}
	even, _ := stat.PChartBetween(bad(.0001))
	near(t, "widening without spread", even.Spread, 1, .1)
}

func beyond3(c stat.Chart) (out []stat.Signal) {
	for _, s := range c.Signals(0) {
		if s.Rule == stat.Beyond3 {
			out = append(out, s)
		}
	}
	return out
}

func ExampleIndividuals() {
	c, _ := stat.Individuals([]float64{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1})
	fmt.Printf("%.2f, limits %.4f and %.4f\n", c.Centre, c.Low[0], c.High[0])
	// Output: 50.81, limits 45.8159 and 55.8041
}

func ExamplePChartBetween() {
	faulty := []stat.Share{{Count: 1, Of: 50}, {Count: 9, Of: 60}, {Count: 0, Of: 40}, {Count: 12, Of: 50},
		{Count: 1, Of: 50}}
	c, _ := stat.PChartBetween(faulty)
	fmt.Printf("widened by %.1f: %d signals\n", c.Spread, len(c.Signals(stat.NelsonRun)))
	// Output: widened by 4.0: 0 signals
}
