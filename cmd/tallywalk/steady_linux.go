package main

import (
	"time"

	"golang.org/x/sys/unix"
)

// steady is a clock that nobody sets; it goes on while the machine sleeps. It
// falls back to one that does not.
func steady() func() time.Duration {
	start := time.Now()
	return func() time.Duration {
		var t unix.Timespec
		if err := unix.ClockGettime(unix.CLOCK_BOOTTIME, &t); err != nil {
			return time.Since(start)
		}
		return time.Duration(t.Nano())
	}
}
