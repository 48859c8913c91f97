package main

import (
	"testing"

	"tallywalk/traveler"
	"tallywalk/web"
)

// The figures of the invented shop's history, worked out twice: by the story and
// package measure, and by package plain straight from the scans. The second way
// was written apart from the first and shares nothing with it; where it can tell
// at all, both must say the same, to the millisecond and the piece.
func TestTwoWaysAgree(t *testing.T) {
	t.Parallel()
	for _, seed := range []uint64{1, 7} {
		_, hs := tellShop(t, seed, 16)
		c, err := web.CheckFigures(hs.desk, traveler.FactQuery{}, nil, 10_000)
		if err != nil {
			t.Fatal(err)
		}
		if c.Batches < 200 || c.Batches-c.Tangled < c.Batches/2 {
			t.Fatalf("seed %d: of %d batches the plain way gives up on %d: %v", seed, c.Batches, c.Tangled, c.Reasons)
		}
		for _, x := range c.Differ {
			t.Errorf("seed %d: batch %s: %s is %v as shown, %v from the scans", seed, x.Card, x.Figure, x.Shown, x.Plain)
		}
		for _, f := range c.Figures {
			if !f.Same {
				t.Errorf("seed %d: %s is %v as shown, %v from the scans", seed, f.Name, f.Shown, f.Plain)
			}
		}
	}
}
