package board_test

import (
	"fmt"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/board"
	"tallywalk/traveler/story"
)

var eight = time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)

// folded is the family of a batch of twenty that goes through two operations.
func folded(shop *traveler.Shop, scans ...traveler.Scan) *story.Family {
	code, _ := traveler.NewCode(traveler.KindBatch, 3)
	f := story.Fold(shop, []*traveler.Entry{{Seq: 1, Arrived: eight, Card: code, Release: &traveler.Release{
		Part: "P", RouteRev: "A", Pieces: 20, Due: eight.AddDate(0, 0, -1).Truncate(24 * time.Hour),
	}}})
	for i := range scans {
		s := &scans[i]
		s.ID, s.At = traveler.ScanID(fmt.Sprintf("00000000-0000-7000-8000-%012d", i)), eight.Add(
			time.Duration(i+1)*time.Hour)
		f, _ = f.Add(shop, &traveler.Entry{
			Seq: traveler.Seq(i + 2), Arrived: s.At, Card: code, Machine: traveler.MachineID(s.Station),
			Scan: s, By: traveler.Actor{Name: "a", Role: traveler.RoleOperator},
		})
	}
	return f
}

func shop() *traveler.Shop {
	return new(traveler.Shop).With(&traveler.Change{From: eight,
		Machines: []traveler.Machine{{ID: "L1", WorkCentre: "TURN"}, {ID: "M2", WorkCentre: "MILL"}},
		Routes: []traveler.Route{{
			Part: "P", Rev: "A", Operations: []traveler.Operation{
				{Number: 10, WorkCentre: "TURN", SetupMin: 30, CycleMin: 3, PiecesPerCycle: 1},
				{Number: 20, WorkCentre: "MILL", CycleMin: 2, PiecesPerCycle: 1},
			},
		}}})
}

func scan(station string, act traveler.Action, good int) traveler.Scan {
	s := traveler.Scan{Station: station, Action: act}
	if good > 0 {
		s.Good = &good
	}
	return s
}

// What a batch puts on the board as it goes through the shop. Planned times
// are the route's: 20 pieces of 3 minutes are 3600 seconds.
func TestRows(t *testing.T) {
	for _, c := range []struct {
		name  string
		scans []traveler.Scan
		want  string
	}{
		{"released", nil, "wait TURN 10 waiting 20 late"},
		{"setting", []traveler.Scan{scan("L1", traveler.ActSetup, 0)},
			"work TURN 10 setting 20 late plan 1800"},
		{"sent ahead", []traveler.Scan{scan("L1", traveler.ActRun, 0), scan("L1", traveler.ActCount, 8)},
			"wait MILL 20 waiting 8 late; work TURN 10 running 12 late plan 3600"},
		{"turned", []traveler.Scan{scan("L1", traveler.ActRun, 0), scan("L1", traveler.ActFinish, 20)},
			"wait MILL 20 waiting 20 late"},
		{"short finish", []traveler.Scan{scan("L1", traveler.ActRun, 0), scan("L1", traveler.ActFinish, 15)},
			"wait MILL 20 waiting 15 late"},
		{"delivered without a finish", []traveler.Scan{
			scan("L1", traveler.ActRun, 0), scan("L1", traveler.ActFinish, 20),
			scan("M2", traveler.ActRun, 0), scan("M2", traveler.ActCount, 20),
			scan("M2", traveler.ActDeliver, 0),
		}, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := ""
			s := shop()
			rows := board.Rows(s, folded(s, c.scans...), "2026-03-02", eight.Add(20*time.Hour))
			for i, r := range rows {
				if i > 0 {
					got += "; "
				}
				got += fmt.Sprintf("%s %s %d %s %d", r.Kind, r.WorkCentre, r.Operation, r.State, r.Pieces)
				if r.Late {
					got += " late"
				}
				if r.PlannedS > 0 {
					got += fmt.Sprintf(" plan %.0f", r.PlannedS)
				}
			}
			if got != c.want {
				t.Errorf("\n got %s\nwant %s", got, c.want)
			}
		})
	}
}

// The rule that the page states: what is hot first, then due date, then priority, then the longest
// wait; without a due date last.
func TestSort(t *testing.T) {
	rows := []board.Row{
		{Key: "none", Since: eight}, {Key: "later", Due: "2026-03-09", Since: eight},
		{Key: "short", Due: "2026-03-05", Since: eight.Add(time.Hour)},
		{Key: "long", Due: "2026-03-05", Since: eight},
		{Key: "ahead", Due: "2026-03-05", Priority: 5, Since: eight.Add(2 * time.Hour)},
		{Key: "hot", Due: "2026-04-01", Hot: true, Since: eight},
		{Key: "hot without", Hot: true, Since: eight},
	}
	board.Sort(rows)
	got := ""
	for _, r := range rows {
		got += r.Key + " "
	}
	if got != "hot hot without ahead long short later none " {
		t.Error(got)
	}
}
