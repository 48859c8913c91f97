package study

import (
	"math"
	"testing"
)

// By hand: one operation, 10 pieces, no costs but the machine's 60 an hour, that
// is 1 a minute. Well: (20 + 10 x 2) min / (10 x 1) = 4; badly: (40 + 10 x 4) /
// (10 x 0.5) = 16; likely: (30 + 10 x 3) / (10 x 0.8) = 7.5.
func TestRangeByHand(t *testing.T) {
	r := Route{Steps: []Step{{
		SetUp: Value{20, 30, 40, Assumed, 0}, Piece: Value{2, 3, 4, Assumed, 0},
		Yield: Value{0.5, 0.8, 1, Assumed, 0}, Rate: 60,
	}}}
	low, high := r.Range(10, &Costs{}, EachMinutes)
	if math.Abs(low-4) > 1e-9 || math.Abs(high-16) > 1e-9 {
		t.Errorf("%v to %v, by hand 4 to 16", low, high)
	}
	if x := r.Of(10, &Costs{}); math.Abs(x.EachMin-7.5) > 1e-9 || r.Steps[0].SetUp.Likely != 30 {
		t.Errorf("likely %v, by hand 7.5; set-up left at %v", x.EachMin, r.Steps[0].SetUp.Likely)
	}
	if low, high = r.Range(10, &Costs{}, EachCost); math.Abs(low-4) > 1e-9 || math.Abs(high-16) > 1e-9 {
		t.Errorf("%v to %v of money, by hand 4 to 16", low, high)
	}
}

// A route with a long set-up and a short piece against one with a short set-up
// and a long piece, by hand: 60/q + 2 against 10/q + 3 cross at 50 pieces. With
// 54 to 66 minutes of set-up the crossing lies between 44 and 56.
func TestAlongByHand(t *testing.T) {
	value := func(x float64) Value { return Sure(x, Planned) }
	a := Route{Steps: []Step{{SetUp: value(10), Piece: value(3), Yield: value(1)}}}
	b := Route{Steps: []Step{{SetUp: Value{54, 60, 66, Assumed, 0}, Piece: value(2), Yield: value(1)}}}
	got := Along(a.Measure(nil), b.Measure(nil), Sizes(200), &Costs{}, EachMinutes)
	want := []Stretch{{1, 43, true, false}, {44, 56, false, false}, {57, 200, true, true}}
	if len(got) != len(want) {
		t.Fatalf("%+v", got)
	}
	for i := range want {
		// Sizes are two in a hundred apart there.
		if got[i].Sure != want[i].Sure || got[i].Second != want[i].Second ||
			math.Abs(float64(got[i].From-want[i].From)) > 1 || math.Abs(float64(got[i].To-want[i].To)) > 1 {
			t.Errorf("stretch %d is %+v, by hand %+v", i, got[i], want[i])
		}
	}
	if got := Crossings(func(q float64) float64 { return 10/q + 3 },
		func(q float64) float64 { return 60/q + 2 }, 1, 200); len(got) != 1 ||
		math.Abs(got[0].Size-50) > 1e-6 {
		t.Errorf("%+v", got)
	}
}

// What a route costs once is paid once, whatever the demand.
func TestCaseCountsWhatRoutesCostOnce(t *testing.T) {
	step := []Step{{WorkCentre: "TM", Piece: Sure(6, Planned), Yield: Sure(1, Planned)}}
	m := Machine{WorkCentre: "TM", Price: 1000, OneOff: 200, OpenWeek: 80, Weeks: 46}
	members := []Member{
		{Part: "A", Demand: 100, Size: 10, Now: Route{Steps: step}, Then: Route{Steps: step, OneOff: 34}}}
	for _, factor := range []float64{0.5, 1, 2} {
		if x := CaseOf(&m, members, &Costs{}, &Worth{}, factor); x.Invest != 1234 {
			t.Errorf("at %v of the demand %v is paid once, by hand 1234", factor, x.Invest)
		}
	}
}

// How sure one route is the better one over 160 batch sizes, from ten years of
// batches of either.
func BenchmarkAlong(b *testing.B) {
	side := func(minutes float64) *Samples {
		r := &Route{}
		for range 8 {
			r.Steps = append(r.Steps,
				Step{SetUp: Sure(minutes, Measured), Piece: Sure(minutes/10, Measured),
					Yield: Sure(0.98, Measured), Rate: 60})
		}
		s := &Samples{route: r}
		for i := range 500 {
			row := make([]float64, columns*len(r.Steps))
			for k := range r.Steps {
				copy(row[at(k, 0):], []float64{minutes + float64(i%7), 1, 50 * minutes / 10, 50, 49, 50})
			}
			s.rows = append(s.rows, row)
		}
		return s
	}
	one, two := side(30), side(40)
	var sizes []int
	for i, q := range Sizes(5000) {
		if i < 30 || i%3 == 0 {
			sizes = append(sizes, q)
		}
	}
	for b.Loop() {
		Along(one, two, sizes, &Costs{}, EachCost)
	}
}
