package door

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
			if r, ok := g.enter(fmt.Sprint("host ", i), now); ok && r == guessing {
				n++
			}
		}
	}
	if n != totalAtOnce {
		t.Errorf("all together had %d guesses beyond their first", n)
	}
	if r, ok := g.enter("someone else", now); r != fresh || !ok {
		t.Errorf("the first guess of another: %v %v", r, ok)
	}
	g.right("someone else")
	if r, _ := g.enter("someone else", now); r != knew {
		t.Errorf("one who knew is counted as %v", r)
	}
	if r, _ := g.enter("someone else", now); r != guessing {
		t.Errorf("one who knew, and guesses now, is counted as %v", r)
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
	done := turns.take(guessing)
	waits := make(chan struct{})
	go func() {
		turns.take(guessing)()
		close(waits)
	}()
	turns.take(fresh)() // returns at once, or this test never ends
	select {
	case <-waits:
		t.Error("two who guess hash at the same time")
	default:
	}
	done()
	<-waits
}
