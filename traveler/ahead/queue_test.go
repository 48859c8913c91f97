package ahead

import (
	"fmt"
	"math"
	"os"
	"testing"
)

// customers is how many batches the checks of waiting lines simulate.
func customers() int {
	if os.Getenv("TALLYWALK_LONG") != "" {
		return 400_000
	}
	return 25_000
}

// waitsOf simulates one work centre: how long each batch waits, in mean times of
// an operation, after a while to fill.
func waitsOf(machines int, rho float64, factor resid, seed uint64) (waits []float64) {
	l := newLine(ByWait, machines)
	n := customers()
	at := arrivals(n, rho*float64(machines)/100, seed)
	for i := range at {
		l.put(at[i], l.op(0, 100, factor))
	}
	begins, _ := l.play(seed)
	for i := n / 10; i < n; i++ {
		waits = append(waits, max(0, (begins[i][0]-at[i])/100))
	}
	return waits
}

// Erlang C: the chance to wait, exact rationals (checks.md d).
func TestErlangC(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		machines int
		rho      float64
		want     float64
	}{{1, .5, .5}, {1, .8, .8}, {2, .7, .5765}, {2, .8, 32. / 45}, {3, .8, .6472}, {5, .9, .7625},
		{10, .8, .4092}} {
		waits := waitsOf(c.machines, c.rho, exponential(), 11)
		for i := range waits {
			if waits[i] > 1e-9 {
				waits[i] = 1
			} else {
				waits[i] = 0
			}
		}
		within(t, fmt.Sprintf("chance to wait of %d at %.1f", c.machines, c.rho), waits, c.want)
	}
}

// Mean waits in mean times of service. c=2, rho .8: 16/9; c=3, a=2: 4/9 (checks.md
// d, exact). Hillier and Lieberman's emergency room, lambda 2, mu 3: Wq 2/3 and
// 1/24 of an hour at 1/3 h a service, so 2 and 1/8. M/G/1 of Anderson, Sweeney,
// Williams: lambda .35, mu .5, sigma 1.2, Wq 3.1733 at 2 a service. M/D/1 is half
// of M/M/1 (Pollaczek and Khinchine).
func TestMeanWaits(t *testing.T) {
	t.Parallel()
	exp := exponential()
	two := resid{1 - 0.6, 1 + 0.6} // mean 1, deviation .6, as sigma 1.2 of mean 2
	for _, c := range []struct {
		what     string
		machines int
		rho      float64
		factor   resid
		want     float64
	}{
		{"c=2", 2, .8, exp, 16. / 9},
		{"c=3", 3, 2. / 3, exp, 4. / 9},
		{"emergency room, one doctor", 1, 2. / 3, exp, 2},
		{"emergency room, two doctors", 2, 1. / 3, exp, 1. / 8},
		{"M/G/1", 1, .7, two, 3.1733 / 2},
		{"M/D/1", 1, .5, nil, .5},
		{"M/D/1", 1, .8, nil, 2},
	} {
		within(t, c.what, waitsOf(c.machines, c.rho, c.factor, 5), c.want)
	}
}

// A network of work centres, each left for others by chance. External rates (1, 4,
// 3), servers 1, 2, 1, mu 10: 16/3 in all, 2/3 each in time (checks.md d). Ross:
// external 5, 10, 15; mu 10, 50, 100: 41/195 h.
func TestJacksonNetworks(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		what    string
		servers []int
		come    []float64
		mu      []float64
		next    [3][3]float64
		want    float64
	}{
		{"three departments", []int{1, 2, 1}, []float64{1, 4, 3}, []float64{10, 10, 10},
			[3][3]float64{{0, .6, .3}, {.1, 0, .3}, {.4, .4, 0}}, 2. / 3},
		{"Ross", []int{1, 1, 1}, []float64{5, 10, 15}, []float64{10, 50, 100},
			[3][3]float64{{0, 1. / 3, 1. / 3}, {0, 0, 1}, {0, .5, 0}}, 41. / 195},
	} {
		l := newLine(ByWait, c.servers...)
		rate := c.come[0] + c.come[1] + c.come[2]
		at := arrivals(customers(), rate, 21)
		for i := range at {
			l.put(at[i], routeOf(l, c.next, c.come, c.mu, uint64(i))...)
		}
		_, ends := l.play(3)
		var stays []float64
		for i := len(at) / 10; i < len(at); i++ {
			stays = append(stays, ends[i][len(ends[i])-1]-at[i])
		}
		within(t, c.what, stays, c.want)
	}
}

