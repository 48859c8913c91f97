package stat

import "math"

// ThroughputYield is the part of the units that pass without a defect, from
// the mean number of defects a unit: exp(-dpu), when defects fall on units
// independently (Harry 2004). NaN for a negative number.
func ThroughputYield(dpu float64) float64 {
	if !(dpu >= 0) {
		return math.NaN()
	}
	return math.Exp(-dpu)
}

// RolledThroughput is the product of the yields of the steps: the part that
// passes all of them the first time. 1 for none.
func RolledThroughput(yields ...float64) float64 {
	rolled := 1.0
	for _, y := range yields {
		rolled *= y
	}
	return rolled
}

// NormalisedYield is the yield that every one of n steps would have if all had
// the same and gave this rolled yield: rolled^(1/n). NaN for no steps or a
// rolled yield outside 0 to 1.
func NormalisedYield(rolled float64, steps int) float64 {
	if steps < 1 || !(rolled >= 0 && rolled <= 1) {
		return math.NaN()
	}
	return math.Pow(rolled, 1/float64(steps))
}
