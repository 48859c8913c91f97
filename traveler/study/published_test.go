package study

import (
	"math"
	"testing"

	"tallywalk/traveler"
)

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s = %v, want %v", what, got, want)
	}
}

// route makes a route of so many steps alike: minutes of set-up, of a piece, and
// of waiting.
func route(steps int, setUp, piece, wait float64) *Route {
	r := &Route{}
	for i := range steps {
		r.Steps = append(r.Steps, Step{
			Operation: traveler.Op(10 * (i + 1)), WorkCentre: "W", Clampings: 1, SetUp: Sure(setUp, Planned),
			Piece: Sure(piece, Planned),
			Yield: Sure(1, Planned), Wait: Sure(wait, Planned),
		})
	}
	return r
}

// Groover, Automation, Production Systems and Computer-Integrated Manufacturing:
// MLT = no (Tsu + Q Tc + Tno), its problems as the texts give them; answers
// computed.
func TestManufacturingLeadTime(t *testing.T) {
	for _, x := range []struct {
		what                   string
		ops                    int
		setUp, cycle, wait, of float64 // minutes; of pieces
		hours                  float64
	}{
		{"five operations, 100 pieces", 5, 180, 6, 450, 100, 102.5},
		{"ten machines, 50 parts", 10, 240, 15, 480, 50, 245},
		{"30 batches of 60", 10, 240, 18, 510, 60, 305},
		{"many set-ups, one part", 10, 180, 60, 720, 1, 160},
	} {
		r := route(x.ops, x.setUp, x.cycle, x.wait).Of(x.of, &Costs{})
		near(t, x.what, r.LeadMin/60, x.hours, 1e-9)
	}
}

// Groover's many set-ups against one: ten operations of .5 h cutting, .3
// handling and .2 tool change, set for 3 h and waiting 12 each, on 8 machines of
// 40 h a week; or complete in one set-up of 2 h, cutting at .8, handled once,
// tool change at .5, on 2 machines. Text of the source, answers computed.
func TestManySetUpsAgainstOne(t *testing.T) {
	old := route(10, 180, 60, 720).Of(1, &Costs{})
	one := route(1, 120, 60*(10*.5*.8+.3+10*.2*.5), 720).Of(1, &Costs{})
	near(t, "cycle", one.RunMin/60, 5.3, 1e-9)
	near(t, "lead time", one.LeadMin/60, 19.3, 1e-9)
	capacity := func(machines float64, r *Result) float64 { return machines * 40 * 60 / r.MachineMin }
	near(t, "old a week", capacity(8, &old), 8, 1e-9)
	near(t, "new a week", capacity(2, &one), 10.96, 5e-3)
	// Little's law, in weeks of 40 h.
	near(t, "old in progress", capacity(8, &old)*old.LeadMin/60/40, 32, 1e-9)
	near(t, "new in progress", capacity(2, &one)*one.LeadMin/60/40, 5.29, 5e-3)
}

// Groover's irregular element: three pieces a cycle of 1.5 min, .5 min of
// handling, and 4 min for each tray of 27; 4 h of set-up, 2,700 pieces.
func TestIrregularElement(t *testing.T) {
	cycle := 1.5 + .5 + 4.0/(27/3)
	near(t, "cycle", cycle, 2.444, 5e-4)
	near(t, "batch", route(1, 240, cycle/3, 0).Of(2700, &Costs{}).MachineMin/60, 40.67, 5e-3)
}

// Shigley's Mechanical Engineering Design, Fig. 1-3: an automatic at 25 an hour
// with 3 h of set-up against a hand machine at 10 an hour, $20 an hour each:
// they cross at 50 parts, at $100.
func TestBreakEvenOfTwoMachines(t *testing.T) {
	automatic, hand := route(1, 180, 60.0/25, 0), route(1, 0, 6, 0)
	automatic.Steps[0].Rate, hand.Steps[0].Rate = 20, 20
	c := &Costs{Currency: "USD"}
	x := Breaks(hand, automatic, c, false, 500)
	if len(x) != 1 || !x[0].Second {
		t.Fatalf("%+v", x)
	}
	near(t, "break-even", x[0].Size, 50, 1e-6)
	near(t, "automatic", automatic.Of(50, c).Cost, 100, 1e-9)
	near(t, "hand", hand.Of(50, c).Cost, 100, 1e-9)
}

// A textbook of manufacturing economics, as public notes quote it: engine lathe
// 10 min at $23/h + $.30, turret lathe 2 min at $34/h + $.15 and 2 h of set-up
// for each 200 begun. Answers computed.
func TestBreakEvenByASteppedSetUp(t *testing.T) {
	engine := func(q float64) float64 { return q * (10.0/60*23 + .30) }
	turret := func(q float64) float64 { return 2*34*math.Ceil(q/200) + q*(2.0/60*34+.15) }
	for _, x := range []struct{ q, engine, turret float64 }{{100, 413.33, 196.33}, {290, 1198.67, 508.17},
		{700, 2893.33, 1170.33}} {
		near(t, "engine lathe", engine(x.q), x.engine, 5e-3)
		near(t, "turret lathe", turret(x.q), x.turret, 5e-3)
	}
	x := Crossings(engine, turret, 1, 1000)
	if len(x) != 1 || !x[0].Second {
		t.Fatalf("%+v", x)
	}
	near(t, "break-even", x[0].Size, 23.86, 5e-3)
}

