package main

import (
	"context"
	"testing"
	"testing/synctest"
	"time"
)

// A copy goes no faster than it may: 50 steps of 4 MiB at 100 MB a second take
// 2.1 s, and a disk that is slower is not waited for on top.
func TestCopyIsPaced(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		const step = 4 << 20
		start := time.Now()
		pace := paced(t.Context(), copyRate)
		for range 50 {
			if err := pace(step); err != nil {
				t.Fatal(err)
			}
		}
		if took := time.Since(start); took < 2090*time.Millisecond || took > 2100*time.Millisecond {
			t.Errorf("200 MiB took %v", took)
		}
		slow := time.After(time.Second) // the disk
		<-slow
		start = time.Now()
		if err := pace(step); err != nil || time.Since(start) != 0 {
			t.Errorf("waited %v: %v", time.Since(start), err)
		}
		ctx, cancel := context.WithCancel(t.Context())
		pace = paced(ctx, 1)
		cancel()
		if err := pace(step); err == nil {
			t.Error("it waited for a copy that nobody wants any more")
		}
	})
}
