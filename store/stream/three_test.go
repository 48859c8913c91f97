package stream

import (
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"reflect"
	"sync"
	"testing"
	"time"

	"tallywalk/store"
	"tallywalk/store/desk"
	"tallywalk/store/storetest"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// hall is a server without its pages.
type hall struct {
	dir  string
	log  *Log
	own  *desk.Desk
	desk *Desk
}

func openHall(t testing.TB, url, stream, name, dir string) *hall {
	t.Helper()
	return openHallAt(t, url, stream, name, dir, time.Now, 200*time.Millisecond)
}

// openHallAt does so with a clock of its own.
func openHallAt(t testing.TB, url, stream, name, dir string, now func() time.Time,
	patience time.Duration) *hall {
	t.Helper()
	f, err := store.Open(dir, store.Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	h := &hall{dir: dir}
	h.log, err = Open(context.Background(), f, Options{
		URLs: []string{url}, Stream: stream, Name: name, Now: now, Real: now, Patience: patience,
		FlushEvery: 20 * time.Millisecond,
	})
	if err != nil {
		t.Fatal(err)
	}
	if h.own, err = desk.New(h.log, desk.Options{Now: now, SnapshotEvery: 50}); err != nil {
		t.Fatal(err)
	}
	if h.desk, err = Over(h.own, h.log); err != nil {
		t.Fatal(err)
	}
	return h
}

func (h *hall) close(t testing.TB) {
	t.Helper()
	if err := h.desk.Close(); err != nil {
		t.Error(err)
	}
	if err := h.log.Close(); err != nil {
		t.Error(err)
	}
}

// ids counts the scans of a test.
type ids struct {
	mu sync.Mutex
	n  uint64
}

func (i *ids) next() traveler.ScanID {
	i.mu.Lock()
	defer i.mu.Unlock()
	i.n++
	return storetest.UUID7(time.Now(), i.n)
}

// release puts a batch on the floor.
func release(t testing.TB, d story.Desk, i *ids) traveler.Code {
	t.Helper()
	a, err := d.Release(context.Background(), storetest.Supervisor,
		[]traveler.Release{{ID: i.next(), Part: "bracket", RouteRev: "1", Pieces: 1000}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return a[0].Card
}

func count(i *ids, card traveler.Code) story.Said {
	good := 1
	return story.Said{By: storetest.Supervisor, Scan: traveler.Scan{
		ID: i.next(), Device: "office", At: time.Now(), Station: "L1", Card: string(card),
		Action: traveler.ActCount, Good: &good,
	}}
}

// record is all of a record, as text.
func record(t testing.TB, d story.Desk) []string {
	t.Helper()
	var out []string
	if err := d.Entries(1, func(e *traveler.Entry) bool {
		data, err := json.Marshal(e)
		if err != nil {
			t.Error(err)
		}
		out = append(out, string(data))
		return true
	}); err != nil {
		t.Fatal(err)
	}
	return out
}

// alike waits until halls show the same end, and compares all that they know.
func alike(t testing.TB, halls ...*hall) {
	t.Helper()
	most := traveler.Seq(0)
	for _, h := range halls {
		seq, _ := h.own.Head()
		most = max(most, seq)
	}
	for _, h := range halls {
		for now, _ := h.own.Head(); now < most; now, _ = h.own.Head() {
			h.desk.shows(context.Background(), most)
		}
	}
	want := record(t, halls[0].own)
	_, wantLink := halls[0].own.Head()
	for _, h := range halls[1:] {
		if seq, link := h.own.Head(); seq != most || link != wantLink {
			t.Errorf("%s has another end, %d of %d: %v", h.log.opt.Name, seq, most, h.log.Wrong())
		}
		if got := record(t, h.own); !reflect.DeepEqual(got, want) {
			t.Errorf("%s has another record than %s", h.log.opt.Name, halls[0].log.opt.Name)
		}
		halls[0].own.Open(func(f *story.Family) bool {
			g, err := h.own.Family(f.Root)
			if err != nil {
				t.Errorf("%s: %v", h.log.opt.Name, err)
				return false
			}
			if !reflect.DeepEqual(f.Batches, g.Batches) || !reflect.DeepEqual(f.Visits, g.Visits) ||
				!reflect.DeepEqual(f.Spans, g.Spans) {
				t.Errorf("%s has another story of %s", h.log.opt.Name, f.Root)
			}
			return true
		})
	}
}

// TestThreeServers lets stations scan at three servers while the one that decides is
// closed again and again: what was answered is there once, and all show the same.
func TestThreeServers(t *testing.T) {
	url := node(t)
	make1(t, url, "SHOP")
	var halls [3]*hall
	for i := range halls {
		halls[i] = openHall(t, url, "SHOP", fmt.Sprint("hall", i), t.TempDir())
	}
	ctx := context.Background()
	if err := halls[1].desk.Change(ctx, storetest.Supervisor, storetest.Shop()); err != nil {
		t.Fatal(err)
	}
	var made ids
	cards := make([]traveler.Code, 9)
	for i := range cards {
		cards[i] = release(t, halls[i%3].desk, &made)
	}
	var mu sync.RWMutex // of halls
	var answered sync.Map
	var stations sync.WaitGroup
	for i := range cards {
		stations.Add(1)
		go func() {
			defer stations.Done()
			for range 60 {
				said := count(&made, cards[i])
				for again := 0; ; again++ {
					mu.RLock()
					h := halls[(i+again)%3]
					a, err := h.desk.Scans(ctx, []story.Said{said})
					mu.RUnlock()
					if err == nil && a[0].Err == nil {
						answered.Store(said.Scan.ID, a[0].Seq)
						break
					}
					if again > 100 {
						t.Errorf("never answered: %v", err)
						return
					}
				}
			}
		}()
	}
	for range 4 {
		n := rand.IntN(3)
		for i, h := range halls {
			if h.log.Decides() {
				n = i
			}
		}
		mu.Lock()
		halls[n].close(t)
		halls[n] = openHall(t, url, "SHOP", fmt.Sprint("hall", n), halls[n].dir)
		mu.Unlock()
	}
	stations.Wait()
	alike(t, halls[:]...)
	seen := map[traveler.ScanID]traveler.Seq{}
	if err := halls[0].own.Entries(1, func(e *traveler.Entry) bool {
		if seen[e.ID()] != 0 && e.ID() != "" {
			t.Errorf("scan %s is there twice", e.ID())
		}
		seen[e.ID()] = e.Seq
		return true
	}); err != nil {
		t.Fatal(err)
	}
	n := 0
	answered.Range(func(id, seq any) bool {
		if n++; seen[id.(traveler.ScanID)] != seq.(traveler.Seq) {
			t.Errorf("scan %s was answered with %d and is %d", id, seq, seen[id.(traveler.ScanID)])
		}
		return true
	})
	if n != 60*len(cards) {
		t.Errorf("%d scans were answered, want %d", n, 60*len(cards))
	}
	for _, h := range halls {
		h.close(t)
	}
	// What a server lost it reads again, and comes to the same.
	lost := openHall(t, url, "SHOP", "lost", t.TempDir())
	whole := openHall(t, url, "SHOP", "hall0", halls[0].dir)
	alike(t, whole, lost)
	if _, err := store.Verify(whole.log.File()); err != nil {
		t.Error(err)
	}
	lost.close(t)
	whole.close(t)
}
