package stat

import (
	"cmp"
	"math"
	"slices"
)

// BenjaminiHochberg says which of many tests to flag so that on average at
// most the part q of the flags is false (Benjamini and Hochberg 1995). A NaN
// is a test that could not be made: never flagged, and not counted.
func BenjaminiHochberg(p []float64, q float64) []bool {
	flags := make([]bool, len(p))
	for i, a := range AdjustedP(p) {
		flags[i] = a <= q
	}
	return flags
}

// AdjustedP gives, for each p value, the smallest q at which
// [BenjaminiHochberg] flags it. NaN stays NaN.
func AdjustedP(p []float64) []float64 {
	out := make([]float64, len(p))
	var order []int
	for i := range p {
		out[i] = math.NaN()
		if !math.IsNaN(p[i]) {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(p[a], p[b]) })
	least := 1.0
	for k := len(order); k >= 1; k-- {
		i := order[k-1]
		least = min(least, p[i]*float64(len(order))/float64(k))
		out[i] = least
	}
	return out
}
