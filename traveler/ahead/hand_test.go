package ahead

import (
	"math"
	"reflect"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
)

// dayShop works from Monday to Friday, eight to four, with one lathe and two mills.
func dayShop() *traveler.Shop {
	return new(traveler.Shop).With(&traveler.Change{
		From: monday.AddDate(0, 0, -7),
		Calendars: []calendar.Calendar{
			{Name: "day", Zone: "UTC",
				Turns: []calendar.Turn{{Kind: calendar.Shift, Days: "mon-fri", From: "08:00", To: "16:00"}}}},
		Machines: []traveler.Machine{
			{ID: "L1", WorkCentre: "TURN", Calendar: "day"}, {ID: "M1", WorkCentre: "MILL", Calendar: "day"},
			{ID: "M2", WorkCentre: "MILL", Calendar: "day"},
			{ID: "N1", WorkCentre: "NIGHT", Calendar: "day", Unattended: true},
		},
		Routes: []traveler.Route{{Part: "P", Rev: "A", Operations: []traveler.Operation{
			{Number: 10, WorkCentre: "TURN", SetupMin: 60, CycleMin: 6, PiecesPerCycle: 1},
			{Number: 20, WorkCentre: "MILL", SetupMin: 30, CycleMin: 3, PiecesPerCycle: 1},
		}}, {Part: "P", Rev: "B", Operations: []traveler.Operation{
			{Number: 10, WorkCentre: "NIGHT", SetupMin: 60, CycleMin: 12, PiecesPerCycle: 1},
		}}},
	})
}

// constant is a model in which everything takes what is planned and nobody waits
// for anything but machines.
func constant(shop *traveler.Shop) *Model {
	return &Model{asOf: monday, zone: time.UTC, shop: shop, sameSetup: 1}
}

func forecastOf(t *testing.T, m *Model, shop *traveler.Shop, sc *Scenario, add ...NewBatch) *Forecast {
	t.Helper()
	full := *sc
	full.Add = append(slices.Clone(sc.Add), add...)
	fl, err := (&floor{now: monday, shop: shop, zone: time.UTC}).with(&full)
	if err != nil {
		t.Fatal(err)
	}
	return m.forecast(fl, &full, Simulated, 20, &Correction{}, nil)
}

// Worked out by hand, to the second. Three batches of 30 at one lathe (1 h + 3 h
// each) and two mills (30 + 90 min), by due date, from Monday at eight: the lathe
// ends at 12, 16 and Tuesday 12; the mills follow at once.
func TestByHand(t *testing.T) {
	t.Parallel()
	shop := dayShop()
	at := func(day, hour int) time.Time {
		return monday.AddDate(0, 0, day).Add(time.Duration(hour-8) * time.Hour)
	}
	due := func(d int) time.Time { return at(d, 23) }
	f := forecastOf(t, constant(shop), shop, &Scenario{},
		NewBatch{Card: "third", Part: "P", Rev: "A", Pieces: 30, Due: due(3)},
		NewBatch{Card: "first", Part: "P", Rev: "A", Pieces: 30, Due: due(1)},
		NewBatch{Card: "second", Part: "P", Rev: "A", Pieces: 30, Due: due(2)})
	for card, want := range map[traveler.Code]time.Time{"first": at(0, 14), "second": at(1, 10),
		"third": at(1, 14)} {
		if b := f.Batch(card); !b.Done.P50.Equal(want) || !b.Done.P95.Equal(want) ||
			!b.Delivered.P85.Equal(want) {
			t.Errorf("%s is done %v, want %v", card, b.Done, want)
		}
	}
	if b := f.Batch("third"); b.WaitsMost != "TURN" || b.WaitsLasts != 24*time.Hour || b.OnTime != 1 ||
		b.Slack != due(3).Sub(at(1, 14)) {
		t.Errorf("%+v", b)
	}
	// The lathe is open for 40 h and busy for 12; the first two run on Monday.
	if c := f.Centres[0]; c.WorkCentre != "TURN" || c.Weeks[0].Open != 40*time.Hour ||
		c.Weeks[0].Hours != 12*time.Hour || c.Weeks[0].Batches != 3 {
		t.Errorf("%+v", f.Centres[0])
	}
	if f.HoldsUp != "TURN" {
		t.Errorf("%q holds the shop up", f.HoldsUp)
	}
}

