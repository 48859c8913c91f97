package demo

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"tallywalk/store"
	"tallywalk/store/desk"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// The same seed and the same opening give the same record, byte for byte: the
// head's hash is chained over all of it, cards and codes too. Another seed
// gives another.
func TestHistoryRepeats(t *testing.T) {
	t.Parallel()
	var heads [3]story.Hash
	for i, seed := range []uint64{7, 7, 8} {
		_, hs := simulatedHouse(t, seed, 2)
		seq, head := hs.Desk.Head()
		if seq < 1000 {
			t.Fatalf("two weeks are only %d entries", seq)
		}
		heads[i] = head
	}
	if heads[0] != heads[1] {
		t.Errorf("the same seed made two histories: %x and %x", heads[0], heads[1])
	}
	if heads[0] == heads[2] {
		t.Error("another seed made the same history")
	}
}

// A history that is written in large pieces is the one that is written scan by
// scan: the record to the last byte, and every batch's facts, once the file is
// opened again as the demo opens it.
func TestHistoryGathered(t *testing.T) {
	t.Parallel()
	var ends [2]string
	for i, as := range []func(*store.File) story.Log{
		func(f *store.File) story.Log { return store.NewBuffered(f, 0) },
		func(f *store.File) story.Log { return f },
	} {
		s, err := New(5, someDay, 1, &Clock{Real: time.Now, Pace: 20})
		if err != nil {
			t.Fatal(err)
		}
		dir := t.TempDir()
		hs, err := s.houseOn(dir, as)
		if err != nil {
			t.Fatal(err)
		}
		if err := errors.Join(s.simulate(context.Background(), hs), hs.Close()); err != nil {
			t.Fatal(err)
		}
		s.clock.set(s.open)
		ends[i] = readAgain(t, dir, s)
	}
	if ends[0] != ends[1] {
		t.Errorf("gathered, the history is another:\n%.2000s\n\n%.2000s", ends[0], ends[1])
	}
}

// readAgain opens a history and gives its end and all its facts.
func readAgain(t *testing.T, dir string, s *Sim) string {
	t.Helper()
	file, err := store.Open(dir, store.Options{Now: s.clock.Now, Rand: s.random()})
	if err != nil {
		t.Fatal(err)
	}
	d, err := desk.New(file, desk.Options{Now: s.clock.Now, Rand: s.random()})
	if err != nil {
		t.Fatal(err)
	}
	hs := &House{File: file, Log: file, Desk: d}
	report, err := store.Verify(hs.File)
	if err != nil {
		t.Fatal(err)
	}
	out := fmt.Sprintf("%d %x\n", report.Entries, report.Link)
	n := 0
	err = hs.Desk.Facts(story.FactQuery{Open: true}, func(b *story.BatchFact) bool {
		n++
		out += fmt.Sprintf("%+v\n", *b)
		return true
	})
	if err := errors.Join(err, hs.Close()); err != nil || n < 50 {
		t.Fatalf("%d batches: %v", n, err)
	}
	return out
}

// checkHistory checks what must be so of any history: hardly anything refused, every
// piece accounted for, the story's pieces the true ones.
func checkHistory(t *testing.T, s *Sim, hs *House) {
	t.Helper()
	if s.counts.invalid > 0 {
		t.Errorf("%d scans were not well formed", s.counts.invalid)
	}
	if share := float64(s.counts.refused) / float64(s.counts.scans); share >= 0.01 {
		t.Errorf("%.2f %% of the scans were refused: %v", 100*share, s.counts.why)
	}
	n := 0
	if err := hs.Desk.Facts(story.FactQuery{Open: true}, func(b *story.BatchFact) bool {
		n++
		conserved(t, hs, b)
		return true
	}); err != nil {
		t.Fatal(err)
	}
	if n < s.counts.batches {
		t.Errorf("%d batches were released; %d are known", s.counts.batches, n)
	}
	asTrue(t, s, hs)
	hs.Desk.Open(func(f *story.Family) bool {
		for i := range f.Batches {
			st := f.State(i)
			if st != story.StateDone && st != story.StateCancelled && s.jobs[f.Batches[i].Card] == nil &&
				!asks(f) {
				t.Errorf("%s left the shop, but its story says that it is %s: %+v", f.Batches[i].Card, st,
					f.Sum(i))
			}
		}
		return true
	})
}

// asks reports whether a question about a family is open.
func asks(f *story.Family) bool {
	return slices.ContainsFunc(f.Questions(), func(q story.Question) bool { return q.Settled == nil })
}

// conserved checks a batch: what went in came out somewhere.
func conserved(t *testing.T, hs *House, b *story.BatchFact) {
	t.Helper()
	f, err := hs.Desk.Family(b.Card)
	if err != nil {
		t.Fatal(err)
	}
	x := f.Sum(f.Index(b.Card))
	in := x.Started + x.In - x.Out + x.Over
	if out := x.Good + x.Scrap + x.ReworkOpen + x.ReviewOpen + x.Missing + x.ToDo; in != out {
		t.Errorf("%s: %d pieces in, %d out: %+v", b.Card, in, out, x)
	}
	asked := slices.ContainsFunc(f.Questions(),
		func(q story.Question) bool { return q.Kind == story.QuestionUncounted && q.Card == b.Card })
	if b.State == story.StateDone && (x.ToDo != 0 && !asked || x.ReworkOpen != 0 || x.ReviewOpen != 0) {
		t.Errorf("%s is done, but not all of its pieces, and nobody asks: %+v", b.Card, x)
	}
	if b.Scrap != x.Scrap || b.Missing != x.Missing || b.Good != x.Good {
		t.Errorf("%s: facts %d/%d/%d, story %+v", b.Card, b.Good, b.Scrap, b.Missing, x)
	}
}

