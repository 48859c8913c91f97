package stream

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"tallywalk/store"
	"tallywalk/store/desk"
	"tallywalk/store/engine"
	"tallywalk/store/storetest"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// place is an engine that goes and comes.
type place struct {
	t    *testing.T
	opt  engine.Options
	node *engine.Engine
	url  string
}

func newPlace(t *testing.T) *place {
	p := &place{t: t, opt: engine.Options{Name: "alone", Dir: t.TempDir(), Listen: "127.0.0.1:0"}}
	p.begin()
	p.opt.Listen = strings.TrimPrefix(p.url, "nats://")
	t.Cleanup(p.end)
	return p
}

func (p *place) begin() {
	p.t.Helper()
	var err error
	if p.node, err = engine.Start(context.Background(), p.opt); err != nil {
		p.t.Fatal(err)
	}
	p.url = p.node.URL()
}

func (p *place) end() {
	if p.node != nil {
		_ = p.node.Close()
		p.node = nil
	}
}

// watcher is a server that only shows.
type watcher struct {
	log  *Log
	desk Shown
}

func watchHall(t *testing.T, url, dir string) *watcher {
	t.Helper()
	f, err := store.Open(dir, store.Options{NoSync: true, Elsewhere: true})
	if err != nil {
		t.Fatal(err)
	}
	log, err := Open(context.Background(), f, Options{
		URLs: []string{url}, Stream: "SHOP", Name: "group", Now: time.Now, Real: time.Now,
		Patience:   20 * time.Millisecond,
		FlushEvery: 20 * time.Millisecond, Watch: true,
	})
	if err != nil {
		t.Fatal(err)
	}
	own, err := desk.New(log, desk.Options{Now: time.Now})
	if err != nil {
		t.Fatal(err)
	}
	log.Start(nil)
	return &watcher{log, Shown{own}}
}

func (w *watcher) close(t *testing.T) {
	t.Helper()
	if err := errors.Join(w.desk.Close(), w.log.Close()); err != nil {
		t.Error(err)
	}
}

// await waits for a state.
func await(t *testing.T, what string, isSo func() bool) {
	t.Helper()
	limit := time.After(time.Minute)
	every := time.NewTicker(10 * time.Millisecond)
	defer every.Stop()
	for !isSo() {
		select {
		case <-every.C:
		case <-limit:
			t.Fatal("not within a minute: " + what)
		}
	}
}

// shows waits until a watcher shows all that a hall has, and compares.
func (w *watcher) shows(t *testing.T, h *hall) {
	t.Helper()
	end, link := h.desk.Head()
	await(t, "the watcher shows the end", func() bool { seq, _ := w.desk.Head(); return seq >= end })
	if _, got := w.desk.Head(); got != link {
		t.Error("the watcher has another record")
	}
	if got, want := record(t, w.desk), record(t, h.desk); !slices.Equal(got, want) {
		t.Errorf("the watcher has %d entries, not the %d of the hall", len(got), len(want))
	}
}

// TestWatch lets a server show a record that another one keeps: it follows, refuses what
// would be written, is no server of the record, and never decides though nobody else does.
func TestWatch(t *testing.T) {
	t.Parallel()
	p := newPlace(t)
	make1(t, p.url, "SHOP")
	h := openHall(t, p.url, "SHOP", "hall", t.TempDir())
	var i ids
	if err := h.desk.Change(context.Background(), storetest.Supervisor, storetest.Shop()); err != nil {
		t.Fatal(err)
	}
	card := release(t, h.desk, &i)
	w := watchHall(t, p.url, t.TempDir())
	defer w.close(t)
	for range 5 {
		if _, err := h.desk.Scans(context.Background(), []story.Said{count(&i, card)}); err != nil {
			t.Fatal(err)
		}
		w.shows(t, h)
	}
	await(t, "it knows that it has all", func() bool {
		now := w.log.Watched()
		return now.Reached && now.Servers == 1 && now.Behind == 0 && !now.AsOf.IsZero() && len(now.Wrong) == 0
	})
	w.refuses(t, &i, card)
	if n := len(h.log.Servers()); n != 1 {
		t.Errorf("the hall hears of %d servers", n)
	}
	h.close(t)
	await(t, "nobody was heard for long", func() bool {
		w.log.mu.Lock()
		defer w.log.mu.Unlock()
		return time.Since(w.log.heard) > 3*w.log.late()
	})
	_, last, err := w.log.link.streamIs(context.Background(), "SHOP")
	if err != nil || last != w.log.marked().Pos || w.log.Decides() {
		t.Errorf("the stream ends at %d, %v; the watcher is at %d", last, err, w.log.marked().Pos)
	}
	if !w.log.Watched().Reached {
		t.Error("the engine answers, though no server of the record runs")
	}
}

