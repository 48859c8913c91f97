package main

import (
	"testing"
	"time"
)

// demoNow is a Wednesday morning on which the demo is opened.
var demoNow = time.Date(2026, 6, 17, 9, 12, 30, 0, time.UTC)

// tellShop simulates weeks of the invented shop and gives it with its open house.
func tellShop(t testing.TB, seed uint64, weeks int) (*sim, *house) {
	t.Helper()
	s, err := newSim(seed, demoNow, weeks, &demoClock{real: time.Now, pace: 20})
	if err != nil {
		t.Fatal(err)
	}
	hs, err := s.tell(t.Context(), t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := hs.Close(); err != nil {
			t.Error(err)
		}
	})
	return s, &house{file: hs.File, log: hs.Log, desk: hs.Desk, tables: hs.File.Tables()}
}
