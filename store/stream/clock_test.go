package stream

import (
	"context"
	"fmt"
	"slices"
	"testing"
	"time"

	"tallywalk/store/storetest"
	"tallywalk/traveler"
)

// TestClocksApart lets one of three servers have a clock that is hours off: it does not
// decide while the others are there, whichever of those goes, what is said at it goes through
// the others, and no arrival goes back.
func TestClocksApart(t *testing.T) {
	for _, off := range []time.Duration{3 * time.Hour, -3 * time.Hour} {
		t.Run(off.String(), func(t *testing.T) {
			url := node(t)
			make1(t, url, "SHOP")
			clocks := []func() time.Time{func() time.Time { return time.Now().Add(off) }, time.Now, time.Now}
			halls, dirs := make([]*hall, 3), make([]string, 3)
			for i, now := range clocks {
				dirs[i] = t.TempDir()
				halls[i] = openHallAt(t, url, "SHOP", fmt.Sprint("hall", i), dirs[i], now, Patience)
			}
			ctx := context.Background()
			if err := halls[0].desk.Change(ctx, storetest.Supervisor, storetest.Shop()); err != nil {
				t.Fatal(err)
			}
			var made ids
			release(t, halls[0].desk, &made)
			first := slices.IndexFunc(halls, func(h *hall) bool { return h.log.Decides() })
			if first < 1 {
				t.Fatalf("hall %d decides", first)
			}
			if wrong := halls[0].log.Wrong(); !slices.ContainsFunc(wrong,
				func(m traveler.Msg) bool { return m.Key == "stream.clock" }) {
				t.Errorf("nothing is said of the clock: %v", wrong)
			}
			halls[first].close(t)
			release(t, halls[0].desk, &made)
			if !halls[3-first].log.Decides() {
				t.Errorf("hall %d does not decide after hall %d is gone", 3-first, first)
			}
			halls[first] = openHallAt(t, url, "SHOP", fmt.Sprint("hall", first), dirs[first], clocks[first],
				Patience)
			alike(t, halls...)
			last := time.Time{}
			if err := halls[0].own.Entries(1, func(e *traveler.Entry) bool {
				if e.Arrived.Before(last) || time.Until(e.Arrived).Abs() > time.Hour {
					t.Errorf("entry %d arrived at %v, after %v", e.Seq, e.Arrived, last)
				}
				last = e.Arrived
				return true
			}); err != nil {
				t.Fatal(err)
			}
			for _, h := range halls {
				h.close(t)
			}
		})
	}
}
