package story_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"testing"
	"time"

	"pgregory.net/rapid"

	. "tallywalk/traveler"
	. "tallywalk/traveler/story"
)

// answerOf is what is hashed of a scan's answer.
func answerOf(e *Entry) string { return fmt.Sprint(e.Outcome, e.Say, e.Other) }

// again is the same entry before it was answered.
func again(e *Entry) *Entry {
	c := *e
	c.Outcome, c.Say = "", Msg{}
	return &c
}

// The same scans are answered the same, and give the same story, whether the
// family keeps versions along the way or is folded from its record each time, and
// however many are added before the rest of the story is folded.
func TestVersionsKeptOrDroppedAreTheSame(t *testing.T) {
	rounds := 6
	if os.Getenv("TALLYWALK_LONG") != "" {
		rounds = 300
	}
	for seed := range rounds {
		draws := make([]byte, 1<<17)
		if _, err := rand.NewChaCha8([32]byte{byte(seed), byte(seed >> 8)}).Read(draws); err != nil {
			t.Fatal(err)
		}
		rapid.MakeFuzz(keptOrDropped)(t, draws)
	}
}

func keptOrDropped(t *rapid.T) {
	w := drawWorld(t)
	group := rapid.SampledFrom([]int{1, 7, 500}).Draw(t, "group")
	kept, dropped := w.f, w.f
	shown := map[*Family]string{}
	// Long enough for several marks; far back and near, as late as it comes.
	scans := rapid.IntRange(150, 300).Draw(t, "scans")
	for i := range scans {
		w.f = dropped
		e := w.drawEntry(t)
		if far := rapid.IntRange(0, 19).Draw(t, "far"); far < 2 {
			from := day.Add(8 * time.Hour)
			back := time.Duration(
				rapid.IntRange(0, max(0, int(e.Scan.At.Sub(from)/time.Second))).Draw(t, "back")) * time.Second
			e.Scan.At, e.Scan.Happened = e.Scan.At.Add(-max(0, back)), nil
			if far == 1 {
				e.Scan.Device = ""
			}
		}
		other := again(e)
		dropped = Fold(w.shop, dropped.Record())
		dropped, _ = dropped.Add(w.shop, e)
		kept, _ = kept.AddOpen(w.shop, other)
		if a, b := answerOf(e), answerOf(other); a != b {
			t.Fatalf("scan %d %s: folded from the record it is answered %s, with versions kept %s", i,
				e.Scan.Action, a, b)
		}
		if (i+1)%group == 0 || i == scans-1 {
			kept = kept.Refold(w.shop)
			if i%20 == 0 || i == scans-1 {
				shown[kept] = dump(kept)
				if a := dump(dropped); a != shown[kept] {
					t.Fatalf("after scan %d: %s", i, firstDifference(a, shown[kept]))
				}
			}
		}
	}
	checkFamily(t, w.shop, kept)
	for f, was := range shown {
		if now := dump(f); now != was {
			t.Fatalf("a version that was shown has changed since: %s", firstDifference(was, now))
		}
	}
}

// A scan that comes late into a long visit leaves the versions before it as they
// were shown.
func TestLateScanLeavesShownVersions(t *testing.T) {
	shop, f := longFamily(500)
	before := dump(f)
	next := f
	for k, by := range []int{110, 30, 90, 200, 45, 5} {
		e := benchEntry(f.Root, 500-by, 500)
		late := false
		e.Seq, e.Arrived, e.Scan.Present = Seq(502+k), day.Add(501*time.Minute), &late
		e.Scan.ID, e.Scan.Device, e.Scan.N = ScanID(fmt.Sprintf("00000000-0000-7000-9000-%012x", k)), "", 0
		e.Scan.At = e.Scan.At.Add(time.Second)
		next, _ = next.Add(shop, e)
		if e.Outcome != Kept {
			t.Fatalf("late by %d: %s %s", by, e.Outcome, e.Say.Text("en"))
		}
	}
	if now := dump(f); now != before {
		t.Error(firstDifference(before, now))
	}
	checkFamily(t, shop, next)
}

// A verdict that comes late, from before the submission that it is about was
// taken back, changes what became of that undo: the family goes back that far.
func TestLateVerdictReachesUndo(t *testing.T) {
	shop, f := longFamily(300)
	seq := Seq(301)
	say := func(at time.Duration, act Action, change func(*Scan, *Entry)) *Entry {
		seq++
		s := &Scan{ID: ScanID(fmt.Sprintf("00000000-0000-7000-9100-%012x", seq)),
			At: day.Add(300*time.Minute + at), Action: act, Operation: 100}
		e := &Entry{Seq: seq, Arrived: s.At, Card: f.Root, Scan: s, Machine: "W10",
			By: Actor{Name: "a", Role: RoleOperator}}
		if change != nil {
			change(s, e)
		}
		f, _ = f.Add(shop, e)
		if e.Outcome == Refused {
			t.Fatalf("%s: %s", act, e.Say.Text("en"))
		}
		return e
	}
	submitted := say(time.Minute, ActFirstOff, nil)
	say(2*time.Minute, ActUndo, func(s *Scan, _ *Entry) { s.For = string(submitted.Scan.ID) })
	say(3*time.Minute, ActStop, nil)
	say(90*time.Second, ActFirstOff, func(s *Scan, e *Entry) {
		late := false
		s.Present, s.Scrap = &late, []Loss{{Reason: "size", N: 1}}
		e.Arrived, e.By.Role = day.Add(310*time.Minute), RoleInspector
	})
	checkFamily(t, shop, f)
	for _, l := range f.Lines.All() {
		if l.Entry == submitted && l.Fate != FateStands {
			t.Errorf("the submission that was decided on is %s", l.Fate)
		}
	}
}
