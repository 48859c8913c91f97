package oldlog

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

var (
	day   = time.Date(2025, 9, 1, 6, 0, 0, 0, time.UTC)
	maker = traveler.Actor{Name: traveler.Importer, Role: traveler.RoleAdministrator}
)

func at(hours float64) time.Time { return day.Add(time.Duration(hours * float64(time.Hour))) }

// planned plans rows and folds the stories of their batches.
func planned(t *testing.T, rows []Row, shop *traveler.Shop, overDays int) (*Plan, []*story.Family) {
	t.Helper()
	p := Make(rows, shop, &Oddities{}, Options{
		Now: day.AddDate(1, 0, 0), OverAfter: time.Duration(overDays) * 24 * time.Hour, By: maker,
		Family: func(traveler.Code) *story.Family { return nil },
	})
	shop = shop.With(&traveler.Change{From: day, Machines: p.Machines, Routes: p.Routes})
	var out []*story.Family
	for i := range p.Batches {
		b := &p.Batches[i]
		record := []*traveler.Entry{
			{Seq: 1, Arrived: day.AddDate(1, 0, 0), By: maker, Rules: story.Rules, Release: &b.Release,
				Card: b.Card}}
		for j := range b.Scans {
			m, _ := shop.FindMachine(b.Scans[j].Station)
			record = append(record,
				&traveler.Entry{Seq: traveler.Seq(j + 2), Arrived: day.AddDate(1, 0, 0), By: maker,
					Scan: &b.Scans[j], Card: b.Card, Machine: m})
		}
		out = append(out, story.Fold(shop, record))
	}
	return p, out
}

// Pieces in review and rework of which nobody ever says more do not keep a
// batch from being over, and are neither good nor scrap.
func TestWhatNobodyAccountsForIsMissing(t *testing.T) {
	rows := []Row{
		{Line: 2, Batch: "A", Operation: "turn", Machine: "L/1", Start: at(0), End: at(2), Good: 16, Scrap: 1,
			Review: 1, Rework: 2, Pieces: 20},
		{Line: 3, Batch: "A", Operation: "pack", Machine: "P", Start: at(3), End: at(4), Good: 14},
		{Line: 4, Batch: "B", Operation: "turn", Machine: "L/1", Start: at(24 * 20), End: at(24*20 + 1),
			Good: 3, Pieces: 9},
	}
	p, f := planned(t, rows, &traveler.Shop{}, 14)
	s := f[0].Sum(0)
	if f[0].State(0) != story.StateDone || s.Good != 14 || s.Scrap != 1 || s.Missing != 5 ||
		s.ReviewOpen+s.ReworkOpen != 0 {
		t.Errorf("%s %+v", f[0].State(0), s)
	}
	if f[1].State(0) == story.StateDone {
		t.Error("a batch that the log ends with is over")
	}
	if r := &p.Report; r.Done != 0 || r.Over != 1 || r.Open != 1 || r.Missing != 5 || len(r.NeverEnded) != 0 {
		t.Errorf("%+v", r)
	}
	for i := range f {
		if f[i].Batches[0].Ops[0].WorkCentre != "L-1" {
			t.Errorf("%+v", f[i].Batches[0].Ops)
		}
		for _, q := range f[i].Questions() {
			if q.Settled == nil {
				t.Errorf("an open question: %+v", q)
			}
		}
	}
	if _, f = planned(t, rows, &traveler.Shop{}, 0); f[1].State(0) != story.StateDone {
		t.Error("a log that is whole leaves a batch open")
	}
}

