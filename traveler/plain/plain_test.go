package plain_test

import (
	"fmt"
	"reflect"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/plain"
	"tallywalk/traveler/story"
)

var eight = time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)

// note is something said so many minutes after eight.
type note struct {
	min  int
	at   string
	act  traveler.Action
	op   traveler.Op
	more func(*traveler.Scan)
}

func counts(good, scrap int) func(*traveler.Scan) {
	return func(s *traveler.Scan) {
		s.Good = &good
		if scrap > 0 {
			s.Scrap = []traveler.Loss{{Reason: "size", N: scrap}}
		}
	}
}

func id(i int) traveler.ScanID {
	return traveler.ScanID(fmt.Sprintf("00000000-0000-7000-8000-%012d", i))
}

// record makes the record of a batch of fifty with two operations.
func record(by traveler.Actor, notes ...note) (*traveler.Shop, []*traveler.Entry) {
	shop := new(traveler.Shop).With(&traveler.Change{From: eight,
		Machines: []traveler.Machine{{ID: "L1"}, {ID: "M1"}, {ID: "M2"}}, Routes: []traveler.Route{
			{Part: "P", Rev: "A", Operations: []traveler.Operation{{Number: 10}, {Number: 20}}},
		}})
	out := []*traveler.Entry{
		{Seq: 1, Arrived: eight, Card: "B1",
			Release: &traveler.Release{Part: "P", RouteRev: "A", Pieces: 50}}}
	for i, n := range notes {
		at := eight.Add(time.Duration(n.min) * time.Minute)
		s := &traveler.Scan{ID: id(i), At: at, Happened: &at, Station: n.at, Action: n.act, Operation: n.op}
		if n.more != nil {
			n.more(s)
		}
		e := &traveler.Entry{Seq: traveler.Seq(i + 2), Arrived: eight.Add(24 * time.Hour), Card: "B1",
			Scan: s, By: by}
		if m, ok := shop.FindMachine(n.at); ok {
			e.Machine = m
		}
		if n.act == traveler.ActSplit {
			e.Other = "B2"
		}
		if s.Card != "" {
			e.Card = traveler.Code(s.Card)
		}
		out = append(out, e)
	}
	return shop, out
}

func minutes(f *plain.Figures) [5]int {
	m := func(d time.Duration) int { return int(d.Minutes()) }
	return [5]int{m(f.Lead), m(f.SetUp), m(f.Run), m(f.Stop), m(f.Rest)}
}

var turner = traveler.Actor{Name: "a", Role: traveler.RoleOperator}

// Worked by hand: set from 10 to 40, run to 100 with a stop from 60 to 70; the
// first count is corrected, the last one taken back and said again. The run at
// the mill was never started: it began when the batch came.
func TestOneBatchByHand(t *testing.T) {
	shop, list := record(turner,
		note{10, "L1", traveler.ActSetup, 10, nil}, note{40, "L1", traveler.ActRun, 10, nil},
		note{50, "L1", traveler.ActCount, 10, counts(13, 0)},
		note{55, "L1", traveler.ActCorrect, 0,
			func(s *traveler.Scan) { counts(10, 3)(s); s.For = string(id(2)) }},
		note{60, "L1", traveler.ActStop, 10, nil}, note{70, "L1", traveler.ActRun, 10, nil},
		note{99, "L1", traveler.ActFinish, 10, counts(36, 0)},
		note{100, "L1", traveler.ActUndo, 0, func(s *traveler.Scan) { s.For = string(id(6)) }},
		note{100, "L1", traveler.ActFinish, 10, counts(37, 0)},
		note{120, "M1", traveler.ActArrive, 20, nil}, note{150, "M1", traveler.ActFinish, 20, counts(46, 1)},
	)
	f := plain.Batch(shop, list, "B1")
	if got, want := minutes(&f), [5]int{150, 30, 80, 10, 30}; f.Tangled != "" || !f.Ended || got != want {
		t.Errorf("%q: lead, set-up, run, stop, rest %v, by hand %v", f.Tangled, got, want)
	}
	if f.Good != 46 || f.Scrap != 4 || f.Trips != 1 ||
		!reflect.DeepEqual(f.Steps, map[traveler.Op]plain.Step{10: {50, 47}, 20: {47, 46}}) {
		t.Errorf("%+v", f)
	}
}

// Worked by hand: forty are turned, fifteen of them go ahead as a batch of their
// own, and both are milled, one on either machine.
func TestFamilyByHand(t *testing.T) {
	other := func(more func(*traveler.Scan)) func(*traveler.Scan) {
		return func(s *traveler.Scan) {
			s.Card = "B2"
			if more != nil {
				more(s)
			}
		}
	}
	shop, list := record(turner,
		note{0, "L1", traveler.ActRun, 10, nil}, note{60, "L1", traveler.ActFinish, 10, counts(40, 10)},
		note{70, "office", traveler.ActSplit, 20, func(s *traveler.Scan) { s.Pieces = 15 }},
		note{80, "M1", traveler.ActRun, 20, other(nil)},
		note{90, "M1", traveler.ActFinish, 20, other(counts(14, 1))},
		note{100, "M2", traveler.ActRun, 20, nil}, note{140, "M2", traveler.ActFinish, 20, counts(25, 0)},
	)
	first, second := plain.Batch(shop, list, "B1"), plain.Batch(shop, list, "B2")
	if got, want := minutes(&first), [5]int{140, 0, 100, 0, 40}; got != want || first.Good != 25 ||
		first.Scrap != 10 || first.Want != 35 || first.Trips != 1 {
		t.Errorf("the first: %v, by hand %v: %+v", got, want, first)
	}
	if got, want := minutes(&second), [5]int{20, 0, 10, 0, 10}; got != want || second.Good != 14 ||
		second.Scrap != 1 || second.Want != 15 || second.Trips != 1 {
		t.Errorf("split off: %v, by hand %v: %+v", got, want, second)
	}
}

