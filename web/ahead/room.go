// Package ahead answers what is ahead of the floor: dates, what a promise or another
// order would do to them, and what to run next.
//
// # Decisions, with their reasons
//
//   - What is answered of a batch by the names p50, p85 and p95 is its delivery, which is
//     what a customer is given; the end of its last operation stands beside it.
//   - One scenario is worked out at a time, for it takes a whole core. People wait a few
//     seconds for their turn; what is worked out for nobody in particular (what follows
//     from taking another batch first) gives way to them, and rests as long as it worked.
//   - What to run next is said at once: the order is read from the forecast and the
//     floor, what follows from another order is what was found out the last time.
//     A line that changed since says nothing of that until it is found out again.
//   - A batch that would move by less than a quarter of an hour does not move: dates are
//     quoted by the day.
//   - Nothing here changes the floor. What is decided becomes a calendar, a priority or a
//     rule through the ways in that are there for it.
package ahead

import (
	"context"

	"tallywalk/traveler"
	core "tallywalk/traveler/ahead"
	"tallywalk/traveler/board"
	"tallywalk/web/door"
)

// Config is what the room is given by the others.
type Config struct {
	Source core.Source // nil = nothing ahead is worked out here
	// Waiting lists what waits before a work centre, in the order of the waits board.
	Waiting func(traveler.WorkCentre) []board.Row
}

// Ahead is the room.
type Ahead struct {
	*door.Door
	Config
	turn   *turn
	advice *advice
}

// New makes the room; Run keeps what it advises up to date.
func New(d *door.Door, cfg Config) *Ahead {
	return &Ahead{Door: d, Config: cfg, turn: newTurn(), advice: newAdvice()}
}

// Run works out what follows from another order, where someone has asked what to run
// next, until ctx ends.
func (s *Ahead) Run(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case id := <-s.advice.wanted:
			s.advise(ctx, id)
		}
	}
}

// forecast is the newest one, nil while there is none.
func (s *Ahead) forecast() *core.Forecast {
	if s.Source == nil {
		return nil
	}
	return s.Source.Forecast()
}
