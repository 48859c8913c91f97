package main

import "testing"

// The limit is what it always was while little is in use, and always leaves the
// collector something to do with: a limit below what is in use has it run without
// end.
func TestLimitLeavesRoom(t *testing.T) {
	for _, live := range []int64{0, 1 << 20, 34 << 20, 40 << 20} {
		if got := limitFor(live); got != softLimit {
			t.Errorf("%d bytes in use: the limit is %d", live, got)
		}
	}
	for _, live := range []int64{80 << 20, softLimit, 500 << 20, 8 << 30} {
		if got := limitFor(live); got < 2*live || got > 3*live {
			t.Errorf("%d bytes in use: the limit is %d", live, got)
		}
	}
}
