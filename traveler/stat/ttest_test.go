package stat

import (
	"math"
	"testing"
)

// Student (1908), the probable error of a mean: the differences of ten patients'
// sleep; t = 4.0621 with 9 degrees of freedom, p = 0.002833, as R's manual page
// of t.test shows it (from memory).
func TestMeanTest(t *testing.T) {
	stat, p, ok := MeanTest([]float64{1.2, 2.4, 1.3, 1.3, 0, 1, 1.8, 0.8, 4.6, 1.4}, 0)
	if !ok || math.Abs(stat-4.0621) > 5e-5 || math.Abs(p-0.002833) > 5e-7 {
		t.Errorf("t %v p %v %v", stat, p, ok)
	}
	if _, _, ok := MeanTest([]float64{3, 3, 3}, 1); ok {
		t.Error("values that are all the same have no spread to test by")
	}
	if _, _, ok := MeanTest([]float64{3}, 1); ok {
		t.Error("one value is no sample")
	}
}
