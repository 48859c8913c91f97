package main

import (
	"context"
	"fmt"
	"net"
	"os"
	"runtime/debug"
	"time"

	"tallywalk/store"
	"tallywalk/traveler"
)

// The demo's history, in weeks.
const (
	demoWeeks     = 52
	demoMostWeeks = 104
)

// snapshotEvery is how many entries of the history lie between two snapshots.
// Families that have ended leave memory then, so it is not the whole history.
const snapshotEvery = 8192

func cmdDemo(h host, args []string) error {
	f := flags(h, "demo")
	addr := f.String("listen", "127.0.0.1:8080", "address on this computer to answer on")
	pace := f.Float64("pace", 20, "how many minutes of the shop pass in one, 1 to 3600")
	seed := f.Uint64("seed", 1, "another number is another history")
	weeks := f.Int("weeks", demoWeeks, "weeks of history, 1 to 104; a year takes some seconds to tell")
	pages := f.String("pages", "", "the repository's folder, to serve the pages from there: edit and reload")
	if _, err := parse(h, f, args); err != nil {
		return err
	}
	if *pace < 1 || *pace > 3600 || *weeks < 1 || *weeks > demoMostWeeks {
		return &usageError{fmt.Sprintf("--pace goes from 1 to 3600, --weeks from 1 to %d", demoMostWeeks)}
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
	sim, err := newSim(*seed, h.now(), *weeks, &demoClock{real: h.now, pace: *pace})
	if err != nil {
		return err
	}
	debug.SetGCPercent(growth) // what is told is thrown away soon
	fmt.Fprintf(h.out, "Telling %s of the invented shop ...\n", span(*weeks))
	if err := sim.history(h.ctx, dir); err != nil {
		if h.ctx.Err() != nil {
			return nil // someone would not wait for it
		}
		return err
	}
	return Run(h.ctx, h, Config{
		Dir: dir, Listen: *addr, Open: true, Pages: *pages, Now: sim.clock.now, Pace: *pace, Zone: demoZone,
		Started: func(ctx context.Context, desk traveler.Desk, _ string) {
			if err := sim.live(ctx, desk); err != nil && ctx.Err() == nil {
				fmt.Fprintln(h.err, "the demo's shop stands still:", sentence(err))
			}
		},
	})
}

func span(weeks int) string {
	switch weeks {
	case 1:
		return "a week"
	case 52:
		return "a year"
	}
	return fmt.Sprint(weeks, " weeks")
}

// history tells the time before the demo opens, on a file that is thrown away:
// nothing waits for the disk.
func (s *sim) history(ctx context.Context, dir string) error {
	hs, err := s.house(dir)
	if err != nil {
		return err
	}
	if err := s.tellAll(ctx, hs); err != nil {
		_ = hs.close()
		return err
	}
	s.clock.set(s.open)
	s.clock.start()
	return hs.close()
}

// house opens the file of the history, which is written in large pieces.
func (s *sim) house(dir string) (*house, error) {
	return s.houseOn(dir, func(file *store.File) traveler.Log { return store.NewGather(file) })
}

// houseOn opens the file of the history as a log. Its random numbers come from
// the seed, so that even the cards are the same again.
func (s *sim) houseOn(dir string, as func(*store.File) traveler.Log) (*house, error) {
	random := s.random()
	file, err := store.Open(dir, store.Options{Now: s.clock.now, Rand: random, NoSync: true})
	if err != nil {
		return nil, err
	}
	log := as(file)
	desk, err := store.NewDesk(log, store.DeskOptions{Now: s.clock.now, Rand: random, SnapshotEvery: snapshotEvery})
	if err != nil {
		_ = file.Close()
		return nil, err
	}
	return &house{file: file, log: log, desk: desk, tables: file.Tables()}, nil
}

// tellAll founds the shop and lets it work until the demo opens.
func (s *sim) tellAll(ctx context.Context, hs *house) error {
	s.begin(ctx, hs.desk)
	if err := hs.demoPeople(); err != nil {
		return err
	}
	s.found()
	for s.err == nil && s.next(s.open) {
		s.step()
		s.flushIfDue()
	}
	s.flush()
	return s.err
}

// live goes on from there, at the demo's pace, until ctx ends.
func (s *sim) live(ctx context.Context, desk traveler.Desk) error {
	s.begin(ctx, desk)
	s.alive = true
	timer := time.NewTimer(0)
	defer timer.Stop()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-timer.C:
		}
		for s.err == nil && s.next(s.clock.now()) {
			s.step()
		}
		if s.err != nil {
			return s.err
		}
		timer.Reset(max(50*time.Millisecond, min(time.Second, s.clock.until(s.soon()))))
	}
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
