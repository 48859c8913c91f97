package board_test

import (
	"fmt"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/board"
	"tallywalk/traveler/calendar"
	"tallywalk/traveler/ground"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
)

// fact is a batch at operation 10 of part P: one set-up, and pieces made in a
// run, in minutes; planned are 30 min of set-up and 3 min a piece.
func fact(root string, setup, run float64, made int, inferred bool) *story.BatchFact {
	minute := func(m float64) time.Duration { return time.Duration(m * float64(time.Minute)) }
	v := story.VisitFact{Operation: 10, Begun: eight, NoStart: inferred, Waited: minute(20)}
	v.Parts.Queue, v.Parts.Transport = minute(40), minute(5)
	return &story.BatchFact{
		Root: traveler.Code(root), Part: "P", Rev: "A", Visits: []story.VisitFact{v},
		Ops: []story.OpFact{{
			Operation: 10, WorkCentre: "TURN", PlanSetup: minute(30), PlanPiece: minute(3), Closed: true,
			Inferred: inferred,
			Setup:    minute(setup), Setups: 1, Run: minute(run), Made: made,
		}},
	}
}

// The spreads are percentiles of type 7 (Hyndman and Fan 1996): of 31, 33, 35,
// 39, 47 the quartiles are 33, 35 and 39, as R's quantile() gives them too.
func TestPaceOfAnOperation(t *testing.T) {
	p := board.NewPace()
	for i, setup := range []float64{47, 31, 39, 33, 35} {
		root := fmt.Sprint("B", i)
		p.Put(traveler.Code(root), []story.BatchFact{*fact(root, setup, 40, 10, false)})
	}
	p.Put("B9", []story.BatchFact{*fact("B9", 500, 900, 1, true)})
	rows := p.Rows()
	if len(rows) != 1 {
		t.Fatalf("%+v", rows)
	}
	r := rows[0]
	if want := (board.Spread{N: 5, Mean: 37 * 60, P25: 33 * 60, P50: 35 * 60,
		P75: 39 * 60}); r.Setup != want {
		t.Errorf("set-up %+v, want %+v", r.Setup, want)
	}
	if want := (board.Spread{N: 5, Mean: 240, P25: 240, P50: 240, P75: 240}); r.Piece != want {
		t.Errorf("piece %+v, want %+v", r.Piece, want)
	}
	if r.Wait.N != 5 || r.Wait.P50 != 45*60 || r.Worked.P50 != 20*60 {
		t.Errorf("wait %+v, worked %+v", r.Wait, r.Worked)
	}
	if r.Batches != 6 || r.LeftOut != 1 || r.PlanSetup != 1800 || r.PlanPiece != 180 {
		t.Errorf("%+v", r)
	}
	// By hand: planned 5 x (30 + 10 x 3) = 300 min; actual 185 + 5 x 40 = 385.
	if r.Plan != 300*60 || r.Actual != 385*60 {
		t.Errorf("planned %v, actual %v", r.Plan, r.Actual)
	}
}

// A family's facts take the place of what was known of it, and a plan changed
// for one batch does not become the operation's.
func TestPaceIsPutAgain(t *testing.T) {
	p := board.NewPace()
	for i := range 3 {
		root := fmt.Sprint("B", i)
		p.Put(traveler.Code(root), []story.BatchFact{*fact(root, 30, 40, 10, false)})
	}
	own := fact("B2", 60, 40, 10, false)
	own.Ops[0].PlanSetup = time.Hour
	p.Put("B2", []story.BatchFact{*own})
	if r := p.Rows()[0]; r.Batches != 3 || r.Setup.P75 != 45*60 || r.PlanSetup != 1800 {
		t.Errorf("%+v", r)
	}
	for i := range 3 {
		p.Put(traveler.Code(fmt.Sprint("B", i)), nil)
	}
	if rows := p.Rows(); len(rows) != 0 {
		t.Errorf("%+v", rows)
	}
}

// worked is a shop that is open from 8 to 16 on every day.
func worked(unattended bool) *traveler.Shop {
	return shop().With(&traveler.Change{
		From: eight.AddDate(0, 0, -1),
		Calendars: []calendar.Calendar{
			{Name: "day", Zone: "UTC",
				Turns: []calendar.Turn{{Kind: calendar.Shift, Days: "daily", From: "08:00", To: "16:00"}}}},
	}).With(&traveler.Change{From: eight,
		Machines: []traveler.Machine{
			{ID: "L1", WorkCentre: "TURN", Calendar: "day", Unattended: unattended}}})
}

