package study

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"tallywalk/traveler"
)

// The numbers of this example are invented and worked out by hand.
func ExampleCombined() {
	r := route(5, 40, 3, 600)
	for i := range r.Steps {
		r.Steps[i].Load = .5
		r.Steps[i].Yield = Sure(.97, Measured)
	}
	one, _ := Combined(r, &Combination{
		Operations: []traveler.Op{10, 20, 30, 40}, Second: []traveler.Op{30}, WorkCentre: "MILLTURN",
		PerClamp: Sure(.02, Measured), OneOff: 1500,
	})
	s := one.Steps[0]
	// Three of 2.5 min cutting on the first spindle, one beside them, loaded once.
	fmt.Printf("%d steps; set-up %.0f min, piece %.1f min\n", len(one.Steps), s.SetUp.Likely, s.Piece.Likely)
	// .97^4 with three clampings fewer, each of which lost 2 %.
	fmt.Printf("yield %.4f\n", s.Yield.Likely)
	// Output:
	// 2 steps; set-up 160 min, piece 8.0 min
	// yield 0.9406
}

// A combination keeps the order of what it leaves alone, never loses an
// operation, and with nothing saved gives back what was.
func TestCombinedProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 7).Draw(t, "steps")
		r := route(n, 30, 2, 100)
		var ops []traveler.Op
		for i := range n {
			r.Steps[i].Yield = Sure(rapid.Float64Range(.8, 1).Draw(t, "yield"), Measured)
			if rapid.Bool().Draw(t, "in") {
				ops = append(ops, r.Steps[i].Operation)
			}
		}
		c := &Combination{Operations: ops, WorkCentre: "X"}
		out, ok := Combined(r, c)
		if ok != (len(ops) > 0) {
			t.Fatalf("ok %v for %v", ok, ops)
		}
		if !ok {
			return
		}
		if want := n - len(ops) + 1; len(out.Steps) != want {
			t.Fatalf("%d steps, want %d", len(out.Steps), want)
		}
		for i := 1; i < len(out.Steps); i++ {
			if out.Steps[i].Operation <= out.Steps[i-1].Operation {
				t.Fatalf("out of order: %v", out.Steps)
			}
		}
		a, b := r.Of(100, &Costs{}), out.Of(100, &Costs{})
		if math.Abs(a.Yield-b.Yield) > 1e-9 || math.Abs(a.SetUpMin-b.SetUpMin) > 1e-9 ||
			b.Clampings > a.Clampings {
			t.Fatalf("with no loss of a clamping: %+v, %+v", a, b)
		}
	})
}

// What moves the outcome most comes first; a plan without a spread has no
// assumptions.
func TestAssumptionsInOrder(t *testing.T) {
	r := route(3, 30, 2, 100)
	if a := r.Assumptions(50, &Costs{}, EachMinutes); len(a) != 0 {
		t.Errorf("%+v", a)
	}
	r.Steps[0].SetUp = Value{20, 30, 60, Assumed, 0}
	r.Steps[1].Piece = Value{1.9, 2, 2.1, Assumed, 0}
	r.Steps[2].Yield = Value{.5, .9, .99, Assumed, 0}
	a := r.Assumptions(50, &Costs{}, EachMinutes)
	if len(a) != 3 || a[0].What != "yield" || a[1].What != "setup" || a[2].What != "piece" {
		t.Errorf("%+v", a)
	}
	if r.Steps[0].SetUp.Likely != 30 {
		t.Error("looking at an assumption changed the route")
	}
}

// A machine case worked out by hand: 1,000 good pieces a year in batches of 100;
// three operations of 60 min + 2 min a piece against one of 100 min + 3.
func TestMachineCase(t *testing.T) {
	now, then := route(3, 60, 2, 0), route(1, 100, 3, 0)
	then.Steps[0].WorkCentre = "NEW"
	now.Walks.Trips = 2
	c := &Costs{Currency: "EUR", Trip: 5, Labour: 30, Manned: 1}
	m := &Machine{WorkCentre: "NEW", Price: 90_000, OneOff: 10_000, OpenWeek: 40, Weeks: 46}
	x := CaseOf(m, []Member{{Part: "P", Demand: 1000, Size: 100, Now: *now, Then: *then}}, c,
		&Worth{Replaced: .5, Hour: 60, Labour: 0}, 1)
	near(t, "batches", x.Batches, 10, 1e-9)
	near(t, "freed", x.Freed["W"], 10*(3*60+600)/60.0, 1e-9) // 130 h
	near(t, "taken", x.Taken, 10*400/60.0, 1e-9)
	near(t, "cash: two trips fewer, ten times", x.Cash, 100, 1e-9)
	near(t, "hours", x.HoursValue, 130*.5*60, 1e-9)
	near(t, "pay-back", x.Payback, 100_000/(100+3900.0), 1e-9)
	near(t, "pay-back by cash alone", x.PaybackNo, 1000, 1e-9)
	near(t, "load", x.Load, 10*400/60.0/1840, 1e-9)
	near(t, "a week down", x.Backlog, 40*x.Load, 1e-9)
	if !x.Fits || x.QueueMin <= 0 {
		t.Errorf("%+v", x)
	}
	full := CaseOf(m, []Member{{Part: "P", Demand: 1000, Size: 100, Now: *now, Then: *then}}, c, &Worth{}, 40)
	if full.Fits || !math.IsInf(full.QueueMin, 1) || !math.IsInf(full.Recover, 1) {
		t.Errorf("forty times the demand: %+v", full)
	}
	if never := CaseOf(m, nil, c, &Worth{}, 1); !math.IsInf(never.Payback, 1) {
		t.Errorf("a machine for nothing: %+v", never)
	}
}

