package store_test

import (
	"testing"
	"time"

	"tallywalk/store"
	"tallywalk/store/storetest"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// alone is a buffered file as a log of its own: groups go through the bytes that they
// have on their way between servers. every is how often it writes what it holds.
type alone struct {
	*store.Buffered
	turn, every int
}

func (a *alone) Append(last traveler.Seq, entries []*traveler.Entry, rows []story.Row) error {
	if a.turn++; a.every > 0 && a.turn%a.every == 0 {
		if err := a.Flush(); err != nil {
			return err
		}
	}
	if len(entries) == 0 {
		return a.Buffered.Append(last, nil, rows)
	}
	g, err := a.Link(last, entries, rows)
	if err != nil {
		return err
	}
	if g, err = store.ReadGroup(g.Append(nil), g.From(), a.link()); err != nil {
		return err
	}
	return a.Keep(g, rows, []byte("here"))
}

func (a *alone) link() story.Hash {
	_, link := a.Head()
	return link
}

// TestBuffered holds a buffered file to what every log does, whenever it writes.
func TestBuffered(t *testing.T) {
	for name, every := range map[string]int{"never": 0, "each": 1, "third": 3} {
		t.Run(name, func(t *testing.T) {
			storetest.Run(t, store.LedgerFormat, func(t *testing.T) story.Log {
				f, err := store.Open(t.TempDir(), store.Options{})
				if err != nil {
					t.Fatal(err)
				}
				b := store.NewBuffered(f, time.Hour)
				t.Cleanup(func() { _ = b.Close() })
				return &alone{Buffered: b, every: every}
			})
		})
	}
}
