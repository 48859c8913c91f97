package demo

import (
	"sync"
	"time"
)

// Clock is the demo's clock: it is set through the history, then runs,
// faster than the real one.
type Clock struct {
	Real func() time.Time
	Pace float64 // how many minutes of the shop pass in one

	mu      sync.Mutex
	at      time.Time // the demo's time ...
	since   time.Time // ... at this real moment
	running bool
}

// Now is the demo's time.
func (c *Clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	if !c.running {
		return c.at
	}
	return c.at.Add(time.Duration(float64(c.Real().Sub(c.since)) * c.Pace))
}

// set puts the clock to a moment of the history; it never goes back. Once it
// runs, nobody sets it.
func (c *Clock) set(t time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if !c.running && t.After(c.at) {
		c.at = t
	}
}

func (c *Clock) start() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.since, c.running = c.Real(), true
}

// until is how long, in real time, the demo's time t is away.
func (c *Clock) until(t time.Time) time.Duration {
	return time.Duration(float64(t.Sub(c.Now())) / c.Pace)
}