// Soft against hard tooling (600 + 100 a batch + 3.40 against 7,500 + 60 +
// .80, batches of 500), and a fixture of $128 that saves $.14 a part: public
// textbook problems, break-evens computed.
func TestBreakEvenOfTooling(t *testing.T) {
	soft := func(n float64) float64 { return 600 + 100*n/500 + 3.4*n }
	hard := func(n float64) float64 { return 7500 + 60*n/500 + .8*n }
	x := Crossings(soft, hard, 1, 5000)
	if len(x) != 1 || !x[0].Second || math.Ceil(x[0].Size) != 2575 {
		t.Fatalf("%+v", x)
	}
	near(t, "tooling", x[0].Size, 2574.63, 5e-3)
	without, with := func(n float64) float64 { return .24 * n }, func(n float64) float64 {
		return 128 + .10*n
	}
	near(t, "saving on 1,500", without(1500)-with(1500), 82, 1e-9)
	near(t, "fixture", Crossings(without, with, 1, 2000)[0].Size, 914.3, 5e-2)
}

// Hopp and Spearman, Factory Physics (3rd ed.): queue time at a utilisation of
// 23/24 with process times of 20 min, and what set-ups do to process times.
// Values second-hand and recomputed.
func TestQueueTime(t *testing.T) {
	const u, te = 23.0 / 24, 20.0
	near(t, "variable", QueueTime(1, 6.25, u, te, 1), 1667.5, 1e-6)
	near(t, "steadier", QueueTime(1, 1, u, te, 1), 460, 1e-6)
	cd2 := u*u*6.25 + (1 - u*u)
	near(t, "departures", cd2, 5.8216, 5e-5)
	near(t, "next station", QueueTime(cd2, 1, u, te, 1), 1568.97, 5e-3)
	near(t, "three machines, hours", QueueTime(1, 1, u, te, 3)/60, 2.467, 5e-4)
	if !math.IsInf(QueueTime(1, 1, 1, te, 1), 1) {
		t.Error("a machine that is always busy has no end of its queue")
	}
	te1, ce1 := WithSetUps(1, .25, 2, .25, 10)
	te2, ce2 := WithSetUps(1, .25, 1, .25, 5)
	near(t, "te, set-ups of 2 h", te1, 1.2, 1e-9)
	near(t, "ce2, set-ups of 2 h", ce1, .3108, 5e-5)
	near(t, "te, set-ups of 1 h", te2, 1.2, 1e-9)
	near(t, "ce2, set-ups of 1 h", ce2, .1632, 5e-5)
	if k, ok := SmallestStable(1, 5, .4); k != 4 || !ok {
		t.Errorf("smallest stable batch %d", k)
	}
	if _, ok := SmallestStable(2, 5, .5); ok {
		t.Error("a machine that is too slow without set-ups has no stable batch")
	}
}

// Chained scrap (Tompkins, Facilities Planning, from memory): 97,000 wanted after
// .04, .01 and .03.
func TestChainedScrap(t *testing.T) {
	r := route(3, 0, 1, 0)
	for i, s := range []float64{.04, .01, .03} {
		r.Steps[i].Yield = Sure(1-s, Planned)
	}
	near(t, "chained scrap", r.Of(105_218.9, &Costs{}).Good, 97_000, .1)
}

// Common practice of the trade, no source: a part in several set-ups on three
// machines with 4 + 2 + 2 min of machining, of which 10 to 15 in 100 are lost
// from being moved between set-ups, against 4 min complete in one. So machining
// minutes of a good piece fall from 8.89..9.41 to 4, by 55 to 57.5 %.
func TestCompleteInOneSetUp(t *testing.T) {
	one := route(1, 0, 4, 0).Of(100, &Costs{})
	for yield, want := range map[float64][2]float64{.90: {8.89, .55}, .85: {9.41, .575}} {
		many := route(3, 0, 2, 0)
		many.Steps[0].Piece = Sure(4, Planned)
		many.Steps[2].Yield = Sure(yield, Planned)
		r := many.Of(100, &Costs{})
		near(t, "minutes of a good piece", r.EachMin, want[0], 5e-3)
		near(t, "they fall by", 1-one.EachMin/r.EachMin, want[1], 1e-9)
	}
	// About .97 to .98 a set-up makes that loss in five set-ups.
	for _, y := range []float64{.97, .98} {
		five := route(5, 0, 1, 0)
		for i := range five.Steps {
			five.Steps[i].Yield = Sure(y, Planned)
		}
		if lost := 1 - five.Of(100, &Costs{}).Yield; lost < .09 || lost > .15 {
			t.Errorf("five set-ups at %v lose %v", y, lost)
		}
	}
}
