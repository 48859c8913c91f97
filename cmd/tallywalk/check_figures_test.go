package main

import (
	"slices"
	"strings"
	"testing"
	"time"

	"tallywalk/cmd/tallywalk/demo"
	"tallywalk/traveler"
	"tallywalk/traveler/selfcheck"
	"tallywalk/traveler/story"
)

// The figures of the invented shop's history, worked out twice: by the story and
// package measure, and by package plain straight from the scans. The second way
// was written apart from the first and shares nothing with it; where it gives
// a figure at all, both must say the same, to the millisecond and the piece.
func TestTwoWaysAgree(t *testing.T) {
	t.Parallel()
	zone, err := time.LoadLocation(demo.Zone)
	if err != nil {
		t.Fatal(err)
	}
	for _, seed := range []uint64{1, 7} {
		_, hs := simulatedShop(t, seed, 16)
		c := twice(t, hs, zone, story.FactQuery{}, nil)
		if c.Batches < 200 || 50*c.Tangled > c.Batches {
			t.Fatalf("seed %d: of %d batches the plain way gives up on %d: %v", seed, c.Batches, c.Tangled,
				c.Reasons)
		}
		rolled := 0
		for _, r := range hs.desk.Shop().Routes() {
			c := twice(t, hs, zone, story.FactQuery{Part: r.Part},
				func(b *story.BatchFact) bool { return b.Rev == r.Rev })
			if slices.ContainsFunc(c.Figures, func(f selfcheck.Figure) bool { return f.Name == "rolled" }) {
				rolled++
			}
		}
		if rolled < 5 {
			t.Errorf("seed %d: the yield along the route was held against the scans on %d routes", seed,
				rolled)
		}
	}
}

// twice works figures out both ways, and says where they differ.
func twice(t *testing.T, hs *house, zone *time.Location, q story.FactQuery,
	fits func(*story.BatchFact) bool) *selfcheck.Check {
	t.Helper()
	c, err := selfcheck.Figures(hs.desk, zone, q, fits, 10_000)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range c.Differ {
		t.Errorf("batch %s: %s is %v as shown, %v from the scans", x.Card, x.Figure, x.Shown, x.Plain)
	}
	for _, f := range c.Figures {
		if !f.Same {
			t.Errorf("%s: %s is %v as shown, %v from the scans", q.Part, f.Name, f.Shown, f.Plain)
		}
	}
	return c
}

// Right after an old log was taken, both ways agree on every batch of it.
func TestTwoWaysAgreeOnAnOldLog(t *testing.T) {
	t.Parallel()
	m, hs := makeUp(t), logHouse(t)
	takeLog(t, hs, m.file(), false)
	if c := twice(t, hs, m.zone, story.FactQuery{}, nil); c.Batches < 200 || c.Tangled > 0 {
		t.Errorf("of %d batches the plain way gives up on %d: %v", c.Batches, c.Tangled, c.Reasons)
	}
	var out strings.Builder
	if err := hs.verifyFigures("", &out); err != nil {
		t.Errorf("%v\n%s", err, &out)
	}
	if got := stretchesOf([]traveler.Seq{3, 5, 6, 7, 9, 10}); got != "3, 5-7, 9-10" {
		t.Error(got)
	}
}
