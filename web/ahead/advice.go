package ahead

import (
	"context"
	"slices"
	"sync"
	"time"

	"tallywalk/traveler"
	core "tallywalk/traveler/ahead"
)

// What follows from another order is found out for the first few of a line, again after
// a while, and for a number of machines at once that no shop has stations for.
const (
	candidates   = 4
	adviceLasts  = 5 * time.Minute  // by the real clock
	adviceAgain  = 30 * time.Second // at the earliest, however often a line changes
	mostMachines = 200
)

// advice remembers what follows from taking another batch first, machine by machine. It
// is safe for concurrent use.
type advice struct {
	wanted chan traveler.MachineID
	mu     sync.Mutex
	at     map[traveler.MachineID]*advised
}

// advised is what was found out of a line.
type advised struct {
	line   []traveler.Code // as it stood then
	first  map[traveler.Code]takenFirst
	at     time.Time // it was found out
	queued bool
}

func newAdvice() *advice {
	return &advice{wanted: make(chan traveler.MachineID, mostMachines), at: map[traveler.MachineID]*advised{}}
}

// lineOf names the batches of a line that can be taken, as far as they are looked at.
func lineOf(waiting []nextBatch) (out []traveler.Code) {
	for i := range waiting {
		if takes(&waiting[i]) && len(out) <= candidates && !slices.Contains(out, waiting[i].Card) {
			out = append(out, waiting[i].Card)
		}
	}
	return out
}

// fill writes what is known into a line, if the line is still the same.
func (a *advice) fill(id traveler.MachineID, waiting []nextBatch, now time.Time) {
	a.mu.Lock()
	defer a.mu.Unlock()
	k := a.at[id]
	if k == nil || !slices.Equal(k.line, lineOf(waiting)) || now.Sub(k.at) > 2*adviceLasts {
		return
	}
	for i := range waiting {
		if first, ok := k.first[waiting[i].Card]; ok && i > 0 {
			waiting[i].First = &first
		}
	}
}

// want asks for what is not known of a line, or was found out long ago.
func (a *advice) want(id traveler.MachineID, waiting []nextBatch, now time.Time) {
	line := lineOf(waiting)
	if len(line) < 2 {
		return
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	k := a.at[id]
	if k == nil {
		k = &advised{}
		a.at[id] = k
	}
	if old := now.Sub(k.at); k.queued || old < adviceAgain ||
		old < adviceLasts && slices.Equal(k.line, line) {
		return
	}
	select {
	case a.wanted <- id:
		k.queued = true
	default: // asked again by the next one who looks
	}
}

// keep remembers what was found out of a line; nil is for what could not be.
func (a *advice) keep(id traveler.MachineID, line []traveler.Code, first map[traveler.Code]takenFirst,
	now time.Time) {
	a.mu.Lock()
	defer a.mu.Unlock()
	k := a.at[id]
	k.queued = false
	if first != nil {
		k.line, k.first, k.at = line, first, now
	}
}

// advise finds out what follows from taking each of the first few of a machine's line
// before all others.
func (s *Ahead) advise(ctx context.Context, id traveler.MachineID) {
	line := lineOf(s.next(id).Waiting)
	first := map[traveler.Code]takenFirst{}
	for i, card := range line {
		if i == 0 {
			continue
		}
		began := s.Real()
		before, after, err := s.whatIfTaken(ctx, id, card)
		if err != nil {
			// Someone else is at it, or the batch has just left: asked again by the next look.
			s.advice.keep(id, line, nil, s.Real())
			return
		}
		first[card] = takenFirst{before.Late, after.Late, before.DaysLate, after.DaysLate}
		rest(ctx, s.Real().Sub(began))
	}
	s.advice.keep(id, line, first, s.Real())
}

// whatIfTaken is the floor as it is, and with a batch that a machine takes next. People
// who wait for a scenario of their own go first.
func (s *Ahead) whatIfTaken(ctx context.Context, id traveler.MachineID,
	card traveler.Code) (before, after outlookView, err error) {
	if err := s.turn.take(ctx); err != nil {
		return before, after, err
	}
	defer s.turn.give()
	was, is, err := s.Source.WhatIf(ctx, &core.Scenario{Take: []core.Taking{{Machine: id, Card: card}}}, nil)
	if err != nil {
		return before, after, err
	}
	return outlookOf(was), outlookOf(is), nil
}

// rest lets others have the machine for a while.
func rest(ctx context.Context, d time.Duration) {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-ctx.Done():
	case <-t.C:
	}
}
