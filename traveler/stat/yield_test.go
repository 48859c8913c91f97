package stat_test

import (
	"math"
	"testing"

	"tallywalk/traveler/stat"
)

func TestNormalisedYield(t *testing.T) {
	near(t, "three steps", stat.NormalisedYield(.70224, 3), .88885, 5e-6)
	for _, got := range []float64{stat.NormalisedYield(.5, 0), stat.NormalisedYield(1.5, 2),
		stat.NormalisedYield(math.NaN(), 2)} {
		if !math.IsNaN(got) {
			t.Errorf("got %v, want NaN", got)
		}
	}
}