func (w *watcher) refuses(t *testing.T, i *ids, card traveler.Code) {
	t.Helper()
	ctx := context.Background()
	_, scans := w.desk.Scans(ctx, []story.Said{count(i, card)})
	_, releases := w.desk.Release(ctx, storetest.Supervisor,
		[]traveler.Release{{ID: i.next(), Part: "bracket", RouteRev: "1", Pieces: 1}}, nil)
	seq, _ := w.log.Head()
	f, err := store.Open(t.TempDir(), store.Options{NoSync: true, Elsewhere: true})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	tables, err := Share(ctx, f, w.log)
	if err != nil {
		t.Fatal(err)
	}
	for what, err := range map[string]error{
		"scans": scans, "a release": releases,
		"a change":    w.desk.Change(ctx, storetest.Supervisor, storetest.Shop()),
		"entries":     w.log.Append(seq, []*traveler.Entry{{}}, nil),
		"a row":       tables.Put("rooms", "a", []byte("b")),
		"a row's end": tables.Delete("rooms", "a"),
	} {
		var e *traveler.Error
		if !errors.As(err, &e) || e.Say.Key != "stream.watches" || e.Kind != traveler.KindForbidden {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// TestWatchApart lets a watcher's engine go and come: what was read is shown meanwhile, also
// by a watcher that is started then, and what came since is read when it is there again.
func TestWatchApart(t *testing.T) {
	t.Parallel()
	p := newPlace(t)
	make1(t, p.url, "SHOP")
	dir, hallDir := t.TempDir(), t.TempDir()
	h := openHall(t, p.url, "SHOP", "hall", hallDir)
	var i ids
	if err := h.desk.Change(context.Background(), storetest.Supervisor, storetest.Shop()); err != nil {
		t.Fatal(err)
	}
	card := release(t, h.desk, &i)
	w := watchHall(t, p.url, dir)
	w.shows(t, h)
	was := record(t, h.desk)
	h.close(t)
	p.end()
	await(t, "it says that nobody answers", func() bool { return apartNow(w) })
	w.close(t)

	w, late := watchHall(t, p.url, dir), watchHall(t, p.url, t.TempDir())
	defer func() { w.close(t); late.close(t) }()
	if got := record(t, w.desk); !slices.Equal(got, was) {
		t.Errorf("its own file shows %d entries, not %d", len(got), len(was))
	}
	if !apartNow(w) || !apartNow(late) || !w.log.Watched().AsOf.IsZero() {
		t.Errorf("it says %+v", w.log.Watched())
	}
	p.begin()
	h = openHall(t, p.url, "SHOP", "hall", hallDir)
	defer h.close(t)
	if _, err := h.desk.Scans(context.Background(), []story.Said{count(&i, card)}); err != nil {
		t.Fatal(err)
	}
	w.shows(t, h)
	late.shows(t, h)
	await(t, "it says that all is well",
		func() bool { now := late.log.Watched(); return now.Reached && len(now.Wrong) == 0 })
}

func apartNow(w *watcher) bool {
	now := w.log.Watched()
	return !now.Reached && len(now.Wrong) == 1 && now.Wrong[0].Key == "stream.unheard"
}
