//go:build !linux

package main

import "time"

// steady is a clock that nobody sets. Where a machine sleeps it may stand still:
// then a person is asked whether the server's clock is right.
func steady() func() time.Duration {
	start := time.Now()
	return func() time.Duration { return time.Since(start) }
}
