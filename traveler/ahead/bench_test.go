package ahead

import (
	"fmt"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
)

// bigFloor is 60 machines in 20 work centres on two shifts, 500 open batches of
// eight operations, and 100 more each week; the machines are busy for about
// three quarters of their time.
func bigFloor() (*Model, *floor) {
	var machines []traveler.Machine
	for i := range 60 {
		machines = append(machines,
			traveler.Machine{ID: traveler.MachineID(fmt.Sprint("M", i)),
				WorkCentre: traveler.WorkCentre(fmt.Sprint("C", i/3)), Calendar: "two"})
	}
	var routes []traveler.Route
	for p := range 40 {
		r := traveler.Route{Part: fmt.Sprint("P", p), Rev: "A"}
		for k := range 8 {
			r.Operations = append(r.Operations,
				traveler.Operation{Number: traveler.Op(10 * (k + 1)),
					WorkCentre: traveler.WorkCentre(fmt.Sprint("C", (p*7+k*3)%20)), SetupMin: 40, CycleMin: 4,
					PiecesPerCycle: 1})
		}
		routes = append(routes, r)
	}
	shop := new(traveler.Shop).With(&traveler.Change{From: monday.AddDate(-1, 0, 0), Machines: machines,
		Routes: routes, Calendars: []calendar.Calendar{
			{Name: "two", Zone: "UTC",
				Turns: []calendar.Turn{{Kind: calendar.Shift, Days: "mon-fri", From: "06:00", To: "22:00"},
					{Kind: calendar.Break, Days: "mon-fri", From: "12:00", To: "12:30"}}},
		}})
	m := constant(shop)
	m.runs = ratios{all: resid{.6, .8, .9, 1, 1.1, 1.4, 2}}
	m.allPicks = rightCut([]seen{{v: 0}, {v: 600}, {v: 3600}, {v: 7200}, {v: 30000}})
	for range 26 {
		var week []drawn
		for i := range 100 {
			week = append(week,
				drawn{time.Duration(i) * time.Hour, monday.AddDate(0, 0, -7),
					traveler.Release{ID: traveler.ScanID(fmt.Sprint(len(m.weeks), i)),
						Part: fmt.Sprint("P", i%40), RouteRev: "A", Pieces: 60,
						Due: monday.AddDate(0, 0, 10)}})
		}
		m.weeks = append(m.weeks, week)
	}
	fl := &floor{now: monday, shop: shop, zone: time.UTC}
	for i := range 500 {
		j := job{card: traveler.Code(fmt.Sprint("B", i)), part: fmt.Sprint("P", i%40),
			due: monday.AddDate(0, 0, i%20), since: monday.Add(-time.Duration(i) * time.Minute),
			key: uint64(i)}
		for k := i % 8; k < 8; k++ {
			j.todo = append(j.todo, todoOf(&routes[i%40].Operations[k], 60, k))
		}
		fl.jobs = append(fl.jobs, j)
	}
	return m, fl
}

// BenchmarkBigFloor is one forecast of 200 runs; the project's goal is 3 s on one core.
func BenchmarkBigFloor(b *testing.B) {
	m, fl := bigFloor()
	for b.Loop() {
		if f := m.forecast(fl, &Scenario{}, Simulated, runsNow, nil, nil); len(f.Batches) != 500 {
			b.Fatal(len(f.Batches))
		}
	}
}
