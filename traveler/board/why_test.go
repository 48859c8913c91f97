package board_test

import (
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/board"
	"tallywalk/traveler/calendar"
)

var update = flag.Bool("update", false, "write the cases that the pages are held to")

// at is a time of day of the day of eight.
func at(hour, minute int) time.Time { return time.Date(2026, 3, 2, hour, minute, 0, 0, time.UTC) }

// whyCase is a row with its line, a moment, and why the row waits then. The pages work
// the same out by their own clock; web/lib/_why.test.js holds them to these.
type whyCase struct {
	Name string             `json:"name"`
	Row  board.Row          `json:"row"`
	Line *board.WaitLine    `json:"line"`
	Now  time.Time          `json:"now"`
	Want []board.WaitReason `json:"want"`
}

func waits(change func(*board.Row)) board.Row {
	r := board.Row{Key: "C/10/work", Kind: "wait", Card: "C", WorkCentre: "MILL", Operation: 10,
		State: "waiting"}
	if change != nil {
		change(&r)
	}
	return r
}

func works(state string, over time.Time, reason string) board.Row {
	return board.Row{Key: "visit/1", Kind: "work", State: state, Since: at(8, 0), OverFrom: over,
		Reason: reason}
}

func line(order []string, machines ...board.AtMachine) *board.WaitLine {
	return &board.WaitLine{WorkCentre: "MILL", Order: order, Waits: len(order), Machines: machines}
}

// whyCases has each of the reasons, by hand.
func whyCases() []whyCase {
	r := waits(nil)
	third := []string{"A/10/work", "B/10/work", "C/10/work"}
	running := board.AtMachine{Machine: "M1", State: "running", Until: at(12, 59)}
	later := board.AtMachine{Machine: "M2", State: "running", Until: at(15, 0)}
	setting := board.AtMachine{Machine: "M1", State: "setting", SetUntil: at(9, 0), Until: at(12, 59)}
	idle1, idle2 := board.AtMachine{Machine: "M1", State: "free"}, board.AtMachine{Machine: "M2", State: "free"}
	stopped := board.AtMachine{Machine: "M1", State: "stopped", Reason: "tool"}
	first := board.AtMachine{Machine: "M1", State: "firstoff"}
	unplanned := board.AtMachine{Machine: "M1", State: "running"}
	closes := func(m board.AtMachine, from, to time.Time) board.AtMachine {
		m.Closes, m.Opens = from, to
		return m
	}
	monday := at(6, 0).AddDate(0, 0, 7)
	in := board.WaitReason{Key: "line", Place: 3, WorkCentre: "MILL", Machine: "M1"}
	of2 := board.WaitReason{Key: "line", Place: 3, WorkCentre: "MILL"}
	why := func(rs ...board.WaitReason) []board.WaitReason { return rs }
	return []whyCase{
		{"third in line, busy", r, line(third, running), at(10, 0),
			why(in, board.WaitReason{Key: "busy", Machine: "M1", At: at(12, 59)})},
		{"never a time gone by", r, line(third, running), at(12, 59),
			why(in, board.WaitReason{Key: "longer", Machine: "M1"})},
		{"a set-up that takes longer", r, line(third, setting), at(9, 1),
			why(in, board.WaitReason{Key: "longer", Machine: "M1"})},
		{"a set-up in its time", r, line(third, setting), at(8, 59),
			why(in, board.WaitReason{Key: "busy", Machine: "M1", At: at(12, 59)})},
		{"two machines share a line: the first to be free", r, line(third, later, running), at(10, 0),
			why(of2, board.WaitReason{Key: "busy", Machine: "M1", At: at(12, 59)})},
		{"one that stands still does not end", r, line(third, stopped, later), at(10, 0),
			why(of2, board.WaitReason{Key: "busy", Machine: "M2", At: at(15, 0)})},
		{"nothing stands in its way", r, line(third[2:], idle1), at(10, 0),
			why(board.WaitReason{Key: "free", Machine: "M1"})},
		{"the second takes the second", r, line(third[1:], idle1, idle2), at(10, 0),
			why(board.WaitReason{Key: "free", Machine: "M2"})},
		{
			"it takes the one where it stands", waits(func(r *board.Row) { r.Machine = "M2" }),
			line(third[2:], idle1, idle2), at(10, 0),
			why(board.WaitReason{Key: "free", Machine: "M2"}),
		},
		{"idle, for those before it", r, line(third, idle1), at(10, 0),
			why(in, board.WaitReason{Key: "idle", Machine: "M1"})},
		{"closed", r, line(third, closes(idle1, time.Time{}, monday)), at(10, 0),
			why(in, board.WaitReason{Key: "opens", WorkCentre: "MILL", At: monday})},
		{"closed even where it is first", r, line(third[2:], closes(idle1, at(9, 0), monday)), at(9, 0), why(
			board.WaitReason{Key: "line", Place: 1, WorkCentre: "MILL", Machine: "M1"},
			board.WaitReason{Key: "opens", WorkCentre: "MILL", At: monday})},
		{"open still", r, line(third[2:], closes(idle1, at(9, 0), monday)), at(8, 59),
			why(board.WaitReason{Key: "free", Machine: "M1"})},
		{"open again", r, line(third[2:], closes(idle1, at(9, 0), monday)), monday,
			why(board.WaitReason{Key: "free", Machine: "M1"})},
		{"the first that opens", r,
			line(third, closes(idle1, time.Time{}, monday), closes(idle2, time.Time{}, at(14, 0))), at(10, 0),
			why(of2, board.WaitReason{Key: "opens", WorkCentre: "MILL", At: at(14, 0)})},
		{"closed for good", r, line(third, board.AtMachine{Machine: "M1", State: "free", Shut: true}),
			at(10, 0), why(in, board.WaitReason{Key: "closed", WorkCentre: "MILL"})},
		{"the machine waits for a first-off", r, line(third, first), at(10, 0),
			why(in, board.WaitReason{Key: "atfirst", Machine: "M1"})},
		{"the machine stands still", r, line(third, stopped), at(10, 0),
			why(in, board.WaitReason{Key: "down", Machine: "M1", Text: "tool"})},
		{"work without a plan", r, line(third, unplanned), at(10, 0),
			why(in, board.WaitReason{Key: "atwork", Machine: "M1"})},
		{"further back than is said", r, line([]string{}, running), at(10, 0), why(
			board.WaitReason{Key: "line", WorkCentre: "MILL", Machine: "M1"},
			board.WaitReason{Key: "busy", Machine: "M1", At: at(12, 59)})},
		{"to be sent out", r, line(third, board.AtMachine{Machine: "HT", State: "free", Outside: true}),
			at(10, 0), why(board.WaitReason{Key: "send", Machine: "HT"})},
		{"no machine", r, nil, at(10, 0), why(board.WaitReason{Key: "noplace", WorkCentre: "MILL"})},
	}
}

