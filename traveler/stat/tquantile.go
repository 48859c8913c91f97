package stat

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// TQuantile is the p-quantile of Student's t with some degrees of freedom.
func TQuantile(p, free float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: free}.Quantile(p)
}

// NormalQuantile is the p-quantile of the standard normal distribution.
func NormalQuantile(p float64) float64 { return distuv.UnitNormal.Quantile(p) }

// tTail is the two-sided p of a value of Student's t.
func tTail(t, free float64) float64 {
	return 2 * distuv.StudentsT{Mu: 0, Sigma: 1, Nu: free}.Survival(math.Abs(t))
}

// BandQuantile is by how many standard errors a band must lie away on each side
// to hold a line of so many parameters everywhere with a confidence (Working and
// Hotelling 1929; Scheffe 1959).
func BandQuantile(conf float64, parameters int, free float64) float64 {
	k := float64(parameters)
	return math.Sqrt(k * distuv.F{D1: k, D2: free}.Quantile(conf))
}