// A machine that runs unattended goes on after four o'clock, but is not set then:
// set from 15 to 16 (after 7 h of another's), 50 pieces of 12 min run until two in
// the morning. Overtime and a lost machine move dates by hours that can be counted.
func TestHoursByHand(t *testing.T) {
	t.Parallel()
	shop := dayShop()
	m := constant(shop)
	f := forecastOf(t, m, shop, &Scenario{}, NewBatch{Card: "a", Part: "P", Rev: "B", Pieces: 30},
		NewBatch{Card: "b", Part: "P", Rev: "B", Pieces: 50})
	if b := f.Batch("b"); !b.Done.P50.Equal(monday.Add(18 * time.Hour)) {
		t.Errorf("done %v, want two in the morning", b.Done.P50)
	}
	three := []NewBatch{{Card: "x", Part: "P", Rev: "A", Pieces: 90, Due: monday.AddDate(0, 0, 5)}}
	// 1 + 9 h at the lathe, then 30 + 270 min: Tuesday 10, 15.
	for _, c := range []struct {
		what string
		sc   Scenario
		want time.Time
	}{
		{"as it stands", Scenario{}, monday.Add(31 * time.Hour)},
		{"two hours more on Monday",
			Scenario{Open: []Stretch{{"L1", monday.Add(8 * time.Hour), monday.Add(10 * time.Hour)}}},
			monday.Add(29 * time.Hour)},
		{"the lathe lost until Tuesday noon",
			Scenario{Shut: []Stretch{{"L1", monday.Add(2 * time.Hour), monday.Add(28 * time.Hour)}}},
			monday.Add(73 * time.Hour)},
		{"on the other route", Scenario{Route: []Reroute{{"x", "B"}}}, monday.Add(19 * time.Hour)},
	} {
		full := c.sc
		full.Add = three
		fl, err := (&floor{now: monday, shop: shop, zone: time.UTC}).with(&Scenario{Add: three})
		if err != nil {
			t.Fatal(err)
		}
		if fl, err = fl.with(&c.sc); err != nil {
			t.Fatal(err)
		}
		if b := m.forecast(fl, &full, Simulated, 5, &Correction{}, nil).Batch("x"); !b.Done.P50.Equal(
			c.want) {
			t.Errorf("%s: done %v, want %v", c.what, b.Done.P50, c.want)
		}
	}
}

// The line of three batches at one machine, with times that spread: the same seed
// gives the same answer; one that goes first is never later for it, with the same
// draws; and no more open hours are used than there are.
func TestDrawsAreHeld(t *testing.T) {
	t.Parallel()
	shop := dayShop()
	m := constant(shop)
	m.runs = ratios{all: resid{.5, .8, 1, 1.3, 2.4}}
	m.allPicks = rightCut([]seen{{v: 0}, {v: 600}, {v: 7200}, {v: 30000}})
	rapid.Check(t, func(t *rapid.T) {
		var add []NewBatch
		n := rapid.IntRange(2, 12).Draw(t, "batches")
		for i := range n {
			add = append(add, NewBatch{
				Card: traveler.Code(rune('a' + i)), Part: "P", Rev: "B",
				Pieces: rapid.IntRange(1, 200).Draw(t, "pieces"),
				Due:    monday.AddDate(0, 0, rapid.IntRange(-3, 30).Draw(t, "due")),
				From:   monday.Add(time.Duration(rapid.IntRange(0, 90).Draw(t, "from")) * time.Hour),
			})
		}
		fl, err := (&floor{now: monday, shop: shop, zone: time.UTC}).with(&Scenario{Add: add})
		if err != nil {
			t.Fatal(err)
		}
		play := func(sc *Scenario) *drawnRuns {
			s := m.compile(fl, sc, Simulated)
			s.out.prepare(s, true)
			r := &drawnRuns{}
			for k := range 6 {
				s.out.loading = true
				s.run(k, true)
				r.done = append(r.done, slices.Clone(s.out.done))
			}
			r.sim = s
			return r
		}
		one, again := play(&Scenario{}), play(&Scenario{})
		if !reflect.DeepEqual(one.done, again.done) {
			t.Fatal("the same seed gives another answer")
		}
		for c := range one.sim.centres {
			for w := range weeksAhead {
				open := 0.0
				for _, k := range one.sim.centres[c].machines {
					h := one.sim.machines[k].hours
					open += h.passed(one.sim.out.edges[w+1]) - h.passed(one.sim.out.edges[w])
				}
				if used := one.sim.out.hours[c][w] / 6; used > open+1e-6 {
					t.Fatalf("%v s used of %v", used, open)
				}
			}
		}
		i := rapid.IntRange(0, n-1).Draw(t, "first")
		first := play(&Scenario{First: []traveler.Code{add[i].Card}})
		for r := range one.done {
			if first.done[r][i] > one.done[r][i]+1e-6 {
				t.Fatalf("run %d: first %v, before %v", r, first.done[r][i], one.done[r][i])
			}
		}
	})
}

type drawnRuns struct {
	done [][]float64
	sim  *sim
}

