package measure

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tallywalk/traveler/story"
)

var monday = time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)

func flowOf(from, to time.Time, batches []story.BatchFact) Flow {
	f := Flow{From: from, To: to}
	for i := range batches {
		f.Add(&batches[i])
	}
	return f
}

// Little's law (Little 1961; Hopp and Spearman, Factory Physics): with the
// window's edges stated, WIP = rate * mean time, exactly, whatever happened.
// The mean number is worked out a second way: looked at once a minute.
func TestLittlesLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var batches []story.BatchFact
		for range rapid.IntRange(0, 20).Draw(t, "batches") {
			b := story.BatchFact{Started: 1,
				Released: monday.Add(
					time.Duration(rapid.IntRange(-600, 600).Draw(t, "released")) * time.Minute)}
			if rapid.Bool().Draw(t, "done") {
				b.Ended = b.Released.Add(time.Duration(rapid.IntRange(0, 900).Draw(t, "lead")) * time.Minute)
			}
			batches = append(batches, b)
		}
		const minutes = 480
		f := flowOf(monday, monday.Add(minutes*time.Minute), batches)
		ended := 0
		for _, b := range batches {
			if !b.Ended.IsZero() && !b.Ended.Before(monday) && b.Ended.Before(f.To) &&
				b.Released.Before(f.To) {
				ended++
			}
		}
		if f.Done != ended || math.Abs(f.PerDay()-float64(ended)*1440/minutes) > 1e-9 {
			t.Fatalf("%d ended in the window, %d counted, %v a day", ended, f.Done, f.PerDay())
		}
		if days, ok := f.DaysEach(); ok != (ended > 0) || ok && math.Abs(f.PerDay()*days-f.WIP) > 1e-6 {
			t.Fatalf("rate * time = %v, WIP %v", f.PerDay()*days, f.WIP)
		}
		seen := 0
		for m := range minutes {
			at := monday.Add(time.Duration(m)*time.Minute + 30*time.Second)
			for _, b := range batches {
				if b.Released.Before(at) && (b.Ended.IsZero() || b.Ended.After(at)) {
					seen++
				}
			}
		}
		if counted := float64(seen) / minutes; math.Abs(counted-f.WIP) > 1e-9 ||
			math.Abs(counted-f.Pieces) > 1e-9 {
			t.Fatalf("looked at each minute %v, WIP %v, pieces %v", counted, f.WIP, f.Pieces)
		}
	})
}

// Hopp and Spearman, Factory Physics (3rd ed.): a line with throughput 1,400 a
// day and a cycle time of 34 days holds 47,600. In a steady flow the window's
// edges cancel.
func TestLittlesLawOfALine(t *testing.T) {
	var batches []story.BatchFact
	day := 24 * time.Hour
	every := day / 1400
	for i := range 1400 * 60 {
		at := monday.Add(time.Duration(i) * every)
		batches = append(batches, story.BatchFact{Started: 1, Released: at, Ended: at.Add(34 * day)})
	}
	f := flowOf(monday.Add(40*day), monday.Add(50*day), batches)
	if math.Abs(f.WIP-47_600) > 1 {
		t.Errorf("WIP %v, want 47,600", f.WIP)
	}
	if days, _ := f.DaysEach(); math.Abs(f.PerDay()-1400) > 1 || math.Abs(days-34) > 0.05 {
		t.Errorf("throughput %v a day for %v days, want 1,400 for 34", f.PerDay(), days)
	}
}
