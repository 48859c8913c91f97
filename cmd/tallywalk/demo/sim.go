package demo

import (
	"container/heap"
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"math/rand/v2"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Sim is the invented shop at work: a queue of things to come, each of which
// says something at a station and says what comes after it. The same seed and
// the same opening make the same shop.
type Sim struct {
	seed   uint64
	rng    *rand.Rand
	ids    *rand.Rand // of its own, so that one scan more changes nothing of what happens
	zone   *time.Location
	clock  *Clock
	from   time.Time // when the history begins
	open   time.Time // when the demo opens
	now    time.Time // of the event that happens
	alive  bool      // the demo is open: what is said is sent at once
	queue  eventQueue
	events uint64

	ctx  context.Context
	desk story.Desk
	err  error // that ends it all

	machines []*simMachine
	named    map[traveler.MachineID]*simMachine
	parts    []*simPart
	jobs     map[traveler.Code]*job // those on the floor, by card
	floor    []*job                 // the same, in the order they came
	hours    map[string]*simHours   // of people who mind no machine, by calendar

	devices []*simDevice
	out     []story.Said // said, and not sent yet
	since   time.Time    // when the first of them was said
	issued  map[traveler.ScanID]traveler.Code

	trial                Trial
	mended               time.Time // when the worn fixture is
	orders, certs, notes int       // numbers given out

	gone   []gone // in the order they left
	counts simCounts
	tries  map[string]int // muddles, and how often they were made
}

// simCounts counts the scans that were sent and how they were answered.
type simCounts struct {
	batches, scans, refused, asked, invalid int
	why                                     map[string]int // refusals by sentence
}

// simEvent is something that happens in the invented shop.
type simEvent struct {
	at time.Time
	n  uint64
	do func()
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

// New makes the shop that opens as a demo at about now, with weeks of history behind
// it. It fails when this computer does not know the time zone of the shop.
func New(seed uint64, now time.Time, weeks int, clock *Clock) (*Sim, error) {
	zone, err := time.LoadLocation(Zone)
	if err != nil {
		return nil, err
	}
	open := opening(now, zone)
	s := &Sim{
		seed: seed, rng: rand.New(rand.NewPCG(seed, 20260302)), ids: rand.New(rand.NewPCG(seed, 20260303)),
		zone: zone, clock: clock,
		open: open, from: firstDay(open, weeks),
		named: map[traveler.MachineID]*simMachine{}, jobs: map[traveler.Code]*job{},
		hours:  map[string]*simHours{},
		issued: map[traveler.ScanID]traveler.Code{}, tries: map[string]int{},
		counts: simCounts{why: map[string]int{}},
		orders: 4100, certs: 310, notes: 700,
	}
	s.now = s.from
	clock.set(s.from)
	return s, s.equip()
}

// firstDay is the working morning on which the history begins.
func firstDay(open time.Time, weeks int) time.Time {
	d := clockOn(midnight(open).AddDate(0, 0, -7*weeks), 7, 5)
	for holiday(d) || d.Weekday() == time.Saturday || d.Weekday() == time.Sunday {
		d = d.AddDate(0, 0, 1)
	}
	return d
}

// random is a source of numbers for the desk, by the same seed.
func (s *Sim) random() io.Reader {
	var key [32]byte
	binary.BigEndian.PutUint64(key[:], s.seed)
	copy(key[8:], "tallywalk invented shop")
	return rand.NewChaCha8(key)
}

// begin puts the shop to a desk.
func (s *Sim) begin(ctx context.Context, desk story.Desk) { s.ctx, s.desk = ctx, desk }

// at lets something happen at a moment, at once if that has passed.
func (s *Sim) at(t time.Time, do func()) {
	if t.Before(s.now) {
		t = s.now
	}
	s.events++
	// Whole milliseconds, as the record keeps them; up, so that what takes a
	// time is over when its event comes.
	heap.Push(&s.queue, simEvent{t.Add(time.Millisecond - 1).Truncate(time.Millisecond), s.events, do})
}

func (s *Sim) after(d time.Duration, do func()) { s.at(s.now.Add(d), do) }

func (s *Sim) next(until time.Time) bool {
	return len(s.queue) > 0 && !s.queue[0].at.After(until)
}

func (s *Sim) soon() time.Time {
	if len(s.queue) == 0 {
		return s.clock.Now().Add(time.Hour)
	}
	return s.queue[0].at
}

// step lets the next thing happen.
func (s *Sim) step() {
	e := heap.Pop(&s.queue).(simEvent)
	if e.at.After(s.now) {
		s.now = e.at
	}
	e.do()
}

// fail ends the shop; what comes after it changes nothing.
func (s *Sim) fail(err error) {
	if s.err == nil {
		s.err = err
	}
}

// id makes an id of the moment, as devices do (RFC 9562, version 7).
func (s *Sim) id() traveler.ScanID {
	ms := uint64(s.now.UnixMilli())
	a, b := s.ids.Uint64(), s.ids.Uint64()
	return traveler.ScanID(
		fmt.Sprintf("%08x-%04x-7%03x-%04x-%012x", ms>>16, ms&0xffff, a&0xfff, 0x8000|b>>48&0x3fff,
			b&0xffffffffffff))
}

// code makes a code that this shop has not given out.
func (s *Sim) code(kind traveler.Kind) traveler.Code {
	for {
		c, ok := traveler.NewCode(kind, s.rng.Uint64())
		if ok && s.jobs[c] == nil {
			return c
		}
	}
}

// did counts a muddle.
func (s *Sim) did(muddle string) { s.tries[muddle]++ }
