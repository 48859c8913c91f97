package main

import (
	"context"
	"crypto/rand"
	"fmt"
	"net"
	"os"
	"sync"
	"time"

	"tallywalk/traveler"
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

// set puts the clock to a moment of the history; it never goes back.
func (c *demoClock) set(t time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if t.After(c.at) {
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

func cmdDemo(h host, args []string) error {
	f := flags(h, "demo")
	addr := f.String("listen", "127.0.0.1:8080", "address on this computer to answer on")
	pace := f.Float64("pace", 20, "how many minutes pass in one")
	seed := f.Uint64("seed", 1, "another number is another history")
	weeks := f.Int("weeks", 1, "weeks of history")
	if _, err := parse(h, f, args); err != nil {
		return err
	}
	if *pace < 1 || *pace > 3600 || *weeks < 1 || *weeks > 12 {
		return &usageError{"--pace goes from 1 to 3600, --weeks from 1 to 12"}
	}
	if !loopback(*addr) {
		return &usageError{"the demo lets everybody in, so it answers on this computer only: --listen 127.0.0.1:PORT"}
	}
	// A port that is taken is told before a history is made for nothing.
	ln, err := listen(*addr)
	if err != nil {
		return err
	}
	if err := ln.Close(); err != nil {
		return err
	}
	dir, err := os.MkdirTemp("", "tallywalk-demo-")
	if err != nil {
		return err
	}
	defer func() { _ = os.RemoveAll(dir) }()
	now := h.now().UTC().Truncate(time.Second)
	clock := &demoClock{real: h.now, pace: *pace, at: now.AddDate(0, 0, -7**weeks)}
	sim := newSim(*seed, clock, now)
	if err := sim.history(h.ctx, hostAt(h, clock.now), dir); err != nil {
		return err
	}
	return Run(h.ctx, h, Config{
		Dir: dir, Listen: *addr, Open: true, Now: clock.now, Pace: *pace,
		Started: func(ctx context.Context, desk traveler.Desk, _ string) {
			if err := sim.live(ctx, desk); err != nil && ctx.Err() == nil {
				fmt.Fprintln(h.err, "the demo's shop stands still:", sentence(err))
			}
		},
	})
}

// history tells the days before the demo opens.
func (s *sim) history(ctx context.Context, h host, dir string) error {
	hs, err := openHouse(dir, h)
	if err != nil {
		return err
	}
	if err := s.found(ctx, hs); err != nil {
		_ = hs.close()
		return err
	}
	for s.next(s.open) {
		if err := s.step(ctx, hs.desk); err != nil {
			_ = hs.close()
			return err
		}
	}
	s.clock.set(s.open)
	s.clock.start()
	return hs.close()
}

// live goes on from there, at the demo's pace, until ctx ends.
func (s *sim) live(ctx context.Context, desk traveler.Desk) error {
	timer := time.NewTimer(0)
	defer timer.Stop()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-timer.C:
		}
		for s.next(s.clock.now()) {
			if err := s.step(ctx, desk); err != nil {
				return err
			}
		}
		timer.Reset(max(50*time.Millisecond, min(time.Second, s.clock.until(s.soon()))))
	}
}

// found opens the invented shop: its machines, routes, reasons and people.
func (s *sim) found(ctx context.Context, hs *house) error {
	c := demoShop()
	c.From = s.clock.now()
	for i := range c.Machines {
		code, err := newCode(rand.Reader, traveler.KindMachine)
		if err != nil {
			return err
		}
		c.Machines[i].Code = code
	}
	if err := hs.desk.Change(ctx, importer, c); err != nil {
		return err
	}
	return hs.demoPeople()
}

// loopback reports whether an address is on this computer only.
func loopback(addr string) bool {
	name, _, err := net.SplitHostPort(addr)
	if err != nil {
		return false
	}
	ip := net.ParseIP(name)
	return name == "localhost" || (ip != nil && ip.IsLoopback())
}
