package stat_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"tallywalk/traveler/stat"
)

// inSigma is a chart of points given in sigma from the centre.
func inSigma(zs ...float64) stat.Chart {
	c := stat.Chart{Values: zs, Sigma: make([]float64, len(zs))}
	for i := range c.Sigma {
		c.Sigma[i] = 1
	}
	return c
}

// The patterns as the Western Electric handbook draws them (as quoted by the
// NIST/SEMATECH e-Handbook 6.3.2), one at a time.
func TestSignals(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name string
		zs   []float64
		want []stat.Signal
	}{
		{"one above", []float64{0, 3.1, 0}, []stat.Signal{{Point: 1, Rule: stat.Beyond3, Above: true}}},
		{"one below", []float64{0, -3.1, 0}, []stat.Signal{{Point: 1, Rule: stat.Beyond3}}},
		{"on the limit is not beyond", []float64{3, -3}, nil},
		{"two of three", []float64{2.1, 0, 2.1}, []stat.Signal{{Point: 2, Rule: stat.TwoOf3, Above: true}}},
		{"two of four", []float64{2.1, 0, 0, 2.1}, nil},
		{"two of three on two sides", []float64{2.1, 0, -2.1}, nil},
		{"the third need not signal", []float64{2.1, 2.1, 0},
			[]stat.Signal{{Point: 1, Rule: stat.TwoOf3, Above: true}}},
		{"four of five", []float64{-1.1, -1.1, 0, -1.1, -1.1}, []stat.Signal{{Point: 4, Rule: stat.FourOf5}}},
		{"four of six", []float64{-1.1, -1.1, 0, 0, -1.1, -1.1}, nil},
		{"eight on a side", []float64{.5, .5, .5, .5, .5, .5, .5, .5},
			[]stat.Signal{{Point: 7, Rule: stat.RunOnSide, Above: true}}},
		{"the ninth too", []float64{.5, .5, .5, .5, .5, .5, .5, .5, .1},
			[]stat.Signal{{Point: 7, Rule: stat.RunOnSide, Above: true},
				{Point: 8, Rule: stat.RunOnSide, Above: true}}},
		{"the centre ends a run", []float64{.5, .5, .5, .5, 0, .5, .5, .5, .5}, nil},
		{"a gap does not", []float64{.5, .5, .5, .5, nan, .5, .5, .5, .5},
			[]stat.Signal{{Point: 8, Rule: stat.RunOnSide, Above: true}}},
		{"nothing", nil, nil},
	} {
		if got := inSigma(c.zs...).Signals(stat.WesternElectricRun); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
	eight := inSigma(.5, .5, .5, .5, .5, .5, .5, .5)
	if got := eight.Signals(stat.NelsonRun); got != nil {
		t.Errorf("eight on a side when nine are asked for: %v", got)
	}
	if got := eight.Signals(0); got != nil {
		t.Errorf("eight on a side when runs are left out: %v", got)
	}
}

// How long a process that has not changed goes without a signal. All four
// rules: 91.75 points (Champ and Woodall 1987, printed in the NIST/SEMATECH
// e-Handbook 6.3.2); 3 sigma alone: 370.4, one over the normal tails.
func TestRunLength(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(12, 34))
	near(t, "all four rules", meanRunLength(rng, 4000, stat.WesternElectricRun, nil), 91.75, 4)
	only := stat.Beyond3
	near(t, "beyond 3 sigma alone", meanRunLength(rng, 4000, 0, &only), 370.4, 18)
}

// meanRunLength is the mean number of points until the first signal.
func meanRunLength(rng *rand.Rand, rounds, run int, only *stat.Rule) float64 {
	points := 0
	for range rounds {
		zs := make([]float64, 0, 512)
		for first := -1; first < 0; {
			from := len(zs)
			for range 128 {
				zs = append(zs, rng.NormFloat64())
			}
			for _, s := range inSigma(zs...).Signals(run) {
				if s.Point >= from && (only == nil || s.Rule == *only) {
					first = s.Point
					break
				}
			}
			if first >= 0 {
				points += first + 1
			}
		}
	}
	return float64(points) / float64(rounds)
}

func ExampleChart_Signals() {
	c, _ := stat.PChart(
		[]stat.Share{{Count: 4, Of: 50}, {Count: 3, Of: 50}, {Count: 5, Of: 50}, {Count: 18, Of: 50},
			{Count: 2, Of: 50}})
	for _, s := range c.Signals(stat.WesternElectricRun) {
		fmt.Println("point", s.Point+1, "of", len(c.Values), "-", s.Rule)
	}
	// Output: point 4 of 5 - one beyond 3 sigma
}
