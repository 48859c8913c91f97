package stat_test

import (
	"math"
	"testing"

	"tallywalk/traveler/stat"
)

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s = %.6g, want %.6g within %g", what, got, want, within)
	}
}

func nearInterval(t *testing.T, what string, got stat.Interval, low, high, within float64) {
	t.Helper()
	near(t, what+", low", got.Low, low, within)
	near(t, what+", high", got.High, high, within)
}

func isNone(t *testing.T, what string, in stat.Interval, ok bool) {
	t.Helper()
	if ok || !math.IsNaN(in.Low) || !math.IsNaN(in.High) {
		t.Errorf("%s = %v, %v; want none", what, in, ok)
	}
}