// saidCases has what someone said that stands in its way.
func saidCases() []whyCase {
	third := []string{"A/10/work", "B/10/work", "C/10/work"}
	running := board.AtMachine{Machine: "M1", State: "running", Until: at(12, 59)}
	idle1 := board.AtMachine{Machine: "M1", State: "free"}
	in := board.WaitReason{Key: "line", Place: 3, WorkCentre: "MILL", Machine: "M1"}
	why := func(rs ...board.WaitReason) []board.WaitReason { return rs }
	return []whyCase{
		{
			"said first", waits(func(r *board.Row) { r.Reason = "material" }), line(third, running),
			at(10, 0),
			why(board.WaitReason{Key: "said", Text: "material"}, in,
				board.WaitReason{Key: "busy", Machine: "M1", At: at(12, 59)}),
		},
		{
			"what someone said stands in its way", waits(func(r *board.Row) { r.Reason = "material" }),
			line(third[2:], idle1), at(10, 0),
			why(
				board.WaitReason{Key: "said", Text: "material"},
				board.WaitReason{Key: "line", Place: 1, WorkCentre: "MILL", Machine: "M1"},
				board.WaitReason{Key: "idle", Machine: "M1"},
			),
		},
		{
			"what someone said is missing stands in its way",
			waits(func(r *board.Row) { r.NotReady = "fixture\ntools" }), line(third[2:], idle1), at(10, 0),
			why(
				board.WaitReason{Key: "missing", Text: "fixture"},
				board.WaitReason{Key: "missing", Text: "tools"},
				board.WaitReason{Key: "line", Place: 1, WorkCentre: "MILL", Machine: "M1"},
				board.WaitReason{Key: "idle", Machine: "M1"},
			),
		},
		{"held", waits(func(r *board.Row) { r.State, r.Reason = "held", "crack?" }), line(third, idle1),
			at(10, 0), why(board.WaitReason{Key: "held", Text: "crack?"})},
		{"an inspector decides", waits(func(r *board.Row) { r.State, r.Reason = "review", "gauge" }),
			line(third, idle1), at(10, 0), why(
				board.WaitReason{Key: "said", Text: "gauge"}, board.WaitReason{Key: "decide"})},
		{
			"some are let go", waits(func(r *board.Row) { r.Before, r.LetGo, r.LetOf = 20, 30, 80 }),
			line(third[2:], idle1), at(10, 0),
			why(board.WaitReason{Key: "before", Operation: 20, LetGo: 30, LetOf: 80},
				board.WaitReason{Key: "free", Machine: "M1"}),
		},
	}
}

