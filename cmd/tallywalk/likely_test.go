package main

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"tallywalk/kiosk"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// likelyGoal is the share of scans at which the big button is the step that was
// said next.
const likelyGoal = 0.90

// likely counts how often the likely step was the one that was said.
type likely struct {
	shop       *traveler.Shop
	said, hits int
	misses     map[string]int // what was offered, and what was said instead
	arrives    map[traveler.MachineID]bool
}

// TestLikelyStep replays the demo's scans: before each, what would the big button
// at that machine have been? Months of the shop with its muddles; with
// TALLYWALK_LONG its whole year.
func TestLikelyStep(t *testing.T) {
	t.Parallel()
	weeks := 12
	if os.Getenv("TALLYWALK_LONG") != "" {
		weeks = 52
	}
	_, hs := simulatedShop(t, 1, weeks)
	l := &likely{shop: hs.desk.Shop(), misses: map[string]int{}}
	roots := map[traveler.Code]bool{}
	if err := hs.desk.Facts(story.FactQuery{Open: true, Bare: true}, func(b *story.BatchFact) bool {
		roots[b.Card] = true
		return true
	}); err != nil {
		t.Fatal(err)
	}
	families := map[traveler.Code]*story.Family{}
	for card := range roots {
		f, err := hs.desk.Family(card)
		if err != nil {
			t.Fatal(err)
		}
		families[f.Batches[0].Card] = f
	}
	l.learn(families)
	for _, f := range families {
		l.replay(f.Record())
	}
	if l.said < 1000 {
		t.Fatalf("only %d scans", l.said)
	}
	share := float64(l.hits) / float64(l.said)
	t.Logf("the big button was what was said next in %.1f %% of %d scans\n%s", 100*share, l.said, l.table())
	if share < likelyGoal {
		t.Errorf("%.1f %% of scans were the big button, %.0f %% are wanted:\n%s", 100*share, 100*likelyGoal,
			l.table())
	}
}

// learn finds the machines at which it is usual to say when a batch comes, as the
// server does of what is on the floor.
func (l *likely) learn(families map[traveler.Code]*story.Family) {
	l.arrives = map[traveler.MachineID]bool{}
	for _, m := range l.shop.Machines(demoNow) {
		said, came := 0, 0
		for _, f := range families {
			a, b := f.Arrivals(m.ID)
			said, came = said+a, came+b
		}
		l.arrives[m.ID] = story.IsUsual(said, came)
	}
}

// replay adds the scans of a family one by one, as they arrived, and looks at the
// station before each.
func (l *likely) replay(record []*traveler.Entry) {
	record = slices.Clone(record)
	slices.SortStableFunc(record, func(a, b *traveler.Entry) int { return saidAt(a).Compare(saidAt(b)) })
	for i, e := range record {
		if e.Scan != nil && i > 0 && e.Outcome == traveler.Kept {
			l.look(story.Fold(l.shop, record[:i]), e)
		}
	}
}

func (l *likely) look(f *story.Family, e *traveler.Entry) {
	s := e.Scan
	batch := slices.IndexFunc(f.Batches, func(b story.Batch) bool { return b.Card == e.Card })
	if batch < 0 || e.Machine == "" || s.Station == traveler.Office || s.Action == traveler.ActUndo ||
		s.Action == traveler.ActCorrect {
		return
	}
	l.said++
	st := kiosk.Look(l.shop, f, batch, e.Machine, e.By.Role, l.arrives[e.Machine], saidAt(e))
	offered := "nothing"
	if len(st.Steps) > 0 && st.Steps[0].Likely {
		offered = name(st.Steps[0].Action, st.Steps[0].Phase, st.Steps[0].For)
	}
	if said := name(s.Action, s.Phase, s.For); said != offered {
		l.misses[offered+", but "+said]++
		return
	}
	l.hits++
}

// saidAt is when someone stood at the station and said it.
func saidAt(e *traveler.Entry) time.Time {
	if e.Scan == nil {
		return e.Arrived
	}
	return e.Scan.Clock()
}

func name(a traveler.Action, phase, forWhat string) string {
	return strings.TrimSpace(strings.Join([]string{string(a), phase, forWhat}, " "))
}

// table lists the misses, the most frequent first.
func (l *likely) table() string {
	keys := make([]string, 0, len(l.misses))
	for k := range l.misses {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(a, b string) int { return l.misses[b] - l.misses[a] })
	var out strings.Builder
	for _, k := range keys[:min(len(keys), 15)] {
		fmt.Fprintf(&out, "%6.2f %%  %5d  %s\n", 100*float64(l.misses[k])/float64(l.said), l.misses[k], k)
	}
	return out.String()
}
