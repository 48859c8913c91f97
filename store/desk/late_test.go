package desk

import (
	"context"
	"crypto/sha256"
	"fmt"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"tallywalk/store"
	"tallywalk/store/storetest"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// shift is n scans of one batch, a minute apart: at each machine a set-up, a run
// and many counts.
func (r *rig) shift(card traveler.Code, n int) []traveler.Scan {
	stations := []string{"L1", "M1", "Q1"}
	each := (n + len(stations) - 1) / len(stations)
	out := make([]traveler.Scan, 0, n)
	for i := range n {
		act, more := traveler.ActCount, []func(*traveler.Scan){good(1), late}
		switch i % each {
		case 0:
			act, more = traveler.ActSetup, []func(*traveler.Scan){late}
		case 1:
			act, more = traveler.ActRun, []func(*traveler.Scan){late}
		}
		out = append(out, r.scan(stations[i/each], string(card), act, more...))
	}
	return out
}

// bytes is a sum of the record's bodies, but for its name.
func (r *rig) bytes() string {
	r.Helper()
	sum := sha256.New()
	r.must(r.desk.Entries(1, func(e *traveler.Entry) bool {
		c := *e
		c.Epoch = ""
		body, err := store.Encode(nil, &c)
		r.must(err)
		sum.Write(body)
		return true
	}))
	return fmt.Sprintf("%x", sum.Sum(nil))
}

// The bytes of the record do not depend on how many scans come together: each
// is answered from what stands before it.
func TestGroupsChangeNoByte(t *testing.T) {
	heads := map[string]string{}
	for _, group := range []int{1, 7, 500} {
		for _, order := range []string{"oldest first", "newest first", "every third first"} {
			r := newRig(t, store.NewMem())
			card := r.release("bracket", "W", 400)
			scans := r.shift(card, 240)
			child := r.scan("L1", string(card), traveler.ActSplit, pieces(5), late)
			scans = append(scans, child,
				r.scan("L1", string(card), traveler.ActUndo, about(string(scans[7].ID)), late))
			switch order {
			case "newest first":
				slices.Reverse(scans)
			case "every third first":
				slices.SortStableFunc(scans,
					func(a, b traveler.Scan) int { return int(a.At.Unix()/60%3 - b.At.Unix()/60%3) })
			}
			for part := range slices.Chunk(scans, group) {
				r.sendAll(supervisor, part...)
			}
			if was, now := heads[order], r.bytes(); was != "" && was != now {
				t.Errorf("%s, %d together: another record", order, group)
			} else {
				heads[order] = now
			}
			before := r.dump()
			r.reopen()
			same(t, "opened again", r.dump(), before)
		}
	}
}

// Nobody else waits for one who sends many late scans: while they are taken, the
// others are answered again and again.
func TestManyLateScansTakeTurns(t *testing.T) {
	r := newRig(t, store.NewMem())
	card, other := r.release("bracket", "", 3000), string(r.release("bracket", "", 100000))
	scans := r.shift(card, 600)
	slices.Reverse(scans)
	var others sync.WaitGroup
	var answered atomic.Int64
	done, begun := make(chan struct{}), make(chan struct{})
	id := func(n int) traveler.ScanID { return storetest.UUID7(r.hand.now(), uint64(1_000_000+n)) }
	others.Go(func() {
		for n := 0; ; n++ {
			s := traveler.Scan{ID: id(n), At: r.hand.now(), Station: "L2", Card: other,
				Action: traveler.ActArrive}
			if _, err := r.desk.Scans(ctx, []story.Said{{By: worker, Scan: s}}); err != nil {
				t.Error(err)
			}
			if answered.Add(1) == 1 {
				close(begun)
			}
			select {
			case <-done:
				return
			default:
			}
		}
	})
	<-begun
	before := answered.Load()
	r.sendAll(worker, scans...)
	between := answered.Load() - before
	close(done)
	others.Wait()
	if parts := int64(len(scans) / scansTogether); between < parts/2 {
		t.Errorf("%d scans of others were answered while %d parts were taken", between, parts)
	}
}

// BenchmarkLateBurst sends 500 late scans, the newest first, for a batch that
// has 2,000, while another station scans. Goal: the other one never waits for
// over 100 ms.
func BenchmarkLateBurst(b *testing.B) {
	var worst, took time.Duration
	for b.Loop() {
		b.StopTimer()
		r := &rig{TB: b, hand: &clock{t: time.Date(2026, 11, 25, 6, 0, 0, 0, time.UTC)}}
		f, err := store.Open(b.TempDir(), store.Options{})
		r.must(err)
		r.log, r.opt = f, Options{Now: r.hand.now}
		r.open()
		r.must(r.desk.Change(ctx, supervisor, storetest.Shop()))
		card, other := r.release("bracket", "", 5000), r.release("bracket", "", 100000)
		burst, rest := r.shift(card, 500), r.shift(card, 2000)
		for part := range slices.Chunk(rest, 50) {
			r.sendAll(worker, part...)
		}
		slices.Reverse(burst)
		stop, cancel := context.WithCancel(ctx)
		var others sync.WaitGroup
		others.Go(func() {
			for n := 0; stop.Err() == nil; n++ {
				s := traveler.Scan{ID: storetest.UUID7(r.hand.now(), uint64(1_000_000+n)), At: r.hand.now(),
					Station: "L2", Card: string(other), Action: traveler.ActArrive}
				start := time.Now()
				if _, err := r.desk.Scans(ctx, []story.Said{{By: worker, Scan: s}}); err != nil {
					b.Error(err)
				}
				worst = max(worst, time.Since(start))
			}
		})
		b.StartTimer()
		start := time.Now()
		r.sendAll(worker, burst...)
		took += time.Since(start)
		cancel()
		others.Wait()
		b.StopTimer()
		r.must(r.desk.Close())
		r.must(f.Close())
		b.StartTimer()
	}
	b.ReportMetric(float64(worst)/1e6, "others-worst-ms")
	b.ReportMetric(float64(took)/1e6/float64(b.N), "burst-ms")
}

// BenchmarkHotBatch has 64 stations that scan one batch, beside 64 that scan
// many. Goal: at least half as many scans.
func BenchmarkHotBatch(b *testing.B) {
	const clients, each = 64, 100
	var hot, many time.Duration
	for b.Loop() {
		for _, one := range []bool{true, false} {
			f, err := store.Open(b.TempDir(), store.Options{})
			if err != nil {
				b.Fatal(err)
			}
			c := newCourse(b, f, clients, each)
			card := c.release("bracket", "", traveler.MaxPieces)
			at := c.hand.now()
			c.hand.pass(time.Hour)
			var turn atomic.Int64
			took, _ := together(clients, each, func(client, i int) {
				said := c.scripts[client][i]
				if one {
					said.Scan.Card, said.Scan.Action, said.Scan.Station = string(
						card), traveler.ActCount, "L1"
					n := 1
					said.Scan.Good, said.Scan.Scrap = &n, nil
					said.Scan.At = at.Add(time.Duration(turn.Add(1)) * time.Millisecond)
				}
				if a, err := c.desk.Scans(ctx, []story.Said{said}); err != nil ||
					a[0].Outcome != traveler.Kept {
					b.Errorf("%+v %v", a, err)
				}
			})
			if one {
				hot += took
			} else {
				many += took
			}
			c.must(c.desk.Close())
			c.must(f.Close())
		}
	}
	b.ReportMetric(many.Seconds()/hot.Seconds(), "hot:many-rate")
}

// A desk that closes turns away what only waits, and keeps all that it answered.
func TestCloseTurnsAwayWhatWaits(t *testing.T) {
	log := store.NewMem()
	r := newRig(t, log)
	var all [][]traveler.Scan
	for range 30 {
		scans := r.shift(r.release("bracket", "", 1000), 200)
		slices.Reverse(scans)
		all = append(all, scans)
	}
	var senders sync.WaitGroup
	var mu sync.Mutex
	kept, away := map[traveler.ScanID]bool{}, 0
	begun := make(chan struct{})
	once := sync.OnceFunc(func() { close(begun) })
	for _, scans := range all {
		senders.Go(func() {
			for part := range slices.Chunk(scans, 20) {
				said := make([]story.Said, len(part))
				for i := range part {
					said[i] = story.Said{By: worker, Scan: part[i]}
				}
				answers, err := r.desk.Scans(ctx, said)
				once()
				mu.Lock()
				if err != nil {
					away++
					if traveler.KindOf(err) != traveler.KindBusy {
						t.Error(err)
					}
				}
				for i := range answers {
					kept[answers[i].ID] = true
				}
				mu.Unlock()
			}
		})
	}
	<-begun
	r.must(r.desk.Close())
	senders.Wait()
	if away == 0 {
		t.Error("all was taken before it closed: nothing was tried")
	}
	r.must(log.Entries(1, func(e *traveler.Entry) bool {
		delete(kept, e.ID())
		return true
	}))
	if len(kept) > 0 {
		t.Errorf("%d scans were answered and are not in the record", len(kept))
	}
}
