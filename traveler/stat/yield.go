package stat

import "math"

// NormalisedYield is the yield that every one of n steps would have if all had
// the same and gave this rolled yield: rolled^(1/n). NaN for no steps or a
// rolled yield outside 0 to 1.
func NormalisedYield(rolled float64, steps int) float64 {
	if steps < 1 || !(rolled >= 0 && rolled <= 1) {
		return math.NaN()
	}
	return math.Pow(rolled, 1/float64(steps))
}
