package ahead

import (
	"fmt"
	"math"
	"testing"
	"time"

	"tallywalk/traveler"
)

// monday is the moment from which the tests look ahead: eight o'clock.
var monday = time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)

// line is a shop for tests: work centres with so many machines each, always open,
// and batches that come at given seconds.
type line struct {
	*sim
	model *Model
}

// newLine makes work centres A, B, ... with so many machines.
func newLine(rule Rule, machines ...int) *line {
	shop := new(traveler.Shop).With(&traveler.Change{From: monday, Machines: places(machines...)})
	m := &Model{zone: time.UTC, shop: shop, sameSetup: 1}
	return &line{m.compile(&floor{now: monday, shop: shop, zone: time.UTC}, &Scenario{Rule: rule},
		Simulated), m}
}

func places(machines ...int) (out []traveler.Machine) {
	for c, n := range machines {
		for i := range n {
			wc := string(rune('A' + c))
			out = append(out,
				traveler.Machine{ID: traveler.MachineID(fmt.Sprintf("%s%d", wc, i+1)),
					WorkCentre: traveler.WorkCentre(wc)})
		}
	}
	return out
}

// op is an operation of a work centre (A = 0) that takes so many seconds, times a
// factor that is drawn.
func (l *line) op(centre int, secs float64, factor resid) simOp {
	return simOp{centre: centre, run: secs, rr: factor, plan: secs, slot: -1}
}

// put adds a batch that comes at a moment.
func (l *line) put(at float64, ops ...simOp) {
	for k := range ops {
		ops[k].index = int32(k)
		ops[k].slot = l.out.slots
		l.out.slots++
	}
	n := len(l.jobs)
	j := &job{card: traveler.Code(fmt.Sprint(n)), isNew: true, since: monday}
	l.jobs = append(l.jobs,
		simJob{job: j, key: keyOf(fmt.Sprint("job ", n)), from: at, ops: ops, n: n, part: int32(n + 1)})
}

// play runs it once and gives when each operation began and ended, by batch.
func (l *line) play(seed uint64) (begins, ends [][]float64) {
	l.seed = seed
	l.out.prepare(l.sim, true)
	l.run(0, false)
	for i := range l.jobs {
		var b, e []float64
		for k := range l.jobs[i].ops {
			b = append(b, l.out.begins[l.jobs[i].ops[k].slot])
			e = append(e, l.out.ends[l.jobs[i].ops[k].slot])
		}
		begins, ends = append(begins, b), append(ends, e)
	}
	return begins, ends
}

// exponential is factors as of an exponential time with mean 1, in equal shares:
// the mean of each share, so that the mean of all is exact.
func exponential() resid {
	const n = 4000
	out := make(resid, n)
	// The mean between the quantiles p and q: by parts of the integral of -ln(1-u).
	g := func(u float64) float64 {
		if u >= 1 {
			return 1
		}
		return u + (1-u)*math.Log(1-u)
	}
	for i := range out {
		out[i] = n * (g(float64(i+1)/n) - g(float64(i)/n))
	}
	return out
}

// arrivals are n moments of a Poisson process of a rate.
func arrivals(n int, rate float64, seed uint64) []float64 {
	out := make([]float64, n)
	at := 0.0
	for i := range out {
		at += -math.Log(1-level(seed, uint64(i), 0, 77)) / rate
		out[i] = at
	}
	return out
}

// within checks a simulated figure against a published one: as batch means of the
// values, by three standard errors and a half (1 in 2,000 by chance; seeds are fixed).
func within(t *testing.T, what string, values []float64, want float64) {
	t.Helper()
	const groups = 40
	size := len(values) / groups
	var means []float64
	all := 0.0
	for g := range groups {
		sum := 0.0
		for _, v := range values[g*size : (g+1)*size] {
			sum += v
		}
		means = append(means, sum/float64(size))
		all += sum / float64(size) / groups
	}
	ss := 0.0
	for _, m := range means {
		ss += (m - all) * (m - all)
	}
	se := math.Sqrt(ss / (groups - 1) / groups)
	if math.Abs(all-want) > 3.5*se {
		t.Errorf("%s is %.5g +- %.2g, want %.5g", what, all, se, want)
	}
	if want != 0 && se > 0.12*want {
		t.Errorf("%s: a standard error of %.2g says nothing about %.5g", what, se, want)
	}
}
