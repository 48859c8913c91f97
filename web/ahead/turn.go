package ahead

import (
	"context"
	"math"
	"sync/atomic"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	core "tallywalk/traveler/ahead"
)

// How long people wait: for their turn, and for what they asked.
const (
	turnPatience = 5 * time.Second
	workPatience = 20 * time.Second
	mostWaiting  = 4
	retryAfter   = "3" // seconds
)

// turn lets one scenario be worked out at a time, and says how far it is.
type turn struct {
	free    chan struct{}
	waiting atomic.Int32
	share   atomic.Uint64 // bits of what is done of the one at hand, 0 to 1
	busy    atomic.Bool   // someone waits for the one at hand
}

func newTurn() *turn {
	t := &turn{free: make(chan struct{}, 1)}
	t.free <- struct{}{}
	return t
}

// take waits for the turn. It fails with KindBusy where too many wait already, or it
// takes too long.
func (t *turn) take(ctx context.Context) error {
	defer t.waiting.Add(-1)
	if t.waiting.Add(1) > mostWaiting {
		return errBusy()
	}
	ctx, stop := context.WithTimeout(ctx, turnPatience)
	defer stop()
	select {
	case <-t.free:
		return nil
	case <-ctx.Done():
		return errBusy()
	}
}

func (t *turn) give() { t.free <- struct{}{} }

func (t *turn) report(share float64) { t.share.Store(math.Float64bits(share)) }

func errBusy() error { return traveler.Fail(traveler.KindBusy, "ahead.busy") }

// workOut works out a scenario for someone who waits for it. Whoever is turned away
// learns when to come again.
func (s *Ahead) workOut(c *fiber.Ctx, sc *core.Scenario) (before, after *core.Forecast, err error) {
	defer func() {
		if traveler.KindOf(err) == traveler.KindBusy {
			c.Set(fiber.HeaderRetryAfter, retryAfter)
		}
	}()
	if s.Source == nil {
		return nil, nil, traveler.Fail(traveler.KindNotFound, "ahead.off")
	}
	switch f := s.forecast(); {
	case f == nil:
		return nil, nil, traveler.Fail(traveler.KindBusy, "ahead.working")
	case f.Method == core.TooFew:
		return nil, nil, traveler.Fail(traveler.KindConflict, "ahead.few")
	}
	ctx, stop := context.WithTimeout(context.Background(), workPatience)
	defer stop()
	if err = s.turn.take(ctx); err != nil {
		return nil, nil, err
	}
	defer s.turn.give()
	s.turn.report(0)
	s.turn.busy.Store(true)
	defer s.turn.busy.Store(false)
	if before, after, err = s.Source.WhatIf(ctx, sc, s.turn.report); ctx.Err() != nil {
		err = errBusy()
	}
	return before, after, err
}

// progressView is how far the scenario is that someone waits for.
type progressView struct {
	Busy  bool    `json:"busy"`
	Share float64 `json:"share" api:"min=0,max=1"`
}

// getProgress says how far the scenario is that is worked out now.
func (s *Ahead) getProgress(c *fiber.Ctx) error {
	v := progressView{Busy: s.turn.busy.Load()}
	if v.Busy {
		v.Share = min(1, max(0, math.Float64frombits(s.turn.share.Load())))
	}
	return c.JSON(v)
}