// A machine that is there keeps its work centre, and routes that are there are
// used again.
func TestWhatIsThereIsUsed(t *testing.T) {
	shop := (&traveler.Shop{}).With(&traveler.Change{From: day,
		Machines: []traveler.Machine{{ID: "L1", Name: "Lathe", WorkCentre: "TURN"}}, Routes: []traveler.Route{
			{Part: "log", Rev: "log-3",
				Operations: []traveler.Operation{
					{Number: 10, WorkCentre: "TURN", Instruction: "turn", PiecesPerCycle: 1}}},
		}})
	p, _ := planned(t, []Row{
		{Line: 2, Batch: "A", Operation: "turn", Machine: "L1", Start: at(0), End: at(1), Good: 1},
		{Line: 3, Batch: "B", Operation: "turn", Machine: "L1", Start: at(0), End: at(1), Good: 1},
		{Line: 4, Batch: "B", Operation: "mill", Machine: "M1", Start: at(2), End: at(3), Good: 1},
		{Line: 5, Batch: "C", Operation: "mill", Machine: "M1", Start: at(2), End: at(3), Good: 1},
		{Line: 6, Batch: "C", Operation: "turn", Machine: "L1", Start: at(3), End: at(4), Good: 1},
	}, shop, 0)
	if len(p.Machines) != 1 || p.Machines[0].ID != "M1" || p.Machines[0].WorkCentre != "M1" {
		t.Errorf("%+v", p.Machines)
	}
	if len(p.Routes) != 2 || p.Routes[0].Rev != "log-4" || p.Routes[0].Operations[0].WorkCentre != "TURN" ||
		p.Routes[1].Operations[0].Instruction != "mill" {
		t.Errorf("%+v", p.Routes)
	}
	if p.Batches[0].Release.RouteRev != "log-3" || p.Batches[1].Release.RouteRev != "log-4" ||
		p.Batches[2].Release.RouteRev != "log-5" {
		t.Errorf("%+v", p.Batches)
	}
}

// Rows at one machine that overlap, or take no time, or begin when another
// ends, are visits of their own all the same.
func TestEachRowIsAVisit(t *testing.T) {
	row := func(line int, from, to float64, kind Kind, good int) Row {
		return Row{Line: line, Batch: "A", Operation: "turn", Machine: "L", Kind: kind, Start: at(from),
			End: at(to), Good: good, Pieces: 12}
	}
	rows := []Row{
		row(2, 0, 1, Setup, 0), row(3, 1, 4, Run, 4), row(4, 2, 5, Run, 3), row(5, 4, 4, Run, 1),
		row(6, 4, 4, Run, 2), row(7, 4, 6, Run, 2), row(8, 6, 6, Setup, 0),
	}
	_, f := planned(t, rows, &traveler.Shop{}, 0)
	if n := len(f[0].Visits); n != len(rows) {
		t.Fatalf("%d visits of %d rows", n, len(rows))
	}
	var run, setup time.Duration
	for _, s := range f[0].Spans {
		switch s.Kind {
		case story.SpanRun:
			run += s.To.Sub(s.From)
		case story.SpanSetup:
			setup += s.To.Sub(s.From)
		}
	}
	if run != 8*time.Hour || setup != time.Hour || f[0].Sum(0).Good != 12 {
		t.Errorf("%v run, %v set-up, %+v", run, setup, f[0].Sum(0))
	}
	for i := range f[0].Visits {
		if f[0].Visits[i].State != story.VisitFinished || f[0].Visits[i].StartInferred {
			t.Errorf("%+v", f[0].Visits[i])
		}
	}
}

// Orders that differ by steps left out or done again are one route; an order that
// contradicts is another. Worked by hand.
func TestWaysThroughTheShop(t *testing.T) {
	orders := []string{"saw turn mill wash pack", "saw turn mill wash pack", "saw mill wash pack",
		"saw turn mill turn mill wash pack", "saw turn mill wash gauge pack", "turn saw mill wash pack",
		"saw turn"}
	var rows []Row
	for b, order := range orders {
		for k, op := range strings.Fields(order) {
			rows = append(rows,
				Row{Line: len(rows) + 2, Batch: fmt.Sprint("A", b), Part: "P", Operation: op, Machine: op,
					Start: at(float64(100*b + k)), End: at(float64(100*b+k) + .5), Good: 9, Pieces: 9})
		}
	}
	p, families := planned(t, rows, &traveler.Shop{}, 0)
	var ways []string
	for _, r := range p.Routes {
		var ops []string
		for _, o := range r.Operations {
			ops = append(ops, o.Instruction)
		}
		ways = append(ways, strings.Join(ops, " "))
	}
	if want := []string{"saw turn mill wash gauge pack", "turn saw mill wash pack"}; !slices.Equal(ways,
		want) {
		t.Errorf("%q, want %q", ways, want)
	}
	var revs []string
	for i, b := range p.Batches {
		revs = append(revs, b.Release.RouteRev)
		if s := families[i].Sum(0); s.Good != 9 || s.Missing != 0 || families[i].State(0) != story.StateDone {
			t.Errorf("batch %d: %s, %+v", i, families[i].State(0), s)
		}
	}
	if want := []string{"log-1", "log-1", "log-1", "log-1", "log-1", "log-2", "log-1"}; !slices.Equal(revs,
		want) {
		t.Errorf("%v, want %v", revs, want)
	}
}

