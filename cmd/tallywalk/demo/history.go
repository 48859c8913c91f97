package demo

import (
	"context"
	"errors"
	"time"

	"tallywalk/store"
	"tallywalk/store/desk"
	"tallywalk/traveler/story"
)

// Weeks and MaxWeeks say how long the history is: unless said, and at most.
const (
	Weeks    = 52
	MaxWeeks = 104
)

// snapshotEvery is how many entries of the history lie between two snapshots.
// Families that have ended leave memory then, so it is not the whole history.
const snapshotEvery = 8192

// House is the file of a history, and the desk over it.
type House struct {
	File *store.File
	Log  story.Log // the file itself, or what gathers for it
	Desk *desk.Desk
}

// Close closes the desk and then the file. It fails when what was said last could
// not be kept.
func (h *House) Close() error { return errors.Join(h.Desk.Close(), h.Log.Close()) }

// History makes the time before the demo opens, on a file that is thrown away: nothing
// waits for the disk. It fails when the file cannot be written, or with the error of
// ctx.
func (s *Sim) History(ctx context.Context, dir string) error {
	hs, err := s.Simulate(ctx, dir)
	if err != nil {
		return err
	}
	s.clock.set(s.open)
	s.clock.start()
	return hs.Close()
}

// house opens the file of the history, which is written in large pieces.
func (s *Sim) house(dir string) (*House, error) {
	return s.houseOn(dir, func(file *store.File) story.Log { return store.NewBuffered(file, 0) })
}

// houseOn opens the file of the history as a log. Its random numbers come from
// the seed, so that even the cards are the same again.
func (s *Sim) houseOn(dir string, as func(*store.File) story.Log) (*House, error) {
	random := s.random()
	file, err := store.Open(dir, store.Options{Now: s.clock.Now, Rand: random, NoSync: true})
	if err != nil {
		return nil, err
	}
	log := as(file)
	desk, err := desk.New(log, desk.Options{Now: s.clock.Now, Rand: random, SnapshotEvery: snapshotEvery})
	if err != nil {
		_ = file.Close()
		return nil, err
	}
	return &House{File: file, Log: log, Desk: desk}, nil
}

// simulate founds the shop and lets it work until the demo opens.
func (s *Sim) simulate(ctx context.Context, hs *House) error {
	s.begin(ctx, hs.Desk)
	if err := putPeople(hs.File.Tables()); err != nil {
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

// Live goes on from there, at the demo's pace, until ctx ends. It fails when the desk
// refuses what the shop says.
func (s *Sim) Live(ctx context.Context, desk story.Desk) error {
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
		for s.err == nil && s.next(s.clock.Now()) {
			s.step()
		}
		if s.err != nil {
			return s.err
		}
		timer.Reset(max(50*time.Millisecond, min(time.Second, s.clock.until(s.soon()))))
	}
}

// Simulate makes the whole history on a file in dir, and gives it open. It fails
// when the file can't be written or ctx ends.
func (s *Sim) Simulate(ctx context.Context, dir string) (*House, error) {
	hs, err := s.house(dir)
	if err != nil {
		return nil, err
	}
	if err := s.simulate(ctx, hs); err != nil {
		_ = hs.Close()
		return nil, err
	}
	return hs, nil
}

// Clock is the clock that the shop goes by.
func (s *Sim) Clock() *Clock { return s.clock }

// Opens is when the demo opens: the end of its history.
func (s *Sim) Opens() time.Time { return s.open }
