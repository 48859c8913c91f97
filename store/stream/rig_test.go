package stream

import (
	"context"
	"slices"
	"testing"
	"time"

	"github.com/nats-io/nats.go"

	"tallywalk/store"
	"tallywalk/store/engine"
	"tallywalk/store/stream/fit"
)

// node starts one node of the engine in this process.
func node(t testing.TB) string {
	t.Helper()
	e, err := engine.Start(context.Background(),
		engine.Options{Name: "alone", Dir: t.TempDir(), Listen: "127.0.0.1:0"})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = e.Close() })
	return e.URL()
}

// make1 makes a stream of one node.
func make1(t testing.TB, url, name string) {
	t.Helper()
	nc, err := nats.Connect(url)
	if err != nil {
		t.Fatal(err)
	}
	defer nc.Close()
	if err := fit.Make(context.Background(), nc, name, 1); err != nil {
		t.Fatal(err)
	}
}

// openLog opens a log of a stream with an empty file of its own.
func openLog(t testing.TB, url, stream, name string) *Log {
	t.Helper()
	f, err := store.Open(t.TempDir(), store.Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	l, err := Open(context.Background(), f, Options{
		URLs: []string{url}, Stream: stream, Name: name, Now: time.Now, Real: time.Now,
		Patience: 20 * time.Millisecond,
	})
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// decides waits until a log without a desk has taken in a claim of its own.
func decides(t testing.TB, l *Log) *Log { return decidesWhile(t, l, nil) }

// decidesWhile does so for one whose clock may be doubted.
func decidesWhile(t testing.TB, l *Log, doubt func() bool) *Log {
	t.Helper()
	l.Start(doubt)
	limit := time.After(time.Minute)
	for !l.Decides() {
		select {
		case <-l.News():
		case <-limit:
			t.Fatal("nobody decides")
		}
		for n, ok := l.Next(); ok; n, ok = l.Next() {
			if err := l.Take(n, nil); err != nil {
				t.Fatal(err)
			}
		}
	}
	return l
}

// middle is the median.
func middle(all []time.Duration) time.Duration {
	slices.Sort(all)
	if len(all) == 0 {
		return 0
	}
	return all[len(all)/2]
}