// asTrue compares the pieces of the story with the true ones, batch by batch.
// A few differ, because someone counted wrongly and nobody saw it.
func asTrue(t *testing.T, s *Sim, hs *House) {
	t.Helper()
	off := 0
	for _, g := range s.gone {
		f, err := hs.Desk.Family(g.card)
		if err != nil {
			t.Fatal(err)
		}
		i := f.Index(g.card)
		if st := f.State(i); st == story.StateCancelled {
			continue
		}
		if f.Batches[i].Joined == "" &&
			(f.Batches[i].Delivered() != g.delivered || f.Sum(i).Good != g.delivered) {
			off++
		}
	}
	if float64(off) > 0.02*float64(len(s.gone))+2 {
		t.Errorf("%d of %d batches have other pieces than they truly had", off, len(s.gone))
	}
}

// What the demo shows when it opens: machines at work, batches that wait, are
// held, outside, late, and questions that are open.
func TestShopWhenItOpens(t *testing.T) {
	t.Parallel()
	for _, weeks := range []int{1, 6} {
		s, hs := simulatedHouse(t, 1, weeks)
		checkHistory(t, s, hs)
		states := map[story.BatchState]int{}
		open, late := 0, 0
		hs.Desk.Open(func(f *story.Family) bool {
			for i := range f.Batches {
				st := f.State(i)
				states[st]++
				if st != story.StateDone && st != story.StateCancelled &&
					f.Batches[i].Due.Before(s.open.AddDate(0, 0, -1)) {
					late++
				}
			}
			for _, q := range f.Questions() {
				if q.Settled == nil {
					open++
				}
			}
			return true
		})
		for st, least := range map[story.BatchState]int{
			story.StateRunning: 1, story.StateWaiting: 8, story.StateHeld: 1, story.StateStopped: 1,
			story.StateOutside: 1,
		} {
			if states[st] < least {
				t.Errorf("%d weeks: %d batches are %s, wanted %d: %v", weeks, states[st], st, least, states)
			}
		}
		busy := states[story.StateRunning] + states[story.StateSetting] + states[story.StateStopped]
		if busy < 4 {
			t.Errorf("%d weeks: %d machines have something on them: %v", weeks, busy, states)
		}
		if late == 0 || open < 2 || open > 40 {
			t.Errorf("%d weeks: %d late, %d questions open", weeks, late, open)
		}
	}
}

// Once the demo is open, the shop goes on: each scan is sent at once, and not
// before its time.
func TestShopGoesOn(t *testing.T) {
	t.Parallel()
	s, hs := simulatedHouse(t, 3, 1)
	before, _ := hs.Desk.Head()
	s.alive = true
	for until := s.open.Add(30 * time.Hour); s.err == nil && s.next(until); {
		s.step()
		if len(s.out) > 0 {
			t.Fatal("something said was not sent")
		}
	}
	if s.err != nil {
		t.Fatal(s.err)
	}
	late := 0
	if err := hs.Desk.Entries(before+1, func(e *traveler.Entry) bool {
		if e.Scan != nil && e.Scan.IsPresent() &&
			e.Arrived.Before(e.Scan.At.Add(time.Duration(e.Scan.OffsetMS)*time.Millisecond-time.Second)) {
			late++
		}
		return true
	}); err != nil {
		t.Fatal(err)
	}
	after, _ := hs.Desk.Head()
	if after < before+100 || late > 0 {
		t.Errorf("%d entries in 30 hours, %d before their time", after-before, late)
	}
	checkHistory(t, s, hs)
}

func BenchmarkYear(b *testing.B) {
	for range b.N {
		s, _ := simulatedHouse(b, 1, Weeks)
		b.ReportMetric(float64(s.counts.scans), "scans")
		b.ReportMetric(float64(s.counts.batches), "batches")
		b.ReportMetric(100*float64(s.counts.refused)/float64(s.counts.scans), "%refused")
	}
}

// BenchmarkDemoYear makes the year of the demo: all that happens before it
// opens. Goal: under 3 s. Beside it, the same written scan by scan.
func BenchmarkDemoYear(b *testing.B) {
	for _, x := range []struct {
		name string
		as   func(*store.File) story.Log
	}{
		{"gathered", func(f *store.File) story.Log { return store.NewBuffered(f, 0) }},
		{"scan-by-scan", func(f *store.File) story.Log { return f }},
	} {
		b.Run(x.name, func(b *testing.B) {
			for b.Loop() {
				s, err := New(1, someDay, Weeks, &Clock{Real: time.Now, Pace: 20})
				if err != nil {
					b.Fatal(err)
				}
				hs, err := s.houseOn(b.TempDir(), x.as)
				if err != nil {
					b.Fatal(err)
				}
				if err := s.simulate(context.Background(), hs); err != nil {
					b.Fatal(err)
				}
				if err := hs.Close(); err != nil {
					b.Fatal(err)
				}
				b.ReportMetric(float64(s.counts.scans), "scans")
			}
		})
	}
}

// someDay is a Wednesday morning on which the demo is opened.
var someDay = time.Date(2026, 6, 17, 9, 12, 30, 0, time.UTC)

// simulatedHouse simulates weeks of the invented shop and gives it with its open house.
func simulatedHouse(t testing.TB, seed uint64, weeks int) (*Sim, *House) {
	t.Helper()
	s, err := New(seed, someDay, weeks, &Clock{Real: time.Now, Pace: 20})
	if err != nil {
		t.Fatal(err)
	}
	hs, err := s.Simulate(t.Context(), t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := hs.Close(); err != nil {
			t.Error(err)
		}
	})
	return s, hs
}
