package web

import (
	"fmt"
	"testing"
	"time"
)

// An address has ten guesses at once and one every six seconds after; the first
// guess of an address passes whatever others do, so that nobody is locked out
// from elsewhere. Figures of our own; common practice, no source.
func TestGateCountsByAddressAndInTotal(t *testing.T) {
	g, now := gate{}, time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	n := 0
	for range 50 {
		if _, ok := g.enter("a", now); ok {
			n++
		}
	}
	if n != guessesAtOnce {
		t.Errorf("an address guessed %d times at once", n)
	}
	if _, ok := g.enter("a", now.Add(guessEvery)); !ok {
		t.Error("it may not guess again after a while")
	}
	if _, ok := g.enter("a", now.Add(guessEvery)); ok {
		t.Error("it guesses twice after a while")
	}
	now = now.Add(time.Hour)
	n = 0
	for i := range 300 {
		for range 5 {
			if first, ok := g.enter(fmt.Sprint("host ", i), now); ok && !first {
				n++
			}
		}
	}
	if n != totalAtOnce {
		t.Errorf("all together had %d guesses beyond their first", n)
	}
	if first, ok := g.enter("somebody else", now); !first || !ok {
		t.Errorf("the first guess of another: %v %v", first, ok)
	}
	g.right("somebody else")
	if first, _ := g.enter("somebody else", now); !first {
		t.Error("one who knew is counted as one who guesses")
	}
}

// However many addresses guess, what is remembered of them has an end.
func TestGateForgets(t *testing.T) {
	g, now := gate{}, time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	for i := range 3 * mostAddresses {
		g.enter(fmt.Sprint(i), now)
	}
	if len(g.seen) > mostAddresses {
		t.Errorf("%d addresses are remembered", len(g.seen))
	}
}

// While those who guess hash one after the other, the first guess of another
// address does not wait for them.
func TestFirstGuessHasATurnOfItsOwn(t *testing.T) {
	turns := newTurns()
	guessing := turns.take(false)
	waits := make(chan struct{})
	go func() {
		turns.take(false)()
		close(waits)
	}()
	turns.take(true)() // returns at once, or this test never ends
	select {
	case <-waits:
		t.Error("two who guess hash at the same time")
	default:
	}
	guessing()
	<-waits
}
