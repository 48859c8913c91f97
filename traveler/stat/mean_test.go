package stat_test

import (
	"fmt"
	"math"
	"math/rand/v2"
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

func TestMeanIntervalLog(t *testing.T) {
	logs := sleep()
	xs := make([]float64, len(logs))
	for i := range logs {
		xs[i] = math.Exp(logs[i])
	}
	in, ok := stat.MeanIntervalLog(xs, .95)
	if !ok {
		t.Fatal("no interval")
	}
	nearInterval(t, "exp of sleep", in, math.Exp(.7001142), math.Exp(2.4598858), 1e-6)
	near(t, "geometric mean", stat.GeometricMean(xs), math.Exp(1.58), 1e-9)
}

func TestMeanIntervalOfTooLittle(t *testing.T) {
	in, ok := stat.MeanInterval([]float64{1}, .95)
	isNone(t, "one value", in, ok)
	in, ok = stat.MeanInterval(sleep(), 1)
	isNone(t, "certainty", in, ok)
	in, ok = stat.MeanIntervalLog([]float64{1, 0, 2}, .95)
	isNone(t, "logarithm of 0", in, ok)
	in, ok = stat.MeanIntervalLog(nil, .95)
	isNone(t, "nothing", in, ok)
	if g := stat.GeometricMean([]float64{1, -1}); !math.IsNaN(g) {
		t.Errorf("geometric mean of 1 and -1 = %v, want NaN", g)
	}
}

// The mouse data of Efron and Tibshirani, An Introduction to the Bootstrap
// (1993), table 2.1, control group; chapter 12 prints the 90 % bootstrap-t
// interval 35.82 to 116.74 from 1,000 resamples (numbers from memory), which
// leaves a few units of chance in the long tail.
func mice() []float64 { return []float64{52, 104, 146, 10, 51, 30, 40, 27, 46} }

func TestBootstrapMeanInterval(t *testing.T) {
	in, ok := stat.BootstrapMeanInterval(mice(), .9, 20_000, rand.New(rand.NewPCG(1, 2)))
	if !ok {
		t.Fatal("no interval")
	}
	near(t, "low", in.Low, 35.82, 2)
	near(t, "high", in.High, 116.74, 12)
	again, _ := stat.BootstrapMeanInterval(mice(), .9, 20_000, rand.New(rand.NewPCG(1, 2)))
	if in != again {
		t.Errorf("same seed gave %v and %v", in, again)
	}
}

// For skewed times the studentised bootstrap must hold the mean more often
// than Student's interval, which is why it is there.
func TestBootstrapCoversSkewedMeans(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(3, 5))
	truth := math.Exp(.5)
	const rounds = 1000
	student, boot := 0, 0
	for range rounds {
		xs := make([]float64, 12)
		for i := range xs {
			xs[i] = math.Exp(rng.NormFloat64())
		}
		if in, _ := stat.MeanInterval(xs, .95); in.Holds(truth) {
			student++
		}
		if in, _ := stat.BootstrapMeanInterval(xs, .95, 400, rng); in.Holds(truth) {
			boot++
		}
	}
	t.Logf("held the mean: Student %d, studentised bootstrap %d of %d", student, boot, rounds)
	if boot <= student || boot < rounds*90/100 {
		t.Errorf("held the mean: Student %d, studentised bootstrap %d of %d", student, boot, rounds)
	}
}

func TestBootstrapOfTooLittle(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	in, ok := stat.BootstrapMeanInterval([]float64{1, 2, 3, 4}, .95, 1000, rng)
	isNone(t, "four values", in, ok)
	in, ok = stat.BootstrapMeanInterval(mice(), .95, 10, rng)
	isNone(t, "ten resamples", in, ok)
	in, ok = stat.BootstrapMeanInterval(mice(), .95, 1000, nil)
	isNone(t, "no source of chance", in, ok)
	in, ok = stat.BootstrapMeanInterval([]float64{.1, .1, .1, .1, .1}, .95, 1000, rng)
	if !ok || in.High-in.Low > 1e-15 {
		t.Errorf("five equal values: %v, %v", in, ok)
	}
	if _, _, ok := stat.BootstrapMeanAll(make([]float64, 8)); ok {
		t.Error("went through 8^8 resamples")
	}
}

// All 27 resamples of 1, 2, 6 by hand: mean 3, standard error sqrt(14/9).
func TestBootstrapMeanAll(t *testing.T) {
	mean, se, ok := stat.BootstrapMeanAll([]float64{1, 2, 6})
	if !ok {
		t.Fatal("refused")
	}
	near(t, "mean", mean, 3, 1e-12)
	near(t, "standard error", se, 1.24722, 5e-6)
	near(t, "standard error", se, math.Sqrt(14.0/9), 1e-12)
	// The plug-in formula, sqrt(sum of squares)/n, is the same number.
	_, se, _ = stat.BootstrapMeanAll(sleep()[:6])
	near(t, "six values", se, math.Sqrt(2.94)/6, 1e-12)
}

func ExampleMeanInterval() {
	in, ok := stat.MeanInterval([]float64{2.9, 3.1, 3.4, 2.8, 3.3}, 0.95)
	fmt.Printf("%.2f to %.2f, %v\n", in.Low, in.High, ok)
	// Output: 2.78 to 3.42, true
}

func ExampleMeanIntervalLog() {
	in, ok := stat.MeanIntervalLog([]float64{2, 3, 3, 5, 20}, 0.95)
	fmt.Printf("%.1f to %.1f, %v\n", in.Low, in.High, ok)
	// Output: 1.5 to 13.6, true
}

func ExampleBootstrapMeanInterval() {
	rng := rand.New(rand.NewPCG(1, 2))
	in, ok := stat.BootstrapMeanInterval([]float64{2, 3, 3, 5, 20, 4, 3}, 0.95, 2000, rng)
	fmt.Println(in.Low < 40.0/7 && 40.0/7 < in.High, ok)
	// Output: true true
}

// The band for a whole line: of Kutner, Nachtsheim, Neter and Li, Applied Linear
// Statistical Models (5th ed., the Toluca company, from memory): W^2 = 2 F(.90; 2,
// 23) = 2 x 2.549 = 5.098, W = 2.258. With one parameter it is Student's t.
func TestBandOfALine(t *testing.T) {
	near(t, "W of Toluca", stat.BandQuantile(.90, 2, 23), 2.258, 5e-4)
	near(t, "one parameter", stat.BandQuantile(.95, 1, 10), stat.TQuantile(.975, 10), 1e-6)
}