// What runs now, up to its last scan, and when it ends by plan. Scans come
// each full hour from nine on; a piece is planned with 3 min, a set-up with 30.
func TestRunsAgainstPlan(t *testing.T) {
	first := scan("L1", traveler.ActCount, 1)
	first.Phase = "setup"
	for _, c := range []struct {
		name  string
		scans []traveler.Scan
		want  string
	}{
		// 20 pieces of 3 min from nine on.
		{"running", []traveler.Scan{scan("L1", traveler.ActRun, 0)},
			"running 0 of 20, 0 in the run, run 0, ends 10:00"},
		// 8 are made by ten, in an hour; 12 are left.
		{"counted", []traveler.Scan{scan("L1", traveler.ActRun, 0), scan("L1", traveler.ActCount, 8)},
			"running 8 of 20, 8 in the run, run 60, ends 10:36"},
		{"setting", []traveler.Scan{scan("L1", traveler.ActSetup, 0)},
			"setting 0 of 20, 0 in the run, run 0, ends 10:30"},
		// The later scan is none of this visit: its time does not count for it.
		{"held", []traveler.Scan{
			scan("L1", traveler.ActRun, 0), scan("L1", traveler.ActCount, 8),
			scan("office", traveler.ActHold, 0),
		}, "running 8 of 20, 8 in the run, run 60, ends 10:36"},
		// A piece made while setting is none of the run.
		{"set-up piece",
			[]traveler.Scan{scan("L1", traveler.ActSetup, 0), first, scan("L1", traveler.ActRun, 0)},
			"running 1 of 20, 0 in the run, run 0, ends 11:57"},
		{"stopped", []traveler.Scan{scan("L1", traveler.ActRun, 0), scan("L1", traveler.ActStop, 0)},
			"stopped 0 of 20, 0 in the run, run 60, ends -"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := now(t, worked(false), c.scans); got != c.want {
				t.Errorf("\n got %s\nwant %s", got, c.want)
			}
		})
	}
}

// At 15:00 sixty minutes are left of the day; 75 min of work end at 8:15 on the
// next, or at 16:15 where nobody needs to be there.
func TestEndsInOpenTime(t *testing.T) {
	scans := []traveler.Scan{}
	for range 6 {
		scans = append(scans, scan("L1", traveler.ActArrive, 0))
	}
	scans = append(scans, scan("L1", traveler.ActRun, 0))
	longer := func(unattended bool) *traveler.Shop {
		return worked(unattended).With(&traveler.Change{From: eight,
			Routes: []traveler.Route{{Part: "P", Rev: "A", Operations: []traveler.Operation{
				{Number: 10, WorkCentre: "TURN", CycleMin: 3.75, PiecesPerCycle: 1},
				{Number: 20, WorkCentre: "MILL", CycleMin: 2, PiecesPerCycle: 1},
			}}}})
	}
	if got, want := now(t, longer(false),
		scans), "running 0 of 20, 0 in the run, run 0, ends 08:15"; got != want {
		t.Errorf("attended: got %s, want %s", got, want)
	}
	if got, want := now(t, longer(true),
		scans), "running 0 of 20, 0 in the run, run 0, ends 16:15"; got != want {
		t.Errorf("unattended: got %s, want %s", got, want)
	}
}

// now gives in one line what runs at L1.
func now(t *testing.T, s *traveler.Shop, scans []traveler.Scan) string {
	t.Helper()
	f := folded(s, scans...)
	m := measure.Meter{Shop: s, Floors: &ground.Floors{}, Now: f.Last()}
	facts := []story.BatchFact{m.Batch(f, 0)}
	for _, n := range board.Runs(s, f, facts, board.Rows(s, f, "2026-03-02", f.Last())) {
		if n.Machine != "L1" {
			continue
		}
		ends := "-"
		if !n.Ends.IsZero() {
			ends = n.Ends.Format("15:04")
		}
		return fmt.Sprintf("%s %d of %d, %d in the run, run %.0f, ends %s", n.State, n.Made, n.Of, n.Ran,
			n.Run/60, ends)
	}
	t.Fatal("nothing runs at L1")
	return ""
}