// The simulator's own draws have uniform levels among its forecasts: of 400 floors,
// run 0 taken for the truth among 99 others. Kolmogorov and Smirnov's bound for 1 in
// 1,000 is 1.95 over the root of the number (from memory); the floors are separate.
func TestOwnDrawsAreUniform(t *testing.T) {
	t.Parallel()
	shop := dayShop()
	m := constant(shop)
	m.runs = ratios{all: resid{.5, .8, 1, 1.3, 2.4}}
	m.allPicks = rightCut([]seen{{v: 0}, {v: 600}, {v: 7200}, {v: 30000}})
	var ranks []float64
	for floorNo := range 400 {
		var add []NewBatch
		for i := range 5 {
			u := level(8, uint64(floorNo), i, 90)
			add = append(add,
				NewBatch{Part: "P", Rev: []string{"A", "B"}[i%2], Pieces: 5 + int(u*60),
					Due: monday.AddDate(0, 0, int(u*9))})
		}
		fl, err := (&floor{now: monday, shop: shop, zone: time.UTC}).with(&Scenario{Add: add})
		if err != nil {
			t.Fatal(err)
		}
		s := m.compile(fl, &Scenario{}, Simulated)
		s.seed = uint64(floorNo)
		s.out.prepare(s, false)
		truth, below, same := 0.0, 0.0, 0.0
		for r := range 100 {
			s.run(r, false)
			switch d := s.out.done[2]; {
			case r == 0:
				truth = d
			case d < truth:
				below++
			case d == truth:
				same++
			}
		}
		ranks = append(ranks, (below+level(9, uint64(floorNo), 0, 91)*(same+1))/100)
	}
	slices.Sort(ranks)
	worst := 0.0
	for i, r := range ranks {
		worst = max(worst, math.Abs(r-float64(i)/400), math.Abs(r-float64(i+1)/400))
	}
	if worst > 1.95/20 {
		t.Errorf("levels are %.3f from uniform", worst)
	}
}

// What has gone on for longer than anything before stays finite, and beyond now.
func TestLongerThanAllHistory(t *testing.T) {
	t.Parallel()
	d := rightCut([]seen{{v: 10}, {v: 20}, {50, true}})
	for _, u := range []float64{0, .5, .999999} {
		for _, x := range []float64{0, 15, 50, 1e9} {
			if v := d.drawAbove(u, x); v < x || math.IsInf(v, 0) || math.IsNaN(v) || v > max(50, 1.25*x) {
				t.Errorf("above %v at %v: %v", x, u, v)
			}
		}
	}
	shop := dayShop()
	m := constant(shop)
	m.runs = ratios{all: resid{.9, 1.1}}
	fl := &floor{now: monday, shop: shop, zone: time.UTC, jobs: []job{{
		card: "old", stage: atWork, machine: "L1", since: monday.AddDate(0, 0, -90), settled: true,
		spentRun: 1e6,
		todo:     []todo{{op: 10, wc: "TURN", run: 3600, pieces: 10}},
	}}}
	if b := m.forecast(fl, &Scenario{}, Simulated, 50, &Correction{}, nil).Batch("old"); !b.Done.P50.After(
		monday) || b.Done.P95.After(monday.AddDate(1, 0, 0)) {
		t.Errorf("%+v", b.Done)
	}
}

// A machine takes the third of three batches next, this once: worked out by hand, it
// is done at twelve at the lathe, and the two before it four hours later each.
func TestTakenNextByHand(t *testing.T) {
	t.Parallel()
	shop := dayShop()
	m := constant(shop)
	fl := &floor{now: monday, shop: shop, zone: time.UTC}
	for i, card := range []traveler.Code{"a", "b", "c"} {
		fl.jobs = append(fl.jobs, job{
			card: card, due: monday.AddDate(0, 0, i+1), since: monday.Add(-time.Hour), key: uint64(i),
			todo: []todo{{op: 10, wc: "TURN", setup: 3600, run: 3 * 3600, pieces: 30}},
		})
	}
	sc := &Scenario{Take: []Taking{{"L1", "c"}}}
	fl, err := fl.with(sc)
	if err != nil {
		t.Fatal(err)
	}
	f := m.forecast(fl, sc, Simulated, 5, nil, nil)
	for card, took := range map[traveler.Code]time.Duration{"c": 4 * time.Hour, "a": 8 * time.Hour,
		"b": 28 * time.Hour} {
		if got := f.Batch(card).Done.P50; !got.Equal(monday.Add(took)) {
			t.Errorf("%s is done %v, want %v after %v", card, got, took, monday)
		}
	}
	if _, err := fl.with(&Scenario{Take: []Taking{{"X", "c"}}}); traveler.KindOf(
		err) != traveler.KindInvalid {
		t.Errorf("a machine that is not there: %v", err)
	}
}
