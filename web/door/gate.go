package door

import (
	"sync"
	"time"
)

// Guesses of passwords and codes: an address has some at once and then one after
// the other, all addresses together have some more. The first guess of an
// address always passes, so that guesses from elsewhere lock nobody out.
// Figures of our own; common practice, no source.
const (
	guessesAtOnce = 10
	guessEvery    = 6 * time.Second
	totalAtOnce   = 60
	totalEvery    = time.Second
	mostAddresses = 10_000 // remembered
)

// rank says whose turn comes first: an address from which someone signed in
// before one that has not guessed lately, that before one that guesses.
type rank int

const (
	guessing rank = iota
	fresh
	knew
	ranks
)

// bucket holds guesses that may be made; it fills with time.
type bucket struct {
	left float64
	at   time.Time
	knew bool // someone was right from here
}

func (b *bucket) rank() rank {
	switch {
	case b.left < guessesAtOnce:
		return guessing
	case b.knew:
		return knew
	}
	return fresh
}

func (b *bucket) fill(now time.Time, every time.Duration, most float64) {
	if d := now.Sub(b.at); d > 0 {
		b.left = min(most, b.left+float64(d)/float64(every))
		b.at = now
	}
}

// gate counts the guesses of each address, and of all together.
type gate struct {
	mu    sync.Mutex
	seen  map[string]bucket
	total bucket
}

// enter takes a guess, before it is made, so that guesses at the same time count
// too; ok is false when the address must wait.
func (g *gate) enter(address string, now time.Time) (r rank, ok bool) {
	g.mu.Lock()
	defer g.mu.Unlock()
	b, known := g.seen[address]
	if !known {
		b = bucket{left: guessesAtOnce, at: now}
	}
	b.fill(now, guessEvery, guessesAtOnce)
	g.total.fill(now, totalEvery, totalAtOnce)
	r = b.rank()
	if b.left < 1 || r == guessing && g.total.left < 1 {
		return r, false
	}
	if r == guessing {
		g.total.left--
	}
	b.left--
	g.forget(now)
	g.seen[address] = b
	return r, true
}

// forget makes room for another address.
func (g *gate) forget(now time.Time) {
	if g.seen == nil {
		g.seen = map[string]bucket{}
	}
	if len(g.seen) < mostAddresses {
		return
	}
	for a, b := range g.seen {
		if b.fill(now, guessEvery, guessesAtOnce); b.rank() == fresh {
			delete(g.seen, a)
		}
	}
	if len(g.seen) >= mostAddresses {
		clear(g.seen)
	}
}

// right gives the guess back of one who knew.
func (g *gate) right(address string) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if b, ok := g.seen[address]; ok {
		b.left, b.knew = min(guessesAtOnce, b.left+1), true
		g.seen[address] = b
		g.total.left = min(totalAtOnce, g.total.left+1)
	}
}

// turns lets passwords be hashed one after the other: that costs memory and
// time, and those who guess must have neither to themselves. Each rank has a
// lane, and may take those of lower ranks.
type turns [ranks]chan struct{}

func newTurns() (t turns) {
	for r := range t {
		t[r] = make(chan struct{}, 1)
	}
	return t
}

// take waits for a turn; the function it returns ends it.
func (t turns) take(r rank) (done func()) {
	lane := t[guessing]
	switch r {
	case knew:
		select {
		case t[knew] <- struct{}{}:
			lane = t[knew]
		case t[fresh] <- struct{}{}:
			lane = t[fresh]
		case lane <- struct{}{}:
		}
	case fresh:
		select {
		case t[fresh] <- struct{}{}:
			lane = t[fresh]
		case lane <- struct{}{}:
		}
	default:
		lane <- struct{}{}
	}
	return func() { <-lane }
}
