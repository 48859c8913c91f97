package main

import (
	"context"
	"testing"
	"time"
)

// BenchmarkDemoYear tells the year behind the demo: all that happens before it
// opens. Goal: under 3 s.
func BenchmarkDemoYear(b *testing.B) {
	for b.Loop() {
		s, err := newSim(1, demoNow, demoWeeks, &demoClock{real: time.Now, pace: 20})
		if err != nil {
			b.Fatal(err)
		}
		if err := s.history(context.Background(), b.TempDir()); err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(s.told.scans), "scans")
	}
}
