package main

import (
	"tallywalk/cmd/tallywalk/demo"
	"testing"
	"time"
)

// demoNow is a Wednesday morning on which the demo is opened.
var demoNow = time.Date(2026, 6, 17, 9, 12, 30, 0, time.UTC)

// simulatedShop simulates weeks of the invented shop and gives it with its open house.
func simulatedShop(t testing.TB, seed uint64, weeks int, trials ...demo.Trial) (*demo.Sim, *house) {
	t.Helper()
	s, err := demo.New(seed, demoNow, weeks, &demo.Clock{Real: time.Now, Pace: 20})
	if err != nil {
		t.Fatal(err)
	}
	for _, trial := range trials {
		s.Try(trial)
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
	return s, &house{file: hs.File, log: hs.Log, desk: hs.Desk, tables: hs.File.Tables()}
}
