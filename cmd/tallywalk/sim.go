package main

import (
	"container/heap"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"tallywalk/traveler"
)

// sim is the invented shop at work: a queue of things to come, each of which
// makes a scan or a release and says what comes after it. The same seed makes
// the same shop.
type sim struct {
	rng   *rand.Rand
	clock *demoClock
	open  time.Time // when the demo opens
	queue eventQueue
	n     uint64
	free  map[traveler.MachineID]time.Time // when a machine is free again
	busy  map[traveler.MachineID]bool
	order int
}

// simEvent is something that happens in the invented shop.
type simEvent struct {
	at time.Time
	n  uint64
	do func(ctx context.Context, desk traveler.Desk) error
}

type eventQueue []simEvent

func (q eventQueue) Len() int { return len(q) }
func (q eventQueue) Less(i, j int) bool {
	if !q[i].at.Equal(q[j].at) {
		return q[i].at.Before(q[j].at)
	}
	return q[i].n < q[j].n
}
func (q eventQueue) Swap(i, j int) { q[i], q[j] = q[j], q[i] }
func (q *eventQueue) Push(x any)   { *q = append(*q, x.(simEvent)) }
func (q *eventQueue) Pop() any {
	old := *q
	x := old[len(old)-1]
	*q = old[:len(old)-1]
	return x
}

func newSim(seed uint64, clock *demoClock, open time.Time) *sim {
	s := &sim{rng: rand.New(rand.NewPCG(seed, 20260302)), clock: clock, open: open, free: map[traveler.MachineID]time.Time{}, busy: map[traveler.MachineID]bool{}}
	s.at(clock.now().Add(time.Minute), s.releaseNext)
	s.at(clock.now().Add(8*time.Hour), s.morning)
	return s
}

func (s *sim) at(t time.Time, do func(context.Context, traveler.Desk) error) {
	s.n++
	heap.Push(&s.queue, simEvent{t, s.n, do})
}

func (s *sim) next(until time.Time) bool {
	return len(s.queue) > 0 && !s.queue[0].at.After(until)
}

func (s *sim) soon() time.Time {
	if len(s.queue) == 0 {
		return s.clock.now().Add(time.Hour)
	}
	return s.queue[0].at
}

func (s *sim) step(ctx context.Context, desk traveler.Desk) error {
	e := heap.Pop(&s.queue).(simEvent)
	s.clock.set(e.at)
	return e.do(ctx, desk)
}

func (s *sim) id() traveler.ScanID {
	a, b := s.rng.Uint64(), s.rng.Uint64()
	return traveler.ScanID(fmt.Sprintf("%08x-%04x-7%03x-%04x-%012x", a>>32, a>>16&0xffff, a&0xfff, 0x8000|b>>48&0x3fff, b&0xffffffffffff))
}

// minutes draws a time around m, never under a third of it.
func (s *sim) minutes(m float64) time.Duration {
	f := math.Exp(0.25 * s.rng.NormFloat64())
	return time.Duration(m * max(0.33, f) * float64(time.Minute))
}

func (s *sim) chance(p float64) bool { return s.rng.Float64() < p }

// job is a batch on its way.
type job struct {
	card   traveler.Code
	ops    []traveler.Operation
	k      int // operation it is at
	pieces int // good pieces that came in here
	m      traveler.MachineID
	who    traveler.PersonID
	toDo   int
	count  bool // counted along the way
	rework int  // pieces sent to rework here
}

// releaseNext releases a batch and plans the next one.
func (s *sim) releaseNext(ctx context.Context, desk traveler.Desk) error {
	routes := desk.Shop().Routes()
	r := routes[s.rng.IntN(len(routes))]
	s.order++
	now := s.clock.now()
	n := []int{12, 20, 25, 40, 60, 80}[s.rng.IntN(6)]
	rel := traveler.Release{
		ID: s.id(), Part: r.Part, RouteRev: r.Rev, Pieces: n, Wanted: n - n/20, WorksOrder: fmt.Sprintf("W-%d", 2600+s.order),
		Customer: []string{"North works", "Harbour plant", "Hill & Daughters"}[s.rng.IntN(3)], MaterialLots: []string{fmt.Sprintf("H%d", 70+s.rng.IntN(20))},
		Due: now.AddDate(0, 0, 1+s.rng.IntN(6)).Truncate(24 * time.Hour),
	}
	if s.chance(0.12) {
		rel.Priority = 5
	}
	answers, err := desk.Release(ctx, importer, []traveler.Release{rel}, nil)
	if err != nil {
		return err
	}
	if answers[0].Err != nil {
		return answers[0].Err
	}
	j := &job{card: answers[0].Card, ops: r.Operations, pieces: n}
	s.at(now.Add(s.minutes(40)), s.arrive(j))
	s.at(now.Add(s.minutes(s.gap(desk))), s.releaseNext)
	return nil
}

// gap keeps about two dozen batches on the floor.
func (s *sim) gap(desk traveler.Desk) float64 {
	n := 0
	desk.Open(func(f *traveler.Family) bool {
		if st := f.State(0); st != traveler.StateDone && st != traveler.StateCancelled {
			n++
		}
		return true
	})
	if n < 14 {
		return 60
	}
	return 60 * math.Exp(float64(n-14)/6)
}
