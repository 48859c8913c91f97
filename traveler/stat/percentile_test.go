package stat_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"tallywalk/traveler/stat"
)

// Twelve measurements of NIST/SEMATECH e-Handbook 7.2.6.2.
func nistTwelve() []float64 {
	return slices.Sorted(slices.Values([]float64{95.1772, 95.1567, 95.1937, 95.1959, 95.1442, 95.0610,
		95.1591, 95.1195, 95.1065, 95.0925, 95.1990, 95.1682}))
}

func TestPercentile(t *testing.T) {
	xs := nistTwelve()
	// The handbook prints type 6; type 7 of the same values was worked out
	// with exact arithmetic.
	near(t, "P90", stat.Percentile(xs, .9), 95.19568, 5e-6)
	// Definitions 6 and 7 agree on the median; the handbook prints it.
	near(t, "P50", stat.Median(xs), 95.1579, 5e-5)
	near(t, "P0", stat.Percentile(xs, 0), 95.0610, 0)
	near(t, "P100", stat.Percentile(xs, 1), 95.1990, 0)
	// PERCENTILE.INC({1;2;3;4}; 0.3) in the spreadsheets' own manual is 1.9.
	near(t, "P30 of 1 2 3 4", stat.Percentile([]float64{1, 2, 3, 4}, .3), 1.9, 1e-12)
}

func TestPercentileOfNothing(t *testing.T) {
	for _, p := range []float64{-.1, 1.1, math.NaN()} {
		if got := stat.Percentile([]float64{1, 2}, p); !math.IsNaN(got) {
			t.Errorf("Percentile at %v = %v, want NaN", p, got)
		}
	}
	if got := stat.Median(nil); !math.IsNaN(got) {
		t.Errorf("median of nothing = %v, want NaN", got)
	}
	near(t, "median of one", stat.Median([]float64{3}), 3, 0)
}

func TestPercentileRises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		xs := rapid.SliceOfN(rapid.Float64Range(-1e6, 1e6), 1, 30).Draw(t, "values")
		slices.Sort(xs)
		p := rapid.Float64Range(0, 1).Draw(t, "p")
		q := rapid.Float64Range(p, 1).Draw(t, "q")
		a, b := stat.Percentile(xs, p), stat.Percentile(xs, q)
		if a > b+1e-9*(1+math.Abs(b)) {
			t.Fatalf("P%v = %v lies above P%v = %v", p, a, q, b)
		}
	})
}

func ExamplePercentile() {
	days := []float64{3, 4, 4, 5, 7, 9, 12, 30} // sorted
	fmt.Println(stat.Median(days), stat.Percentile(days, 0.8))
	// Output: 6 10.8
}

// NIST/SEMATECH Statistical Reference Datasets, NumAcc1: 10000001, 10000003,
// 10000002 have the standard deviation 1, certified.
func TestStandardDeviation(t *testing.T) {
	near(t, "NumAcc1", stat.StandardDeviation([]float64{10000001, 10000003, 10000002}), 1, 1e-12)
	near(t, "of one", stat.StandardDeviation([]float64{7}), 0, 0)
}
