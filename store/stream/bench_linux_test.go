package stream

import (
	"context"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/nats-io/nats.go"

	"tallywalk/store"
	"tallywalk/store/desk"
	"tallywalk/store/storetest"
	"tallywalk/store/storetest/engines"
	"tallywalk/store/stream/fit"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// How long a way of writing is measured at a time, and how often: a machine is noisy, so
// that ways take turns and only their ratio says something.
const (
	benchTurn  = 2 * time.Second
	benchTurns = 3
)

// BenchmarkTogether compares scans at the door of a server that decides with a bare loop
// that writes entries of 200 bytes, in groups, through the same node of the same three
// engines, each a process of its own; and scans through a server that does not decide.
func BenchmarkTogether(b *testing.B) {
	set := engines.StartWith(b, engines.Options{Nodes: 3, Direct: true})
	nc, err := nats.Connect(set.URLs()[0])
	if err != nil {
		b.Fatal(err)
	}
	defer nc.Close()
	for _, name := range []string{"SHOP", "BARE"} {
		if err := fit.Make(b.Context(), nc, name, 3); err != nil {
			b.Fatal(err)
		}
	}
	node := set.URLs()[set.AwaitLeader("SHOP")]
	bare := newBareLoop(b, node, "BARE")
	one := benchHall(b, node, "one")
	decider(b, one)
	two := benchHall(b, node, "two")
	if err := one.desk.Change(context.Background(), storetest.Supervisor, storetest.Shop()); err != nil {
		b.Fatal(err)
	}
	var made ids
	cards := benchFloor(b, one.desk, &made)
	var turns atomic.Int64
	scan := func(h *hall) func(int) {
		return func(int) {
			card := cards[turns.Add(1)%int64(len(cards))]
			a, err := h.desk.Scans(context.Background(), []story.Said{count(&made, card)})
			if err != nil || a[0].Err != nil || a[0].Outcome != traveler.Kept {
				b.Errorf("not kept: %v %+v", err, a)
			}
		}
	}
	for _, writers := range []int{1, 64, 256} {
		b.Run(fmt.Sprint("writers=", writers), func(b *testing.B) {
			ways := []func(int){func(int) { bare.write(b) }, scan(one), scan(two)}
			var done [3]int
			var p50 [3]time.Duration
			for range benchTurns {
				for w, way := range ways {
					n, half := turn(writers, way)
					done[w], p50[w] = done[w]+n, p50[w]+half/benchTurns
				}
			}
			secs := (benchTurns * benchTurn).Seconds()
			b.ReportMetric(float64(done[0])/secs, "bare/s")
			b.ReportMetric(float64(done[1])/secs, "scans/s")
			b.ReportMetric(float64(done[1])/float64(done[0]), "of-bare")
			b.ReportMetric(float64(done[2])/float64(done[1]), "other-of-decider")
			b.ReportMetric(p50[1].Seconds()*1000, "p50-ms")
			b.ReportMetric(float64(p50[2])/float64(p50[1]), "other-p50-ratio")
			b.ReportMetric(0, "ns/op")
		})
	}
	two.close(b)
	one.close(b)
}

// benchFloor puts as many batches on the floor as a busy shop has, so that none gets more
// scans than a large one has.
func benchFloor(b *testing.B, d story.Desk, made *ids) (cards []traveler.Code) {
	for range 16 {
		rs := make([]traveler.Release, 128)
		for i := range rs {
			rs[i] = traveler.Release{ID: made.next(), Part: "bracket", RouteRev: "1", Pieces: 90_000}
		}
		answers, err := d.Release(context.Background(), storetest.Supervisor, rs, nil)
		if err != nil {
			b.Fatal(err)
		}
		for _, a := range answers {
			cards = append(cards, a.Card)
		}
	}
	return cards
}

// turn lets writers write one after the other for a while, and gives how often, and how
// long the middle one took.
func turn(writers int, way func(int)) (n int, half time.Duration) {
	var all sync.WaitGroup
	var mu sync.Mutex
	var took []time.Duration
	ends := time.Now().Add(benchTurn)
	for i := range writers {
		all.Go(func() {
			var own []time.Duration
			for at := time.Now(); at.Before(ends); {
				way(i)
				now := time.Now()
				own, at = append(own, now.Sub(at)), now
			}
			mu.Lock()
			took = append(took, own...)
			mu.Unlock()
		})
	}
	all.Wait()
	return len(took), middle(took)
}

// bareLoop writes entries in groups, and knows nothing of what they are.
type bareLoop struct {
	link  *link
	queue chan chan struct{}
	last  atomic.Int64
}

func newBareLoop(b *testing.B, node, name string) *bareLoop {
	li, err := dial(&Options{URLs: []string{node}, Name: "bare"})
	if err != nil {
		b.Fatal(err)
	}
	l := &bareLoop{link: li, queue: make(chan chan struct{}, 1024)}
	go func() {
		entry := make([]byte, 200)
		for first := range l.queue {
			group := []chan struct{}{first}
			data := append([]byte{}, entry...)
			for len(l.queue) > 0 && len(group) < 256 {
				group, data = append(group, <-l.queue), append(data, entry...)
			}
			seq, err := li.publish(fit.Subject(name), nil, data, l.last.Load())
			if err != nil {
				b.Error(err)
			}
			l.last.Store(int64(seq))
			for _, done := range group {
				close(done)
			}
		}
	}()
	b.Cleanup(func() {
		close(l.queue)
		li.nc.Close()
	})
	return l
}

func (l *bareLoop) write(testing.TB) {
	done := make(chan struct{})
	l.queue <- done
	<-done
}

func benchHall(b *testing.B, node, name string) *hall {
	f, err := store.Open(b.TempDir(), store.Options{})
	if err != nil {
		b.Fatal(err)
	}
	h := &hall{}
	if h.log, err = Open(context.Background(), f,
		Options{URLs: []string{node}, Stream: "SHOP", Name: name, Now: time.Now,
			Real: time.Now}); err != nil {
		b.Fatal(err)
	}
	if h.own, err = desk.New(h.log, desk.Options{Now: time.Now}); err != nil {
		b.Fatal(err)
	}
	if h.desk, err = Over(h.own, h.log); err != nil {
		b.Fatal(err)
	}
	return h
}

// decider waits until a hall decides.
func decider(b *testing.B, h *hall) {
	for limit := time.Now().Add(time.Minute); !h.log.Decides(); {
		if time.Now().After(limit) {
			b.Fatal("nobody decides")
		}
		_, _, moved := h.log.who()
		select {
		case <-moved:
		case <-time.After(seatEvery):
		}
	}
}
