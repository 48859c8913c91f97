package stream

import (
	"bytes"
	"context"
	"fmt"
	"testing"
	"time"

	"tallywalk/traveler"
)

// share opens the tables of a hall, of which "own" are local.
func share(t testing.TB, h *hall) *Tables {
	t.Helper()
	tables, err := Share(context.Background(), h.log.File(), h.log, "own")
	if err != nil {
		t.Fatal(err)
	}
	return tables
}

// awaitRow waits until a row has a value; nil is for none.
func awaitRow(t testing.TB, tables *Tables, table, key string, want []byte) {
	t.Helper()
	for limit := time.Now().Add(30 * time.Second); ; {
		tables.mu.Lock()
		changed := tables.changed
		tables.mu.Unlock()
		got, err := tables.Get(table, key)
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Equal(got, want) && (got == nil) == (want == nil) {
			return
		}
		if time.Now().After(limit) {
			t.Fatalf("row %q of %s has %d bytes, want %d", key, table, len(got), len(want))
		}
		select {
		case <-changed:
		case <-time.After(lookEvery):
		}
	}
}

// TestTables writes, replaces and removes rows at two servers: the one who wrote reads its
// own at once, the other in a moment; one that was away finds out, and so does one whose
// file is of another bucket.
func TestTables(t *testing.T) {
	url := node(t)
	make1(t, url, "SHOP")
	dir := t.TempDir()
	one, two := openHall(t, url, "SHOP", "one", t.TempDir()), openHall(t, url, "SHOP", "two", dir)
	a, b := share(t, one), share(t, two)
	if err := a.Put("people", "", []byte("x")); traveler.KindOf(err) != traveler.KindInvalid {
		t.Errorf("a row without a key: %v", err)
	}
	keys := []string{"plain", "k", "with space.dot*>", "Größe/ü", string([]byte{0, 255})}
	for i, key := range keys {
		value := []byte(fmt.Sprint("value ", i))
		if err := a.Put("people", key, value); err != nil {
			t.Fatal(err)
		}
		if got, err := a.Get("people", key); err != nil || !bytes.Equal(got, value) {
			t.Errorf("who wrote %q reads %q, %v", key, got, err)
		}
		awaitRow(t, b, "people", key, value)
	}
	large := bytes.Repeat([]byte("picture "), 600_000)
	if err := b.Put("pictures", "plan", large); err != nil {
		t.Fatal(err)
	}
	awaitRow(t, a, "pictures", "plan", large)
	if err := b.Put("pictures", "plan",
		bytes.Repeat(large, 2)); traveler.KindOf(err) != traveler.KindTooLarge {
		t.Errorf("a picture of 9 MB: %v", err)
	}
	if err := a.Put("own", "x", []byte("here alone")); err != nil {
		t.Fatal(err)
	}
	two.close(t)
	if err := a.Delete("people", "plain"); err != nil {
		t.Fatal(err)
	}
	if err := a.Put("people", "k", []byte("another")); err != nil {
		t.Fatal(err)
	}
	two = openHall(t, url, "SHOP", "two", dir)
	b = share(t, two)
	for key, want := range map[string][]byte{"plain": nil, "k": []byte("another"),
		"Größe/ü": []byte("value 3")} {
		if got, err := b.Get("people", key); err != nil || !bytes.Equal(got, want) {
			t.Errorf("who was away reads %q of %q, %v", got, key, err)
		}
	}
	if got, err := b.Get("own", "x"); err != nil || got != nil {
		t.Errorf("a local row went to another server: %q, %v", got, err)
	}
	n := 0
	if err := b.Each("people", func(string, []byte) bool { n++; return true }); err != nil ||
		n != len(keys)-1 {
		t.Errorf("%d people, %v", n, err)
	}
	// In another bucket there is none of it.
	make1(t, url, "OTHER")
	alone := openHall(t, url, "OTHER", "one", t.TempDir())
	if err := alone.log.File().Tables().Put("people", "stale", []byte("x")); err != nil {
		t.Fatal(err)
	}
	if err := alone.log.File().Tables().Put("own", "x", []byte("mine")); err != nil {
		t.Fatal(err)
	}
	c := share(t, alone)
	if got, err := c.Get("people", "stale"); err != nil || got != nil {
		t.Errorf("a row of another bucket stays: %q, %v", got, err)
	}
	if got, err := c.Get("own", "x"); err != nil || string(got) != "mine" {
		t.Errorf("a local row went: %q, %v", got, err)
	}
	for _, h := range []*hall{one, two, alone} {
		h.close(t)
	}
}
