package stat_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"tallywalk/traveler/stat"
)

// Four batches by hand: 18/20 20/20 12/20 20/20. Yield 70/80 = .875; residuals
// good - .875*tried .5 2.5 -5.5 2.5, squares 43; variance 4/3*43/80^2 =
// .00895833 against .875*.125/80 = .00136719 of independent pieces, so the
// design effect is 6.552381 and 80 pieces are worth 12.209302; times
// (1.959964/3.182446)^2, the quantiles of the tables for 3 degrees of freedom,
// 4.630902. The ends are where the binomial tails of .875 of that many are 2.5 %.
func TestBatchYieldByHand(t *testing.T) {
	y, ok := stat.BatchYield(
		[]stat.Share{{Count: 18, Of: 20}, {Count: 20, Of: 20}, {Count: 12, Of: 20}, {Count: 20, Of: 20}}, .95)
	if !ok || y.Batches != 4 || y.Pieces != 80 {
		t.Fatal(y, ok)
	}
	near(t, "yield", y.Yield, .875, 1e-12)
	near(t, "design effect", y.Deff, 6.552381, 5e-7)
	const n = 4.630902
	const k = .875 * n
	near(t, "tail at the low end", mathext.RegIncBeta(k, n-k+1, y.In.Low), .025, 1e-6)
	near(t, "tail at the high end", mathext.RegIncBeta(k+1, n-k, y.In.High), .975, 1e-6)
}

// betaBatches makes batches of pieces between 10 and 50 whose own yields
// spread about mean, with the correlation rho between pieces of one batch.
func betaBatches(rng *rand.Rand, k int, mean, rho float64) []stat.Share {
	a := mean * (1 - rho) / rho
	b := (1 - mean) * (1 - rho) / rho
	out := make([]stat.Share, k)
	for i := range out {
		out[i].Of = 10 + rng.IntN(41)
		p := distuv.Beta{Alpha: a, Beta: b, Src: rng}.Rand()
		for range out[i].Of {
			if rng.Float64() < p {
				out[i].Count++
			}
		}
	}
	return out
}

// How often the 95 % interval holds the true yield, of 2,000 shops made with
// known spread. It is honest down to eight batches as long as several of them
// have faults. The last two lines are the hard case, faults so rare that most
// batches have none and a bad batch has many: thirty batches fall short (about
// 88 %), eight mostly see no fault at all and get a wide interval. Intervals
// that take the pieces as independent hold 50 to 85 %, which is why they are
// not used.
func TestBatchYieldCovers(t *testing.T) {
	t.Parallel()
	const rounds = 2000
	for i, c := range []struct {
		k         int
		mean, rho float64
		low, high float64
	}{
		{30, .90, .10, .93, .97},
		{30, .95, .05, .93, .97},
		{30, .80, .20, .93, .97},
		{15, .90, .10, .92, .98},
		{8, .90, .10, .90, .98},
		{8, .95, .05, .92, .98},
		{30, .99, .10, .85, .95},
		{8, .99, .10, .95, 1},
	} {
		rng := rand.New(rand.NewPCG(20, uint64(i)))
		held, naive := 0, 0
		for range rounds {
			batches := betaBatches(rng, c.k, c.mean, c.rho)
			y, _ := stat.BatchYield(batches, .95)
			if y.In.Holds(c.mean) {
				held++
			}
			if in, _ := stat.Wilson(total(batches), .95); in.Holds(c.mean) {
				naive++
			}
		}
		part := float64(held) / rounds
		t.Logf("%d batches, yield %v, correlation %v: %.1f %% (independent pieces: %.1f %%)",
			c.k, c.mean, c.rho, 100*part, 100*float64(naive)/rounds)
		if part < c.low || part > c.high || naive >= held {
			t.Errorf("%d batches, yield %v: held %.1f %%, independent pieces %.1f %%", c.k, c.mean, 100*part,
				100*float64(naive)/rounds)
		}
	}
}

func total(batches []stat.Share) (all stat.Share) {
	for _, b := range batches {
		all.Count += b.Count
		all.Of += b.Of
	}
	return all
}

// A route of four steps where a bad batch is bad at every step.
func TestRolledYieldCovers(t *testing.T) {
	t.Parallel()
	const rounds = 2000
	means := []float64{.97, .92, .99, .95}
	rng := rand.New(rand.NewPCG(4, 4))
	held, truth := 0, rolledTruth(means)
	for range rounds {
		rows := make([][]stat.Share, 30)
		for i := range rows {
			rows[i] = routeBatch(rng, means)
		}
		if y, _ := stat.RolledYield(rows, .95); y.In.Holds(truth) {
			held++
		}
	}
	t.Logf("30 batches, four steps: %.1f %%", 100*float64(held)/rounds)
	if held < rounds*93/100 || held > rounds*97/100 {
		t.Errorf("held %d of %d", held, rounds)
	}
}

func rolledTruth(means []float64) float64 {
	p := 1.0
	for _, m := range means {
		p *= m
	}
	return p
}

