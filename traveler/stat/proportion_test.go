package stat_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"tallywalk/traveler/stat"
)

func TestProportionIntervals(t *testing.T) {
	for _, c := range []struct {
		s      stat.Share
		wilson [2]float64
	}{
		// Newcombe, Statistics in Medicine 17 (1998) 857, table I, method 3.
		{stat.Share{Count: 81, Of: 263}, [2]float64{.2553, .3662}},
		{stat.Share{Count: 15, Of: 148}, [2]float64{.0624, .1605}},
		{stat.Share{Count: 0, Of: 20}, [2]float64{0, .1611}},
		{stat.Share{Count: 1, Of: 29}, [2]float64{.0061, .1718}},
	} {
		in, ok := stat.Wilson(c.s, .95)
		if !ok {
			t.Fatal("no Wilson interval")
		}
		nearInterval(t, fmt.Sprint("Wilson ", c.s), in, c.wilson[0], c.wilson[1], 5.1e-5)
	}
}

func TestProportionOfNothing(t *testing.T) {
	for _, s := range []stat.Share{{}, {Count: 3, Of: 2}, {Count: -1, Of: 2}, {Of: -1}} {
		in, ok := stat.Wilson(s, .95)
		isNone(t, fmt.Sprint("Wilson ", s), in, ok)
	}
	in, ok := stat.Wilson(stat.Share{Count: 1, Of: 2}, 0)
	isNone(t, "confidence 0", in, ok)
}

func TestProportionIntervalsMirror(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 3000).Draw(t, "n")
		k := rapid.IntRange(0, n).Draw(t, "k")
		for _, f := range []func(stat.Share, float64) (stat.Interval, bool){stat.Wilson} {
			a, _ := f(stat.Share{Count: k, Of: n}, .95)
			b, _ := f(stat.Share{Count: n - k, Of: n}, .95)
			if math.Abs(a.Low-(1-b.High)) > 1e-9 || math.Abs(a.High-(1-b.Low)) > 1e-9 {
				t.Fatalf("%v does not mirror %v", a, b)
			}
			if !a.Holds(float64(k) / float64(n)) {
				t.Fatalf("%v does not hold %d/%d", a, k, n)
			}
		}
	})
}

func ExampleWilson() {
	in, ok := stat.Wilson(stat.Share{Count: 0, Of: 20}, 0.95)
	fmt.Printf("%.3f to %.3f, %v\n", in.Low, in.High, ok)
	// Output: 0.000 to 0.161, true
}
