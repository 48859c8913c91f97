package main

import (
	"sync"
	"time"
)

// demoClock is the demo's clock: it is set through the history, then runs,
// faster than the real one.
type demoClock struct {
	real func() time.Time
	pace float64

	mu      sync.Mutex
	at      time.Time // the demo's time ...
	since   time.Time // ... at this real moment
	running bool
}

func (c *demoClock) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	if !c.running {
		return c.at
	}
	return c.at.Add(time.Duration(float64(c.real().Sub(c.since)) * c.pace))
}

// set puts the clock to a moment of the history; it never goes back. Once it
// runs, nobody sets it.
func (c *demoClock) set(t time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if !c.running && t.After(c.at) {
		c.at = t
	}
}

func (c *demoClock) start() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.since, c.running = c.real(), true
}

// until is how long, in real time, the demo's time t is away.
func (c *demoClock) until(t time.Time) time.Duration {
	return time.Duration(float64(t.Sub(c.now())) / c.pace)
}
