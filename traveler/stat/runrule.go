package stat

import "math"

// Rule is a pattern on a control chart that chance alone seldom makes.
type Rule string

// Four rules that the Western Electric handbook (1956) gives, as in the
// NIST/SEMATECH e-Handbook 6.3.2, and that Nelson (Journal of Quality Technology
// 16, 1984) numbers 1, 5, 6 and 2, with a longer run. All points of a pattern are
// on the same side of the centre.
const (
	Beyond3   Rule = "one beyond 3 sigma"
	TwoOf3    Rule = "two of three beyond 2 sigma"
	FourOf5   Rule = "four of five beyond 1 sigma"
	RunOnSide Rule = "run on one side"
)

// Signal is a point that completes a pattern. A point can complete several.
type Signal struct {
	Point int // index in the chart
	Rule  Rule
	Above bool // the side of the centre
}

// Lengths of a run on one side that signal.
const (
	WesternElectricRun = 8 // Western Electric handbook, 1956
	NelsonRun          = 9 // Nelson, Journal of Quality Technology 16, 1984
)

// NelsonRules names the rules with [NelsonRun].
const NelsonRules = "Nelson 1984, rules 1, 2, 5 and 6"

// Signals finds the points that signal by any of the four rules, in order.
// run is how many in a row on one side are a pattern: [WesternElectricRun] or
// [NelsonRun]; 0 leaves this rule out. A point must itself be part of the
// pattern to signal. A point on the centre line ends a run; a gap (NaN) is
// passed over.
//
// All four together signal once in 91.75 points of a process that has not
// changed (run = 8; Champ and Woodall 1987); the first alone once in 370.
func (c Chart) Signals(run int) []Signal {
	var out []Signal
	var last []float64 // the last points, newest at the end, gaps left out
	length := 0        // of the run that the newest point is in
	for i, z := range c.Z() {
		if math.IsNaN(z) {
			continue
		}
		length = lengthen(length, last, z)
		last = append(last, z)
		if n := len(last); n > 5 {
			last = last[n-5:]
		}
		for _, rule := range broken(last, length, run) {
			out = append(out, Signal{Point: i, Rule: rule, Above: z > 0})
		}
	}
	return out
}

// lengthen is how long the run is with z.
func lengthen(length int, last []float64, z float64) int {
	switch {
	case z == 0:
		return 0
	case len(last) > 0 && last[len(last)-1]*z > 0:
		return length + 1
	}
	return 1
}

func broken(last []float64, length, run int) []Rule {
	var out []Rule
	if beyond(last, 1, 3) >= 1 {
		out = append(out, Beyond3)
	}
	if beyond(last, 3, 2) >= 2 {
		out = append(out, TwoOf3)
	}
	if beyond(last, 5, 1) >= 4 {
		out = append(out, FourOf5)
	}
	if run > 0 && length >= run {
		out = append(out, RunOnSide)
	}
	return out
}

// beyond counts, among the last n points, those beyond sigma on the side of
// the newest; 0 if the newest is not one of them.
func beyond(last []float64, n int, sigma float64) int {
	last = last[max(0, len(last)-n):]
	side := math.Copysign(1, last[len(last)-1])
	if last[len(last)-1]*side <= sigma {
		return 0
	}
	k := 0
	for _, z := range last {
		if z*side > sigma {
			k++
		}
	}
	return k
}
