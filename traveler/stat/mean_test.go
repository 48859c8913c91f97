package stat_test

import (
	"fmt"
	"math"
	"testing"

	"tallywalk/traveler/stat"
)

// Student's sleep differences (Student 1908; R's data set sleep): R prints the
// interval .7001142 to 2.4598858 for the mean 1.58.
func sleep() []float64 { return []float64{1.2, 2.4, 1.3, 1.3, 0, 1, 1.8, .8, 4.6, 1.4} }

func TestMeanInterval(t *testing.T) {
	in, ok := stat.MeanInterval(sleep(), .95)
	if !ok {
		t.Fatal("no interval")
	}
	nearInterval(t, "sleep", in, .7001142, 2.4598858, 5e-8)
}

// NIST/SEMATECH e-Handbook 1.3.5.2, data ZARR13: 195 values of mean 9.261460
// and deviation .022789 give 9.258242 to 9.264679. Any values with these two
// moments must give the same interval, so two heaps are enough.
func TestMeanIntervalOfTheHandbook(t *testing.T) {
	xs := make([]float64, 195)
	for i := range xs {
		xs[i] = []float64{-1, 1}[i%2]
	}
	xs[194] = 0 // mean 0, deviation 1
	for i := range xs {
		xs[i] = 9.261460 + .022789*xs[i]
	}
	in, _ := stat.MeanInterval(xs, .95)
	nearInterval(t, "ZARR13", in, 9.258242, 9.264679, 2e-6)
}

func TestMeanIntervalOfTooLittle(t *testing.T) {
	in, ok := stat.MeanInterval([]float64{1}, .95)
	isNone(t, "one value", in, ok)
	in, ok = stat.MeanInterval(sleep(), 1)
	isNone(t, "certainty", in, ok)
	if g := stat.GeometricMean([]float64{1, -1}); !math.IsNaN(g) {
		t.Errorf("geometric mean of 1 and -1 = %v, want NaN", g)
	}
}

func ExampleMeanInterval() {
	in, ok := stat.MeanInterval([]float64{2.9, 3.1, 3.4, 2.8, 3.3}, 0.95)
	fmt.Printf("%.2f to %.2f, %v\n", in.Low, in.High, ok)
	// Output: 2.78 to 3.42, true
}

// The band for a whole line: of Kutner, Nachtsheim, Neter and Li, Applied Linear
// Statistical Models (5th ed., the Toluca company, from memory): W^2 = 2 F(.90; 2,
// 23) = 2 x 2.549 = 5.098, W = 2.258. With one parameter it is Student's t.
func TestBandOfALine(t *testing.T) {
	near(t, "W of Toluca", stat.BandQuantile(.90, 2, 23), 2.258, 5e-4)
	near(t, "one parameter", stat.BandQuantile(.95, 1, 10), stat.TQuantile(.975, 10), 1e-6)
}
