package main

import (
	"runtime"
	"runtime/debug"
	"runtime/metrics"
	"sync"
)

// The soft limit keeps the program small. But where more than that is in use at
// a time, as when a long history is added up, the collector would run without
// end to no purpose; so after each collection the limit leaves room for what
// that one found in use.

var roomOnce sync.Once

// keepRoom lets the soft limit follow what is in use, as long as the program
// runs.
func keepRoom() {
	roomOnce.Do(func() {
		// The finalizer of something that nobody holds runs after each collection.
		runtime.SetFinalizer(&collected{}, (*collected).again)
	})
}

// collected is big enough to be an allocation of its own.
type collected struct{ _ [32]byte }

func (c *collected) again() {
	live := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
	metrics.Read(live)
	if live[0].Value.Kind() != metrics.KindUint64 {
		return
	}
	debug.SetMemoryLimit(limitFor(int64(live[0].Value.Uint64())))
	runtime.SetFinalizer(c, (*collected).again)
}

// limitFor is the soft limit while so many bytes are in use: as much again, since with
// half as much the collector took an eighth of a busy server's work, and what the program
// has beside its heap.
func limitFor(live int64) int64 {
	const beside = 16 << 20
	return max(softLimit, 2*live+beside)
}