// routeBatch has faults at the rate (1-mean)*f with f of mean 1, the same at
// all steps; all pieces go on, so that each step keeps its own mean.
func routeBatch(rng *rand.Rand, means []float64) []stat.Share {
	f := 2 * rng.Float64()
	row := make([]stat.Share, len(means))
	n := 10 + rng.IntN(41)
	for s, m := range means {
		row[s].Of = n
		for range n {
			if rng.Float64() >= (1-m)*f {
				row[s].Count++
			}
		}
	}
	return row
}

func TestBatchYieldOfOneKindOfPiece(t *testing.T) {
	y, ok := stat.BatchYield([]stat.Share{{Count: 20, Of: 20}, {Count: 30, Of: 30}}, .95)
	if !ok || y.Yield != 1 || y.In.High != 1 || y.Deff != 1 {
		t.Error("all good:", y, ok)
	}
	// .025^(1/n) with 50 pieces made fewer for one degree of freedom: Student's
	// quantile is 12.7062 instead of 1.9600.
	near(t, "all good, low", y.In.Low, math.Pow(.025, 1/(50*math.Pow(1.959964/12.7062, 2))), 1e-5)
	y, ok = stat.BatchYield([]stat.Share{{Of: 20}, {Of: 30}}, .95)
	if !ok || y.Yield != 0 || y.In.Low != 0 || !(y.In.High < 1) {
		t.Error("none good:", y, ok)
	}
}

func TestBatchYieldOfTooLittle(t *testing.T) {
	for _, batches := range [][]stat.Share{nil, {{Count: 9, Of: 10}}, {{Count: 9, Of: 10}, {}}, {{}, {}},
		{{Count: 3, Of: 2}, {Count: 1, Of: 2}}} {
		y, ok := stat.BatchYield(batches, .95)
		isNone(t, fmt.Sprint(batches), y.In, ok)
	}
	y, _ := stat.BatchYield([]stat.Share{{Count: 9, Of: 10}}, .95)
	near(t, "yield of one batch", y.Yield, .9, 0)
	y, ok := stat.RolledYield([][]stat.Share{{{Count: 9, Of: 10}, {}}, {{Count: 9, Of: 10}, {}}}, .95)
	isNone(t, "a step that no batch has been at", y.In, ok)
}

// Whatever the batches did, the interval lies in 0 to 1 and holds the yield,
// and a second step without any fault only widens it.
func TestRolledYieldHoldsItself(t *testing.T) {
	share := rapid.Custom(func(t *rapid.T) stat.Share {
		n := rapid.IntRange(0, 60).Draw(t, "of")
		return stat.Share{Count: rapid.IntRange(0, n).Draw(t, "good"), Of: n}
	})
	rapid.Check(t, func(t *rapid.T) {
		rows := rapid.SliceOfN(rapid.SliceOfN(share, 1, 4), 2, 12).Draw(t, "batches")
		y, ok := stat.RolledYield(rows, .95)
		if ok && !(0 <= y.In.Low && y.In.Low <= y.Yield && y.Yield <= y.In.High && y.In.High <= 1 &&
			y.Deff >= 1) {
			t.Fatalf("%+v", y)
		}
	})
}

func TestShortCleanStepWidens(t *testing.T) {
	rows := [][]stat.Share{{{Count: 90, Of: 100}}, {{Count: 95, Of: 100}}, {{Count: 93, Of: 100}}}
	one, _ := stat.RolledYield(rows, .95)
	for i := range rows {
		rows[i] = append(rows[i], stat.Share{Count: 2, Of: 2})
	}
	two, _ := stat.RolledYield(rows, .95)
	if two.Yield != one.Yield || !(two.In.Low < one.In.Low && two.In.High > one.In.High) {
		t.Errorf("one step %+v, with a short clean one %+v", one, two)
	}
}

func ExampleBatchYield() {
	y, ok := stat.BatchYield(
		[]stat.Share{{Count: 48, Of: 50}, {Count: 50, Of: 50}, {Count: 39, Of: 50}, {Count: 49, Of: 50},
			{Count: 47, Of: 50}}, 0.95)
	fmt.Printf("%.3f, %.3f to %.3f, deff %.1f, %v\n", y.Yield, y.In.Low, y.In.High, y.Deff, ok)
	// Output: 0.932, 0.729 to 0.996, deff 6.1, true
}

func ExampleRolledYield() {
	y, ok := stat.RolledYield([][]stat.Share{
		{{Count: 48, Of: 50}, {Count: 47, Of: 48}},
		{{Count: 50, Of: 50}, {Count: 50, Of: 50}},
		{{Count: 45, Of: 50}, {Count: 40, Of: 45}},
	}, 0.95)
	fmt.Printf("%.3f, %.2f to %.2f, %v\n", y.Yield, y.In.Low, y.In.High, ok)
	// Output: 0.913, 0.36 to 1.00, true
}
