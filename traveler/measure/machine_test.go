package measure

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

func one(id traveler.MachineID) *traveler.Shop {
	return new(traveler.Shop).With(
		&traveler.Change{From: monday.AddDate(-1, 0, 0),
			Machines: []traveler.Machine{{ID: id, WorkCentre: "TURN", RatePerHour: 60}}})
}

// at makes a batch with one visit to L1 that ran from one minute to another.
func at(card string, from, to int, planPiece time.Duration, pieces int) story.BatchFact {
	v := story.VisitFact{Operation: 10, Machine: "L1", Begun: monday.Add(time.Duration(from) * time.Minute),
		Ended: monday.Add(time.Duration(to) * time.Minute), Good: pieces}
	v.Arrived = v.Begun
	v.Parts.Run = v.Ended.Sub(v.Begun)
	v.Busy = []story.BusyFact{{Kind: story.SpanRun, From: v.Begun, To: v.Ended}}
	return story.BatchFact{
		Card:   traveler.Code(card),
		Ops:    []story.OpFact{{Operation: 10, WorkCentre: "TURN", PlanPiece: planPiece}},
		Visits: []story.VisitFact{v},
	}
}

// A machine that holds two batches at once is busy once; a batch that was
// stopped for a hot job takes nothing from that one's run. Worked out by hand: A
// runs from 0 to 60 and from 360 to 420, stopped in between, while B runs from
// 60 to 330: run 390, stop 30.
func TestMachineHoursOfAHotJob(t *testing.T) {
	batches := []story.BatchFact{at("A", 0, 420, time.Minute, 40), at("B", 60, 330, time.Minute, 20),
		at("C", 60, 90, time.Minute, 30)}
	min := func(n int) time.Time { return monday.Add(time.Duration(n) * time.Minute) }
	batches[0].Visits[0].Busy = []story.BusyFact{{Kind: story.SpanRun, From: min(0), To: min(60)},
		{Kind: story.SpanStop, From: min(60), To: min(360)},
		{Kind: story.SpanRun, From: min(360), To: min(420)}}
	h := MachinesOf(one("L1"), batches, monday, monday.Add(8*time.Hour))[0]
	if h.Run != 390*time.Minute || h.Stop != 30*time.Minute || h.Batches != 3 || h.Pieces != 90 ||
		h.Planned != 90*time.Minute || h.Open != 8*time.Hour {
		t.Errorf("%+v", h)
	}
}

// Only what lies within the period counts, and its pieces where they ended.
func TestMachineHoursAcrossTheEdge(t *testing.T) {
	h := MachinesOf(one("L1"),
		[]story.BatchFact{at("A", -60, 60, time.Minute, 10), at("B", 100, 200, time.Minute, 10)}, monday,
		monday.Add(2*time.Hour))[0]
	if h.Run != 80*time.Minute || h.Pieces != 10 {
		t.Errorf("%+v", h)
	}
}

// However visits overlap, a machine is never busy for longer than someone was
// there.
func TestMachineHoursNeverPassTheClock(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var batches []story.BatchFact
		var covered [600]bool
		for range rapid.IntRange(0, 8).Draw(t, "visits") {
			from := rapid.IntRange(0, 500).Draw(t, "from")
			to := from + rapid.IntRange(1, 99).Draw(t, "minutes")
			batches = append(batches,
				at("A", from, to, time.Duration(rapid.IntRange(0, 300).Draw(t, "plan"))*time.Second,
					rapid.IntRange(0, 40).Draw(t, "pieces")))
			for m := from; m < to; m++ {
				covered[m] = true
			}
		}
		minutes := 0
		for _, c := range covered {
			if c {
				minutes++
			}
		}
		h := MachinesOf(one("L1"), batches, monday, monday.Add(600*time.Minute))[0]
		if d := h.Run.Minutes() - float64(minutes); d > 1e-3 || d < -1e-3 {
			t.Fatalf("ran %v min, someone was there for %d", h.Run.Minutes(), minutes)
		}
	})
}
