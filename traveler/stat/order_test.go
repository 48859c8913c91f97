package stat_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"tallywalk/traveler/stat"
)

func upTo(n int) []float64 {
	xs := make([]float64, n)
	for i := range xs {
		xs[i] = float64(i + 1)
	}
	return xs
}

// A statistics textbook's table A.7, confidence intervals for the population
// median; the rows for 50 and 100 are the widely printed ones of Gardner and
// Altman, Statistics with Confidence, from memory. The ranks are the values.
func TestMedianInterval(t *testing.T) {
	for _, c := range []struct {
		n, low, high int
		conf         float64 // asked for
		reached      float64 // as printed, per cent
	}{
		{5, 1, 5, .90, 93.8}, {6, 1, 6, .95, 96.9}, {7, 1, 7, .95, 98.4}, {8, 1, 8, .95, 99.2},
		{9, 2, 8, .95, 96.1}, {10, 2, 9, .95, 97.9}, {11, 2, 10, .95, 98.8}, {12, 3, 10, .95, 96.1},
		{15, 4, 12, .95, 96.5}, {16, 4, 13, .95, 97.9}, {17, 5, 13, .95, 95.1}, {20, 6, 15, .95, 95.9},
		{20, 5, 16, .98, 98.8}, {50, 18, 33, .95, 96.7}, {100, 40, 61, .95, 96.5},
	} {
		in, ok := stat.MedianInterval(upTo(c.n), c.conf)
		if !ok || int(in.Low) != c.low || int(in.High) != c.high {
			t.Errorf("n = %d: ranks %v to %v (%v), want %d to %d", c.n, in.Low, in.High, ok, c.low, c.high)
		}
		near(t, fmt.Sprint("confidence reached, n = ", c.n), 100*in.Conf, c.reached, .051)
	}
}

func TestTooFewForAnInterval(t *testing.T) {
	in, ok := stat.MedianInterval(upTo(5), .95)
	isNone(t, "median of five at 95 %", in, ok)
	in, ok = stat.MedianInterval(upTo(5), .9375)
	if !ok || in.Conf != .9375 {
		t.Errorf("five values reach %v (%v), want exactly 93.75 %%", in.Conf, ok)
	}
	// The highest of n lies above P95 with 1-.95^n, so 97.5 % need 72.
	in, ok = stat.QuantileInterval(upTo(71), .95, .95)
	isNone(t, "P95 of 71", in, ok)
	if _, ok = stat.QuantileInterval(upTo(72), .95, .95); !ok {
		t.Error("P95 of 72 has no interval")
	}
	for _, p := range []float64{0, 1, -1, math.NaN()} {
		in, ok = stat.QuantileInterval(upTo(100), p, .95)
		isNone(t, fmt.Sprint("quantile ", p), in, ok)
		in, ok = stat.MedianInterval(upTo(100), p)
		isNone(t, fmt.Sprint("confidence ", p), in, ok)
	}
}

// An interval that promises 90 % must hold the true P80 that often, and both
// misses at most 5 %; only simulation knows the truth.
func TestQuantileIntervalCovers(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 11))
	truth := math.Log(5) // of the exponential distribution
	below, above := 0, 0
	const rounds = 4000
	for range rounds {
		xs := make([]float64, 40)
		for i := range xs {
			xs[i] = rng.ExpFloat64()
		}
		slices.Sort(xs)
		in, _ := stat.QuantileInterval(xs, .8, .9)
		if truth < in.Low {
			below++
		}
		if truth > in.High {
			above++
		}
	}
	if below > rounds*6/100 || above > rounds*6/100 || below == 0 || above == 0 {
		t.Errorf("missed %d times below and %d above of %d", below, above, rounds)
	}
}

func ExampleMedianInterval() {
	days := []float64{3, 4, 4, 5, 7, 9, 12, 30}
	in, ok := stat.MedianInterval(days, 0.95)
	fmt.Printf("%v to %v, %.1f %%, %v\n", in.Low, in.High, 100*in.Conf, ok)
	// Output: 3 to 30, 99.2 %, true
}