// Worked by hand: 20 pieces are turned, milled, and all of them turned again; the
// machine breaks down, and its row calls it a breakdown; two rows say the same.
func TestSecondPassesStopsAndEqualRows(t *testing.T) {
	rows := []Row{
		{Line: 2, Batch: "A", Operation: "turn", Machine: "L", Start: at(0), End: at(4), Good: 10,
			Pieces: 20},
		{Line: 3, Batch: "A", Operation: "turn", Machine: "L", Start: at(0), End: at(4), Good: 10,
			Pieces: 20},
		{Line: 4, Batch: "A", Operation: "breakdown", Machine: "L", Kind: Stop, Start: at(1), End: at(2),
			Reason: "belt"},
		{Line: 5, Batch: "A", Operation: "mill", Machine: "M", Start: at(5), End: at(6), Good: 18, Scrap: 1,
			Rework: 1},
		{Line: 6, Batch: "A", Operation: "turn", Machine: "L", Start: at(7), End: at(8), Good: 19},
	}
	o := Options{Now: day.AddDate(1, 0, 0), By: maker,
		Family: func(traveler.Code) *story.Family { return nil }, Duplicates: true, Apart: true}
	p := Make(rows, &traveler.Shop{}, &Oddities{}, o)
	shop := (&traveler.Shop{}).With(&traveler.Change{From: day, Machines: p.Machines, Routes: p.Routes})
	b := &p.Batches[0]
	record := []*traveler.Entry{
		{Seq: 1, Arrived: o.Now, By: maker, Rules: story.Rules, Release: &b.Release, Card: b.Card}}
	for j := range b.Scans {
		m, _ := shop.FindMachine(b.Scans[j].Station)
		record = append(record,
			&traveler.Entry{Seq: traveler.Seq(j + 2), Arrived: o.Now, By: maker, Scan: &b.Scans[j],
				Card: b.Card, Machine: m})
	}
	f := story.Fold(shop, record)
	if len(p.Routes) != 1 || len(p.Routes[0].Operations) != 2 || len(f.Visits) != 5 {
		t.Fatalf("%+v, %d visits", p.Routes, len(f.Visits))
	}
	// 20 went to the mill, where one was scrap; one in rework was never seen again.
	if s := f.Sum(0); s.Started != 20 || s.Good != 18 || s.Scrap != 1 || s.Missing != 1 || s.Over != 0 {
		t.Errorf("%+v", s)
	}
	if ts := f.Tallies(0); ts[0].Good != 20 || ts[0].Scrap != 0 || ts[1].In != 20 {
		t.Errorf("%+v", ts)
	}
	stops := 0
	for _, s := range f.Spans {
		if s.Kind == story.SpanStop {
			stops++
			if v := &f.Visits[s.Visit]; s.To.Sub(s.From) != time.Hour || s.Reason != "belt" ||
				v.Operation != 10 {
				t.Errorf("%+v at operation %v", s, v.Operation)
			}
		}
	}
	if stops != 1 || p.Report.CountedAgain != 0 {
		t.Errorf("%d stops, %d counted again", stops, p.Report.CountedAgain)
	}
}