// A change after a bad run is warned of; a change that is none is not called
// one; few batches give no verdict, and it is said how many are needed.
func TestBeforeAfterVerdicts(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 5))
	draw := func(n int, mean, spread float64) []float64 {
		xs := make([]float64, n)
		for i := range xs {
			xs[i] = mean * math.Exp(spread*rng.NormFloat64())
		}
		return xs
	}
	steady := draw(40, 10, .1)
	if c := BeforeAfter("minutes", "min", true, steady, draw(40, 7, .1), .1, 1); c.Verdict != Better ||
		c.BadRun {
		t.Errorf("%+v", c.Verdict)
	}
	if c := BeforeAfter("minutes", "min", true, steady, draw(40, 14, .1), .1, 1); c.Verdict != Worse {
		t.Errorf("%+v", c.Verdict)
	}
	if c := BeforeAfter("yield", "", false, steady, draw(40, 14, .1), .1, 1); c.Verdict != Better {
		t.Errorf("%+v", c.Verdict)
	}
	if c := BeforeAfter("minutes", "min", true, draw(300, 10, .1), draw(300, 10, .1), .1,
		1); c.Verdict != Same {
		t.Errorf("%+v", c.Verdict)
	}
	few := BeforeAfter("minutes", "min", true, steady, draw(3, 9, .3), .1, 1)
	if few.Verdict != Unclear || few.More < 2 {
		t.Errorf("%+v", few)
	}
	if c := BeforeAfter("minutes", "min", true, append(draw(40, 10, .1), draw(10, 13, .1)...),
		draw(20, 10, .1), .1, 1); !c.BadRun {
		t.Error("a change after a bad run went unnoticed")
	}
	once, often := BeforeAfter("x", "", true, steady, steady, .1, 1),
		BeforeAfter("x", "", true, steady, steady, .1, 9)
	if often.In[1]-often.In[0] <= once.In[1]-once.In[0] {
		t.Error("looking nine times is as good as looking once")
	}
	if none := BeforeAfter("x", "", true, nil, nil, .1, 0); none.Verdict != Unclear {
		t.Errorf("%+v", none)
	}
}

// A proposal becomes a route revision that keeps what it does not touch.
func TestReleaseOfAProposal(t *testing.T) {
	from := &traveler.Route{Part: "P", Rev: "1", DrawingRev: "B", Operations: []traveler.Operation{
		{Number: 10, WorkCentre: "A", SetupMin: 30, CycleMin: 2, PiecesPerCycle: 1, Clampings: 1,
			Instruction: "turn"},
		{Number: 20, WorkCentre: "B", SetupMin: 30, CycleMin: 4, PiecesPerCycle: 2, Clampings: 1},
		{Number: 30, WorkCentre: "C", SetupMin: 5, CycleMin: 1, PiecesPerCycle: 1, Clampings: 1,
			Instruction: "measure"},
	}}
	r := FromPlan(from, func(traveler.WorkCentre) float64 { return 60 }, nil, nil)
	one, _ := Combined(&r, &Combination{Operations: []traveler.Op{10, 20}, WorkCentre: "X"})
	out := one.Release(from, "2")
	if len(out.Operations) != 2 || out.DrawingRev != "B" || out.Rev != "2" ||
		out.Operations[1] != from.Operations[2] {
		t.Errorf("%+v", out)
	}
	if o := out.Operations[0]; o.WorkCentre != "X" || o.SetupMin != 60 || o.CycleMin != 4 ||
		o.Clampings != 1 || o.Instruction != "turn" {
		t.Errorf("%+v", o)
	}
}

// A comparison over ten years of a part: 500 batches on each route.
func BenchmarkCompareTenYears(b *testing.B) {
	h := &history{rng: rand.New(rand.NewPCG(1, 1)), loss: .025, other: .01, cycle: 10, ratio: .7, worse: .02}
	before, after := h.routes(500, 500)
	old, one := planOf("1", oldOps), planOf("2", 1)
	sa, sb := old.Measure(before), one.Measure(after)
	for b.Loop() {
		Compare(sa, sb, []Figure{EachMinutes, EachCost, Rolled, SetUpTime}, 50, &Costs{Labour: 30}, 2000,
			h.rng)
	}
}

// The curve over batch sizes 1 to 5,000, every one, with break-evens.
func BenchmarkCurve(b *testing.B) {
	x, y := route(5, 40, 3, 0), route(1, 120, 9, 0)
	sizes := make([]int, 5000)
	for i := range sizes {
		sizes[i] = i + 1
	}
	c := &Costs{Labour: 30}
	for b.Loop() {
		x.Curve(sizes, c)
		y.Curve(sizes, c)
		Breaks(x, y, c, false, 5000)
	}
}
