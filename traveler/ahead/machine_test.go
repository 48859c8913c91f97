package ahead

import (
	"math"
	"testing"
)

// Breakdowns (Hopp and Spearman, checks.md c): te = t0/A, ce2 = c02 +
// (1+cr2)A(1-A)mr/t0; t0 15 min, c02 .05, cr 1. Up 744 and down 248 min: te 20,
// ce2 6.25; 114 and 38: ce2 1.0. The formula lets breakdowns come while the machine
// works, as they do here where it never rests.
func TestBreakdowns(t *testing.T) {
	t.Parallel()
	spread := resid{1 - math.Sqrt(.05), 1 + math.Sqrt(.05)}
	for _, c := range []struct{ up, down, ce2 float64 }{{744, 248, 6.25}, {114, 38, 1.0}} {
		l := newLine(ByWait, 1)
		const n = 40_000
		l.machines[0].hours = breaking(c.up, c.down, n*15/c.up*1.5)
		ops := make([]simOp, n)
		for i := range ops {
			ops[i] = l.op(0, 15, spread)
		}
		l.put(0, ops...)
		begins, _ := l.play(2)
		var took, square []float64
		for i := range n - 1 {
			d := begins[0][i+1] - begins[0][i] // with the time in which it waits to be mended
			took = append(took, d)
			square = append(square, (d-20)*(d-20)/400)
		}
		within(t, "te", took, 20)
		within(t, "ce2", square, c.ce2)
	}
}

// breaking is the hours of a machine that goes up and down by exponential times.
func breaking(up, down, times float64) *table {
	t := &table{}
	at, sum := 0.0, 0.0
	for i := range int(times) {
		u := -math.Log(1-level(5, uint64(i), 0, 80)) * up
		t.from, t.to, t.before = append(t.from, at), append(t.to, at+u), append(t.before, sum)
		sum += u
		at += u - math.Log(1-level(5, uint64(i), 1, 80))*down
	}
	t.from, t.to, t.before = append(t.from, at), append(t.to, math.Inf(1)), append(t.before, sum)
	return t
}

// Set-ups (checks.md c): te = t0 + ts/Ns, var = s02 + ss2/Ns + (Ns-1)ts2/Ns2. t0 1 h,
// c0 .25; Ns 10, ts 2: te 1.2, ce2 .3108; Ns 5, ts 1: ce2 .1632; cs .25. The formula
// takes the set-up to come before any job with chance 1/Ns; the same here on average,
// over all places in the run of jobs.
func TestSetUps(t *testing.T) {
	t.Parallel()
	quarter := resid{.75, 1.25}
	for _, c := range []struct{ ns, ts, ce2 float64 }{{10, 2, .3108}, {5, 1, .1632}} {
		l := newLine(ByWait, 1)
		l.same = 0
		const n = 20_000
		ops := make([]simOp, n)
		for i := range ops {
			ops[i] = l.op(0, 3600, quarter)
			ops[i].setup, ops[i].rs, ops[i].op = c.ts*3600, quarter, int32(i/int(c.ns))
		}
		l.put(0, ops...)
		begins, ends := l.play(4)
		var took, square []float64
		for i := range n {
			d := (ends[0][i] - begins[0][i]) / 3600
			took, square = append(took, d), append(square, (d-1.2)*(d-1.2)/1.44)
		}
		within(t, "te", took, 1.2)
		within(t, "ce2", square, c.ce2)
	}
}
