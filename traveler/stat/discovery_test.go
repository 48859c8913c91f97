package stat_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"tallywalk/traveler/stat"
)

// Benjamini and Hochberg, J. R. Statist. Soc. B 57 (1995) 289, section 4.1
// (from memory): of fifteen tests the first four are flagged at 5 %.
func fifteen() []float64 {
	return []float64{.0001, .0004, .0019, .0095, .0201, .0278, .0298, .0344, .0459, .3240, .4262, .5719,
		.6528, .7590, 1}
}

func TestBenjaminiHochberg(t *testing.T) {
	for i, flag := range stat.BenjaminiHochberg(fifteen(), .05) {
		if flag != (i < 4) {
			t.Errorf("test %d: %v", i+1, flag)
		}
	}
	adjusted := stat.AdjustedP(fifteen())
	// The fourth is compared with 4/15*.05 = .0133 in the paper.
	near(t, "fourth", adjusted[3], .0095*15/4, 1e-12)
	near(t, "first", adjusted[0], .0015, 1e-12)
	near(t, "fifth", adjusted[4], .0603, 1e-12)
	// The sixth, .0278*15/6 = .0695, may not exceed the seventh, .0298*15/7.
	near(t, "sixth", adjusted[5], .0298*15/7, 1e-12)
}

func TestAdjustedPPassesOverNaN(t *testing.T) {
	p := []float64{math.NaN(), .04, math.NaN(), .02}
	got := stat.AdjustedP(p)
	if !math.IsNaN(got[0]) || !math.IsNaN(got[2]) {
		t.Errorf("adjusted %v", got)
	}
	near(t, "of two tests", got[1], .04, 1e-12)
	near(t, "of two tests", got[3], .04, 1e-12)
	flags := stat.BenjaminiHochberg(p, .05)
	if flags[0] || !flags[1] || flags[2] || !flags[3] {
		t.Errorf("flags %v", flags)
	}
	if len(stat.BenjaminiHochberg(nil, .05)) != 0 {
		t.Error("flags for nothing")
	}
}

// The step-up rule as the paper states it: flag the k smallest for the largest
// k with p(k) <= k/m*q.
func TestBenjaminiHochbergStepsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SliceOfN(rapid.Float64Range(0, .2), 1, 20).Draw(t, "p")
		largest := -1.0
		for _, candidate := range p {
			rank := 0
			for _, other := range p {
				if other <= candidate {
					rank++
				}
			}
			if candidate*float64(len(p))/float64(rank) <= .05 {
				largest = max(largest, candidate)
			}
		}
		for i, flag := range stat.BenjaminiHochberg(p, .05) {
			if flag != (p[i] <= largest) {
				t.Fatalf("p %v: flag %v, largest %v", p[i], flag, largest)
			}
		}
	})
}

func ExampleBenjaminiHochberg() {
	fmt.Println(stat.BenjaminiHochberg([]float64{.001, .03, .2, .04}, 0.05))
	// Output: [true false false false]
}