// routeOf draws the way of one customer through a network.
func routeOf(l *line, next [3][3]float64, come, mu []float64, customer uint64) (ops []simOp) {
	pick := func(shares []float64, u float64) int {
		for i, s := range shares {
			if u -= s; u < 0 {
				return i
			}
		}
		return -1
	}
	all := come[0] + come[1] + come[2]
	c := pick([]float64{come[0] / all, come[1] / all, come[2] / all}, level(31, customer, 0, 78))
	for k := 1; c >= 0; k++ {
		ops = append(ops, l.op(c, 1/mu[c], exponentialOnce))
		c = pick(next[c][:], level(31, customer, k, 78))
	}
	return ops
}

var exponentialOnce = exponential()

// Penny Fab One (Hopp and Spearman, checks.md c): four stations of 2 h, a constant
// number of jobs on the line. Best case with constant times, practical worst case
// with exponential ones. Batches go round and round.
func TestPennyFabOne(t *testing.T) {
	t.Parallel()
	for w, want := range map[int][2]float64{1: {.125, .125}, 2: {.25, .2}, 3: {.375, .25}, 4: {.5, .2857},
		5: {.5, .3125}, 10: {.5, 10. / 26}} {
		if th := throughput(w, []int{1, 1, 1, 1}, []float64{2, 2, 2, 2}, nil,
			500); math.Abs(th-want[0]) > 0.002 {
			t.Errorf("best case with %d jobs: %.4f an hour, want %.4f", w, th, want[0])
		}
		if th := throughput(w, []int{1, 1, 1, 1}, []float64{2, 2, 2, 2}, exponentialOnce,
			20000/w); math.Abs(th-want[1]) > 0.02*want[1] {
			t.Errorf("practical worst case with %d jobs: %.4f an hour, want %.4f", w, th, want[1])
		}
	}
}

// Penny Fab Two: machines 1, 2, 6, 2; times 2, 5, 10, 3 h; rb 0.4, T0 20 h, W0 8.
func TestPennyFabTwo(t *testing.T) {
	t.Parallel()
	for w := 1; w <= 12; w++ {
		want := min(float64(w)/20, 0.4)
		if th := throughput(w, []int{1, 2, 6, 2}, []float64{2, 5, 10, 3}, nil,
			400); math.Abs(th-want) > 0.01*want {
			t.Errorf("with %d jobs: %.4f an hour, want %.4f", w, th, want)
		}
	}
}

// throughput is rounds an hour of a closed line, hours a round given by station.
func throughput(jobs int, machines []int, hours []float64, factor resid, rounds int) float64 {
	l := newLine(ByWait, machines...)
	for range jobs {
		var ops []simOp
		for range rounds {
			for c := range hours {
				ops = append(ops, l.op(c, hours[c], factor))
			}
		}
		l.put(0, ops...)
	}
	_, ends := l.play(9)
	// From the end of an early round to the time when the first one is through.
	to := math.Inf(1)
	n, skip := len(hours), rounds/5
	for i := range ends {
		to = min(to, ends[i][len(ends[i])-1])
	}
	from := ends[0][skip*n-1]
	done := 0.0
	for i := range ends {
		for k := n - 1; k < len(ends[i]); k += n {
			if e := ends[i][k]; e > from && e <= to {
				done++
			}
		}
	}
	return done / (to - from)
}
