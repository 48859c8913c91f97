package traveler_test

import (
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"

	. "tallywalk/traveler"
)

// answerOf is what is hashed of a scan's answer.
func answerOf(e *Entry) string { return fmt.Sprint(e.Outcome, e.Say, e.Other) }

// again is the same entry before it was answered.
func again(e *Entry) *Entry {
	c := *e
	c.Outcome, c.Say = "", Msg{}
	return &c
}

// The same scans are answered the same, and tell the same story, whether the
// family keeps versions along the way or is told from its record each time, and
// however many are heard before the rest of the story is told.
func TestVersionsKeptOrDroppedTellTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t)
		group := rapid.SampledFrom([]int{1, 7, 500}).Draw(t, "group")
		kept, dropped := w.f, w.f
		// Long enough for several marks; far back and near, as late as it comes.
		scans := rapid.IntRange(150, 300).Draw(t, "scans")
		for i := range scans {
			w.f = dropped
			e := w.drawEntry(t)
			if far := rapid.IntRange(0, 19).Draw(t, "far"); far < 2 {
				from := day.Add(8 * time.Hour)
				back := time.Duration(rapid.IntRange(0, max(0, int(e.Scan.At.Sub(from)/time.Second))).Draw(t, "back")) * time.Second
				e.Scan.At, e.Scan.Happened = e.Scan.At.Add(-max(0, back)), nil
				if far == 1 {
					e.Scan.Device = ""
				}
			}
			other := again(e)
			dropped = Tell(w.shop, dropped.Record())
			dropped, _ = dropped.Hear(w.shop, e)
			kept, _ = kept.HearOpen(w.shop, other)
			if a, b := answerOf(e), answerOf(other); a != b {
				t.Fatalf("scan %d %s: told from the record it is answered %s, with versions kept %s", i, e.Scan.Action, a, b)
			}
			if (i+1)%group == 0 || i == scans-1 {
				kept = kept.Settle(w.shop)
				if i%20 == 0 || i == scans-1 {
					if a, b := told(dropped), told(kept); a != b {
						t.Fatalf("after scan %d: %s", i, firstDifference(a, b))
					}
				}
			}
		}
		checkFamily(t, w.shop, kept)
	})
}