// Worked by hand: a tablet loses half an hour while it has no network. Its first
// count says 60; the finish that it made after that says 50, and so stands at 60.
// A tablet that begins to count from one again is believed.
func TestClockThatWentBackByHand(t *testing.T) {
	numbered := func(n uint64, more func(*traveler.Scan)) func(*traveler.Scan) {
		return func(s *traveler.Scan) {
			s.Happened, s.Device, s.N = nil, "D1", n
			if more != nil {
				more(s)
			}
		}
	}
	shop, list := record(turner,
		note{10, "L1", traveler.ActSetup, 10, numbered(7, nil)},
		note{40, "L1", traveler.ActRun, 10, numbered(8, nil)},
		note{60, "L1", traveler.ActCount, 10, numbered(9, counts(20, 0))},
		note{50, "L1", traveler.ActFinish, 10, numbered(10, counts(30, 0))},
		note{80, "M1", traveler.ActRun, 20, numbered(11, nil)},
		note{95, "M1", traveler.ActFinish, 20, numbered(12, counts(50, 0))},
	)
	f := plain.Batch(shop, list, "B1")
	if got, want := minutes(&f), [5]int{95, 30, 35, 0, 30}; f.Tangled != "" || got != want {
		t.Errorf("%q: lead, set-up, run, stop, rest %v, by hand %v", f.Tangled, got, want)
	}
	for i, e := range list[5:] { // what the mill says came after the tablet had lost its memory
		e.Scan.N = uint64(i + 1)
	}
	for _, e := range list[1:5] {
		e.Arrived = eight.Add(70 * time.Minute)
	}
	if again := plain.Batch(shop, list, "B1"); minutes(&again) != minutes(&f) {
		t.Errorf("counting from one again: %v, by hand %v", minutes(&again), minutes(&f))
	}
}

// Of forty, thirty-six and four are milled. Eight were counted in between, were
// refused, and are said again anyway: now the four do not fit, and the pencil,
// which does not know whether there are 44 or 48, says so.
func TestCountThatNoLongerFits(t *testing.T) {
	anyway := func(s *traveler.Scan) { counts(8, 0)(s); s.Anyway = true }
	mill := []note{
		{0, "L1", traveler.ActRun, 10, nil}, {60, "L1", traveler.ActFinish, 10, counts(40, 10)},
		{70, "M1", traveler.ActRun, 20, nil}, {100, "M1", traveler.ActCount, 20, counts(36, 0)},
		{110, "M1", traveler.ActFinish, 20, counts(4, 0)},
	}
	shop, list := record(turner, mill...)
	if f := plain.Batch(shop, list, "B1"); f.Tangled != "" || f.Good != 40 {
		t.Errorf("%q, %d good", f.Tangled, f.Good)
	}
	shop, list = record(turner, append(mill, note{105, "M1", traveler.ActCount, 20, anyway})...)
	if f := plain.Batch(shop, list, "B1"); f.Tangled == "" {
		t.Errorf("%d good, by a guess", f.Good)
	}
}

// Worked by hand: rows of an old log that overlap are lines of their own; the
// waiting counts what none of them covers. A second pass is reckoned.
func TestOldRowsByHand(t *testing.T) {
	row := func(first int, finish bool, good int) func(*traveler.Scan) {
		return func(s *traveler.Scan) {
			s.Reason = traveler.FromLog
			if finish {
				s.Visit = id(first)
				s.Good = &good
			}
		}
	}
	shop, list := record(traveler.Actor{Name: traveler.Importer, Role: traveler.RoleAdministrator},
		note{10, "L1", traveler.ActRun, 10, row(0, false, 0)},
		note{30, "L1", traveler.ActRun, 10, row(1, false, 0)},
		note{60, "L1", traveler.ActFinish, 10, row(0, true, 20)},
		note{80, "L1", traveler.ActFinish, 10, row(1, true, 30)},
		note{100, "M1", traveler.ActSetup, 20, row(4, false, 0)},
		note{110, "M1", traveler.ActFinish, 20, row(4, true, 0)},
		note{110, "M1", traveler.ActRun, 20, row(6, false, 0)},
		note{150, "M1", traveler.ActFinish, 20, row(6, true, 60)},
		note{150, "office", traveler.ActDecide, 20,
			func(s *traveler.Scan) { row(0, false, 0)(s); counts(50, 0)(s); s.For = story.ForLog }},
	)
	f := plain.Batch(shop, list, "B1")
	if got, want := minutes(&f), [5]int{150, 10, 140, 0, 30}; f.Tangled != "" || got != want ||
		f.Good != 50 || f.Trips != 1 {
		t.Errorf("%q: %v, by hand %v: %+v", f.Tangled, got, want, f)
	}
}
