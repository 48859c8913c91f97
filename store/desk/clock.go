package desk

import (
	"sync"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// clockSlack is how far the server's clock may step without anybody being asked:
// time servers put a clock right by less.
const clockSlack = 5 * time.Second

// serverClock is the clock of the desk, watched: against the newest entry of
// the record, since time does not run back, and against a steady clock, since
// it does not leap. While they disagree nobody knows what time it is, and the
// desk takes nothing; stations keep what is scanned. It goes on by itself once
// they agree again, or when someone who may says that the clock is right.
type serverClock struct {
	wall   func() time.Time
	steady func() time.Duration // nil = none to compare with

	mu      sync.Mutex
	newest  time.Time // arrival of the newest entry
	trusted time.Time // someone said that the clock is right though the record ran ahead up to here
	set     bool      // base and since are set
	base    time.Time // what the clock said ...
	since   time.Duration
}

// now is the time at which something arrives, UTC in whole milliseconds; it
// never goes back before the newest entry. is is what the clock says then, where
// that is far before it. It fails with KindBusy while the clock can't be believed.
func (c *serverClock) now() (t, is time.Time, err error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	t = c.wall().UTC().Truncate(time.Millisecond)
	if d := c.judge(t); d != nil {
		return t, is, traveler.Fail(traveler.KindBusy, d.Key(), d.Args()...)
	}
	if c.newest.Sub(t) > clockSlack {
		is = t
	}
	if t.Before(c.newest) {
		t = c.newest
	}
	return t, is, nil
}

// check gives what is wrong with the clock now, or nil.
func (c *serverClock) check() *story.ClockDoubt {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.judge(c.wall().UTC().Truncate(time.Millisecond))
}

func (c *serverClock) judge(t time.Time) *story.ClockDoubt {
	if c.newest.Sub(t) > clockSlack && c.newest.After(c.trusted) {
		return &story.ClockDoubt{Is: t, Expected: c.newest, Record: true}
	}
	if leap := c.leapt(t); leap.Abs() > clockSlack {
		return &story.ClockDoubt{Is: t, Expected: t.Add(-leap)}
	}
	c.rebase(t)
	return nil
}

// leapt is how much further the clock went than the steady one.
func (c *serverClock) leapt(t time.Time) time.Duration {
	if !c.set || c.steady == nil {
		return 0
	}
	return t.Sub(c.base) - (c.steady() - c.since)
}

func (c *serverClock) rebase(t time.Time) {
	if c.steady != nil {
		c.base, c.since, c.set = t, c.steady(), true
	}
}

// arrived notes the arrival of an entry.
func (c *serverClock) arrived(t time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if t.After(c.newest) {
		c.newest = t
	}
}

// reset forgets the newest entry: the record is about to be read again.
func (c *serverClock) reset(newest time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.newest = newest
}

// trust believes the clock as it stands.
func (c *serverClock) trust() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.trusted = c.newest
	c.rebase(c.wall().UTC().Truncate(time.Millisecond))
}

// ClockDoubt says why the server's clock can't be believed now; nil when it can.
func (d *Desk) ClockDoubt() *story.ClockDoubt { return d.clock.check() }

// TrustClock believes the server's clock as it stands. Where the record is ahead
// of it, what arrives until then counts as arriving with the newest entry, which
// bounds when it happened and says nothing else.
func (d *Desk) TrustClock() { d.clock.trust() }