// workCases has the reasons of what is at a machine already.
func workCases() []whyCase {
	why := func(r board.WaitReason) []board.WaitReason { return []board.WaitReason{r} }
	return []whyCase{
		{"its own first-off", works("firstoff", time.Time{}, ""), nil, at(10, 0),
			why(board.WaitReason{Key: "firstoff"})},
		{"its first-off passed", works("ready", time.Time{}, ""), nil, at(10, 0),
			why(board.WaitReason{Key: "passed"})},
		{"its machine stands still", works("stopped", at(9, 0), "tool"), nil, at(10, 0),
			why(board.WaitReason{Key: "stopped", Text: "tool"})},
		{"outside", works("outside", at(8, 0).AddDate(0, 0, 3), ""), nil, at(10, 0),
			why(board.WaitReason{Key: "out", At: at(8, 0).AddDate(0, 0, 3)})},
		{"outside too long", works("outside", at(9, 0), ""), nil, at(10, 0),
			why(board.WaitReason{Key: "out.over", At: at(9, 0)})},
		{"outside without a plan", works("outside", time.Time{}, ""), nil, at(10, 0),
			why(board.WaitReason{Key: "out"})},
		{"a machine that works", works("running", at(9, 0), ""), nil, at(10, 0), nil},
	}
}

func TestWhy(t *testing.T) {
	cases := slices.Concat(whyCases(), saidCases(), workCases())
	for i := range cases {
		c := &cases[i]
		if got := board.Why(&c.Row, c.Line, c.Now); !reflect.DeepEqual(got, c.Want) {
			t.Errorf("%s:\n got %+v\nwant %+v", c.Name, got, c.Want)
		}
	}
	want, err := json.MarshalIndent(cases, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	name := filepath.Join("testdata", "why.json")
	if *update {
		if err := os.WriteFile(name, append(want, '\n'), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	kept, err := os.ReadFile(name)
	if err != nil || string(kept) != string(want)+"\n" {
		t.Errorf("%s is not as these cases (%v): go test ./traveler/board -update", name, err)
	}
}

// day is a shop with a lathe, two mills in one work centre, and a hardening shop
// outside; the mills work from 06:00 to 14:00 on weekdays.
func day() *traveler.Shop {
	return new(traveler.Shop).With(&traveler.Change{
		From: eight.AddDate(0, 0, -30),
		Calendars: []calendar.Calendar{
			{Name: "early", Zone: "UTC",
				Turns: []calendar.Turn{{Kind: "shift", Days: "mon-fri", From: "06:00", To: "14:00"}}}},
		Machines: []traveler.Machine{
			{ID: "L1", WorkCentre: "TURN"}, {ID: "M1", WorkCentre: "MILL", Calendar: "early"},
			{ID: "M2", WorkCentre: "MILL", Calendar: "early"},
		},
		Routes: []traveler.Route{{Part: "P", Rev: "A", Operations: []traveler.Operation{
			{Number: 10, WorkCentre: "TURN", SetupMin: 30, CycleMin: 3, PiecesPerCycle: 1},
			{Number: 20, WorkCentre: "MILL", SetupMin: 60, CycleMin: 30, PiecesPerCycle: 1},
		}}},
	})
}
