package stat

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Interval is the range that a true value lies in, with a confidence.
type Interval struct {
	Low, High float64
	// Conf is the confidence that was reached. It is what was asked for,
	// except for intervals between two of the values themselves, which can
	// only reach certain steps and take the next one above.
	Conf float64
}

// Holds reports whether the interval contains x, ends included.
func (i Interval) Holds(x float64) bool { return i.Low <= x && x <= i.High }

func none() Interval { return Interval{math.NaN(), math.NaN(), math.NaN()} }

// inside reports whether a confidence or probability is strictly between 0 and 1.
func inside(p float64) bool { return p > 0 && p < 1 }

// z is the standard normal quantile that leaves (1-conf)/2 on each side.
func z(conf float64) float64 { return distuv.UnitNormal.Quantile(0.5 + conf/2) }

// t is the same of Student's distribution.
func t(conf float64, df int) float64 {
	return distuv.StudentsT{Sigma: 1, Nu: float64(df)}.Quantile(0.5 + conf/2)
}
