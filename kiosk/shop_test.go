package kiosk_test

import (
	"fmt"
	"strconv"
	"strings"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

var morning = time.Date(2026, 3, 2, 6, 0, 0, 0, time.UTC)

// floor is an invented shop with one batch of 50 under the works order WO-7.
type floor struct {
	t    *testing.T
	shop *traveler.Shop
	f    *story.Family
	now  time.Time
	seq  traveler.Seq
}

func newFloor(t *testing.T) *floor {
	t.Helper()
	route := traveler.Route{Part: "SHAFT", PartName: "Drive shaft", DrawingRev: "B", Rev: "1",
		Operations: []traveler.Operation{
			{Number: 10, WorkCentre: "LATHE", Instruction: "Turn both ends", SetupMin: 30, CycleMin: 2,
				PiecesPerCycle: 1, FirstOff: true},
			{Number: 20, WorkCentre: "MILL", Instruction: "Keyway", SetupMin: 0, CycleMin: 3,
				PiecesPerCycle: 2},
			{Number: 30, WorkCentre: "PLATING", OutsideDays: 5, PiecesPerCycle: 1},
			{Number: 40, WorkCentre: "LATHE", SetupMin: 10, CycleMin: 1, PiecesPerCycle: 1},
		}}
	change := &traveler.Change{From: morning, Routes: []traveler.Route{route}}
	for i, m := range []traveler.Machine{
		{ID: "L1", Name: "Lathe 1", WorkCentre: "LATHE"}, {ID: "L2", Name: "Lathe 2", WorkCentre: "LATHE"},
		{ID: "M1", Name: "Mill 1", WorkCentre: "MILL"},
		{ID: "Q1", Name: "Inspection", WorkCentre: "CHECK", Kind: "inspection"},
		{ID: "S1", Name: "Stores", WorkCentre: "STORES", Kind: "stores"},
		{ID: "D1", Name: "Dock", WorkCentre: "DOCK", Kind: "dock"},
	} {
		m.Code = code(traveler.KindMachine, uint64(i+1)*991)
		change.Machines = append(change.Machines, m)
	}
	fl := &floor{t: t, shop: (&traveler.Shop{}).With(change), now: morning}
	fl.seq++
	fl.f = story.Fold(fl.shop, []*traveler.Entry{{
		Seq: fl.seq, Arrived: morning, Rules: story.Rules, Card: code(traveler.KindBatch, 77),
		Release: &traveler.Release{ID: fl.id(), Part: "SHAFT", RouteRev: "1", Pieces: 50, WorksOrder: "WO-7",
			Due: morning.AddDate(0, 0, 9)},
	}})
	return fl
}

func code(kind traveler.Kind, n uint64) traveler.Code {
	for {
		if c, ok := traveler.NewCode(kind, n); ok {
			return c
		}
		n++
	}
}

func (fl *floor) id() traveler.ScanID {
	return traveler.ScanID(fmt.Sprintf("019527c0-0000-7000-8000-%012d", fl.seq))
}

// say makes scans such as "L1 count good=48 scrap=2", ten minutes apart; a line
// that begins with a number waits so many minutes instead.
func (fl *floor) say(lines ...string) {
	fl.t.Helper()
	for _, line := range lines {
		fl.one(line)
	}
}

func (fl *floor) one(line string) {
	fl.t.Helper()
	w := strings.Fields(line)
	gap := 10
	if n, err := strconv.Atoi(w[0]); err == nil {
		gap, w = n, w[1:]
	}
	fl.now = fl.now.Add(time.Duration(gap) * time.Minute)
	fl.seq++
	s := &traveler.Scan{
		ID: fl.id(), At: fl.now, Station: w[0], Card: string(fl.f.Batches[0].Card),
		Action:   traveler.Action(w[1]),
		Operator: "P1", Device: "D1", Anyway: true,
	}
	e := &traveler.Entry{
		Seq: fl.seq, Arrived: fl.now, By: traveler.Actor{Name: "s", Role: traveler.RoleSupervisor}, Scan: s,
		Card: fl.f.Batches[0].Card,
	}
	for _, x := range w[2:] {
		k, v, _ := strings.Cut(x, "=")
		fl.field(s, e, k, v)
	}
	e.Machine, _ = fl.shop.FindMachine(s.Station)
	fl.f, _ = fl.f.Add(fl.shop, e)
	if e.Outcome != traveler.Kept {
		fl.t.Fatalf("%s: %s: %s", line, e.Outcome, e.Say.Text("en"))
	}
}

func (fl *floor) field(s *traveler.Scan, e *traveler.Entry, k, v string) {
	n, _ := strconv.Atoi(v)
	lost := []traveler.Loss{{Reason: "size", N: n}}
	switch k {
	case "good":
		s.Good = &n
	case "missing":
		s.Missing = &n
	case "scrap":
		s.Scrap = lost
	case "rework":
		s.Rework = lost
	case "review":
		s.Review = lost
	case "op":
		s.Operation = traveler.Op(n)
	case "pieces":
		s.Pieces = n
	case "for":
		s.For = v
	case "to":
		s.To = v
	case "reason":
		s.Reason = v
	case "card":
		e.Other = code(traveler.KindBatch, uint64(n))
	case "on":
		i := fl.f.Index(code(traveler.KindBatch, uint64(n)))
		s.Card, e.Card = string(fl.f.Batches[i].Card), fl.f.Batches[i].Card
	case "of":
		s.For, e.Other = string(code(traveler.KindBatch, uint64(n))), code(traveler.KindBatch, uint64(n))
	default:
		fl.t.Fatalf("field %q", k)
	}
}

// supersede puts drawing C in force.
func (fl *floor) supersede() {
	fl.shop = fl.shop.With(
		&traveler.Change{From: fl.now.Add(time.Minute),
			Routes: []traveler.Route{{Part: "SHAFT", DrawingRev: "C", Rev: "2"}}})
	fl.now = fl.now.Add(2 * time.Minute)
}
