package board_test

import (
	"slices"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/board"
	"tallywalk/traveler/ground"
	"tallywalk/traveler/story"
)

var noon = eight.Add(4 * time.Hour)

// hall has stores left of the origin, a lathe and a mill.
func hall() *traveler.Shop {
	return new(traveler.Shop).With(&traveler.Change{From: eight, Machines: []traveler.Machine{
		{ID: "ST", Kind: "stores", X: -4.25, Y: -2}, {ID: "L1", WorkCentre: "TURN", X: 3, Y: 0},
		{ID: "M2", WorkCentre: "MILL", X: 3, Y: 8},
	}})
}

func placesByID(t *testing.T, shop *traveler.Shop, rows []board.Row) (map[traveler.MachineID]board.Place,
	int) {
	t.Helper()
	list, unplaced := board.Places(shop, rows, noon)
	out := map[traveler.MachineID]board.Place{}
	for _, p := range list {
		if p.Key != "place/"+string(p.Machine) {
			t.Errorf("%s has the key %q", p.Machine, p.Key)
		}
		out[p.Machine] = p
	}
	return out, unplaced
}

// A batch lies where it was scanned last; one that was never carried lies in
// the stores, and without stores nobody can say.
func TestWhereBatchesLie(t *testing.T) {
	rows := []board.Row{
		{Kind: "wait", Card: "A", Pieces: 20, Since: noon.Add(-time.Hour)},
		{Kind: "wait", Card: "B", Pieces: 5, Since: noon.Add(-3 * time.Hour), Place: "L1", Machine: "M2",
			Late: true},
		{Kind: "wait", Card: "C", Pieces: 7, Since: noon.Add(-2 * time.Hour), Place: "L1", Machine: "M2",
			Arrived: true, State: "held"},
		{Kind: "wait", Card: "D", Pieces: 9, Since: noon.Add(-5 * time.Hour), Place: "scrapped long ago"},
	}
	got, unplaced := placesByID(t, hall(), rows)
	if unplaced != 1 {
		t.Errorf("%d batches are nowhere, want D only", unplaced)
	}
	for id, want := range map[traveler.MachineID]board.Place{
		"ST": {Waits: 1, Pieces: 20, Oldest: noon.Add(-time.Hour)},
		"L1": {Waits: 1, Pieces: 5, Late: 1, Oldest: noon.Add(-3 * time.Hour)},
		"M2": {Waits: 1, Pieces: 7, Held: 1, Oldest: noon.Add(-2 * time.Hour)},
	} {
		p := got[id]
		if p.Waits != want.Waits || p.Pieces != want.Pieces || p.Late != want.Late || p.Held != want.Held ||
			!p.Oldest.Equal(want.Oldest) || p.State != board.StateFree {
			t.Errorf("%s: %+v, want %+v", id, p, want)
		}
	}
	bare := new(traveler.Shop).With(&traveler.Change{From: eight, Machines: []traveler.Machine{{ID: "L1"}}})
	if _, unplaced := placesByID(t, bare, rows[:1]); unplaced != 1 {
		t.Error("without stores, someone knew where a batch lies that was never scanned")
	}
}

// A machine with several works shows the one that says most: running before
// setting before stopped.
func TestWhatAPlaceSays(t *testing.T) {
	rows := []board.Row{
		{Kind: "work", Machine: "L1", Card: "A", State: "stopped", Reason: "tool"},
		{Kind: "work", Machine: "L1", Card: "B", State: "running", WorksOrder: "W-2", Since: noon},
		{Kind: "work", Machine: "L1", Card: "C", State: "setting"},
		{Kind: "work", Machine: "M2", Card: "D", State: "stopped", Reason: "tool"},
		{Kind: "work", Machine: "gone", Card: "E", State: "running"},
	}
	got, unplaced := placesByID(t, hall(), rows)
	if p := got["L1"]; p.State != "running" || p.Card != "B" || p.WorksOrder != "W-2" || p.Reason != "" ||
		p.Works != 3 {
		t.Errorf("L1: %+v", p)
	}
	if p := got["M2"]; p.State != "stopped" || p.Reason != "tool" || p.Works != 1 {
		t.Errorf("M2: %+v", p)
	}
	if unplaced != 0 {
		t.Errorf("%d unplaced: only what waits lies somewhere", unplaced)
	}
}

func TestTotalsCountBatchesOnce(t *testing.T) {
	got := board.Total([]board.Row{
		{Kind: "wait", Card: "A", Late: true}, {Kind: "wait", Card: "A", Late: true},
		{Kind: "wait", Card: "B", State: "held"},
		{Kind: "work", Card: "A"}, {Kind: "work", Card: "C", Late: true},
	})
	if want := (board.Totals{Waits: 2, Late: 1, Held: 1, Works: 2}); got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
}

// Legs add trips up by their ends and direction; lengths are those of the plan.
// By hand: ST to L1 is 7.25 + 2 in a rectangle, L1 to M2 has an aisle of 8 m.
func TestLegsOfWalks(t *testing.T) {
	plan := ground.New(hall().Machines(noon),
		traveler.Layout{Aisles: []traveler.Aisle{{From: "L1", To: "M2"}}})
	walks := []board.Walk{
		{Card: "A", From: "L1", To: "M2", At: noon},
		{Card: "A", From: "L1", To: "M2", At: noon.Add(time.Hour)},
		{Card: "B", From: "L1", To: "M2", At: noon},
		{Card: "A", From: "M2", To: "L1", At: noon},
	}
	want := []board.Leg{
		{Key: "leg/L1>M2", From: "L1", To: "M2", Trips: 3, Batches: 2, Metres: 8, By: ground.Aisles,
			Path: "3,0 3,8"},
		{Key: "leg/M2>L1", From: "M2", To: "L1", Trips: 1, Batches: 1, Metres: 8, By: ground.Aisles,
			Path: "3,8 3,0"},
	}
	if got := board.Legs(plan, walks); !slices.Equal(got, want) {
		t.Errorf("%+v\nwant %+v", got, want)
	}
	bare := ground.New(hall().Machines(noon), traveler.Layout{})
	got := board.Legs(bare, []board.Walk{{Card: "A", From: "ST", To: "L1", At: noon}})
	if len(got) != 1 || got[0].Metres != 9.25 || got[0].By != ground.Rectangular ||
		got[0].Path != "-4.25,-2 3,-2 3,0" {
		t.Errorf("%+v", got)
	}
}

func TestWalksOfAPeriod(t *testing.T) {
	b := &story.BatchFact{Card: "A",
		Trip: []story.TripFact{{From: "ST", To: "L1", At: eight}, {From: "L1", To: "M2", At: noon}}}
	for _, c := range []struct {
		from, to time.Time
		want     int
	}{{time.Time{}, time.Time{}, 2}, {noon, time.Time{}, 1}, {time.Time{}, noon, 1}, {eight, noon.Add(1), 2},
		{noon.Add(1), time.Time{}, 0}} {
		if got := board.WalksOf(b, c.from, c.to); len(got) != c.want {
			t.Errorf("from %v to %v: %+v", c.from, c.to, got)
		}
	}
}
