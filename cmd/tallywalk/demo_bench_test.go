package main

import (
	"context"
	"testing"
	"time"

	"tallywalk/store"
	"tallywalk/traveler/story"
)

// BenchmarkDemoYear tells the year behind the demo: all that happens before it
// opens. Goal: under 3 s. Beside it, the same written scan by scan.
func BenchmarkDemoYear(b *testing.B) {
	for _, x := range []struct {
		name string
		as   func(*store.File) story.Log
	}{
		{"gathered", func(f *store.File) story.Log { return store.NewGather(f) }}, {"scan-by-scan", func(f *store.File) story.Log { return f }},
	} {
		b.Run(x.name, func(b *testing.B) {
			for b.Loop() {
				s, err := newSim(1, demoNow, demoWeeks, &demoClock{real: time.Now, pace: 20})
				if err != nil {
					b.Fatal(err)
				}
				hs, err := s.houseOn(b.TempDir(), x.as)
				if err != nil {
					b.Fatal(err)
				}
				if err := s.tellAll(context.Background(), hs); err != nil {
					b.Fatal(err)
				}
				if err := hs.close(); err != nil {
					b.Fatal(err)
				}
				b.ReportMetric(float64(s.told.scans), "scans")
			}
		})
	}
}

// BenchmarkPages asks for pages of two years of the demo's history; beside each,
// the same of batches that are read whole.
func BenchmarkPages(b *testing.B) {
	s, hs := tellShop(b, 1, demoMostWeeks)
	fast, plain := servePages(b, hs.desk, hs, s.open), servePages(b, plainReader{hs.desk}, hs, s.open)
	for _, page := range []string{"history?from=2020-01-01", "losses?from=2020-01-01", "machine-hours", "load", "fits", "trace?q=none"} {
		for name, base := range map[string]string{"in-part": fast, "whole": plain} {
			b.Run(page+"/"+name, func(b *testing.B) {
				for b.Loop() {
					pageOf(b, base, "/api/v1/"+page)
				}
			})
		}
	}
}
