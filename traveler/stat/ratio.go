package stat

import "math"

// Ratio is a ratio of sums over batches: all minutes of all pieces, which is
// the mean that a planner works with.
type Ratio struct {
	Value float64
	In    Interval
	SE    float64 // standard error of its logarithm
	Free  float64 // degrees of freedom of that
	N     int     // batches
}

// RatioOf is the sum of num over the sum of den, by batch, with an interval.
//
// Method: the logarithm of the ratio, its standard error by the delete-one
// jackknife (Efron and Tibshirani, An Introduction to the Bootstrap, 1993, ch.
// 11), which for few batches errs to the wide side, and Student's t with as
// many degrees of freedom as the batches are worth by their sizes, (sum of
// sizes)^2/(sum of squares) - 1. ok is false for fewer than three batches of a
// size above 0, a sum of 0, or all batches alike; Value is then still given if
// there is a size.
func RatioOf(num, den []float64, conf float64) (r Ratio, ok bool) {
	var y, x, squares float64
	for i, d := range den {
		if d > 0 {
			y, x, squares = y+num[i], x+d, squares+d*d
			r.N++
		}
	}
	r.Value, r.In = y/x, none()
	if r.N < 3 || !(y > 0) || !inside(conf) {
		return r, false
	}
	r.SE = jackknife(num, den, y, x, r.N)
	r.Free = max(1, x*x/squares-1)
	if !(r.SE > 0) || math.IsInf(r.SE, 0) {
		return r, false
	}
	half := TQuantile(0.5+conf/2, r.Free) * r.SE
	r.In = Interval{r.Value * math.Exp(-half), r.Value * math.Exp(half), conf}
	return r, true
}

// jackknife is the standard error of the logarithm of y/x: each of n batches is
// left out once.
func jackknife(num, den []float64, y, x float64, n int) float64 {
	mean, squares, k := 0.0, 0.0, 0.0
	for i, d := range den {
		if d <= 0 {
			continue
		}
		l := math.Log((y - num[i]) / (x - d))
		k++
		off := l - mean
		mean += off / k
		squares += off * (l - mean)
	}
	return math.Sqrt(squares * float64(n-1) / float64(n))
}

// Test is the two-sided p of the ratio being another one.
func (r *Ratio) Test(other float64) float64 {
	if !(r.SE > 0) || !(other > 0) {
		return 1
	}
	return tTail(math.Log(r.Value/other)/r.SE, r.Free)
}
