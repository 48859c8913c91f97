package stat_test

import (
	"fmt"
	"math"
	"testing"

	"tallywalk/traveler/stat"
)

// M. Harry, Resolving the mysteries of six sigma (2004), second-hand: defects
// per unit of three steps and the yields they give.
func TestThroughputYield(t *testing.T) {
	y := []float64{stat.ThroughputYield(.10), stat.ThroughputYield(.05), stat.ThroughputYield(.008)}
	near(t, "first", y[0], .904837, 5e-7)
	near(t, "second", y[1], .951229, 5e-7)
	near(t, "third", y[2], .992032, 5e-7)
	near(t, "rolled", stat.RolledThroughput(y...), .85385, 5e-6)
	if got := stat.ThroughputYield(-1); !math.IsNaN(got) {
		t.Errorf("yield of -1 defects = %v, want NaN", got)
	}
}

// Worked examples of public notes on rolled throughput yield.
func TestRolledThroughput(t *testing.T) {
	near(t, "100 units with 13, 7, 5 defects", stat.RolledThroughput(.87, .93, .95), .7686, 5e-5)
	near(t, "three steps", stat.RolledThroughput(.95, .84, .88), .7022, 5e-5)
	// In 100, scrap 10, rework 5: throughput yield .85, final yield .90.
	near(t, "one step", stat.Share{Count: 100 - 10 - 5, Of: 100}.Part(), .85, 1e-12)
	near(t, "one step, final", stat.Share{Count: 100 - 10, Of: 100}.Part(), .90, 1e-12)
	// In/scrap/rework 100/10/5 90/10/7 80/5/3 75/5/10 (from memory).
	four := stat.RolledThroughput(85.0/100, 73.0/90, 72.0/80, 60.0/75)
	near(t, "four steps", four, .4964, 5e-5)
	near(t, "four steps, final", stat.Share{Count: 70, Of: 100}.Part(), .70, 1e-12)
	near(t, "no steps", stat.RolledThroughput(), 1, 0)
}

func TestNormalisedYield(t *testing.T) {
	near(t, "three steps", stat.NormalisedYield(.70224, 3), .88885, 5e-6)
	for _, got := range []float64{stat.NormalisedYield(.5, 0), stat.NormalisedYield(1.5, 2), stat.NormalisedYield(math.NaN(), 2)} {
		if !math.IsNaN(got) {
			t.Errorf("got %v, want NaN", got)
		}
	}
}

func ExampleRolledThroughput() {
	rolled := stat.RolledThroughput(.95, .84, .88)
	fmt.Printf("%.4f, as if each step had %.4f\n", rolled, stat.NormalisedYield(rolled, 3))
	// Output: 0.7022, as if each step had 0.8889
}
