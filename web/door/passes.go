package door

import (
	"sync"
	"time"

	"tallywalk/traveler/story"
)

// passFor is for how long someone who was let in is known without another look
// at the tables. What is written through this server is known at once; what a
// command writes beside it, after so long: well within the second in which
// whoever is removed is out.
const passFor = 250 * time.Millisecond

// passesMost is how many are known at once.
const passesMost = 4096

// passes remembers who was let in a moment ago. It is safe for concurrent use.
type passes struct {
	mu    sync.RWMutex
	turn  int // counts writes
	known map[string]known
}

type known struct {
	who   Principal
	until time.Time // of the pass, by the shop's clock; zero = for ever
	read  time.Time // by the real clock
}

// find gives whom a pass let in, if that is still to be believed.
func (p *passes) find(table, key string, now, real time.Time) (who Principal, turn int, ok bool) {
	p.mu.RLock()
	defer p.mu.RUnlock()
	k, ok := p.known[table+key]
	age := real.Sub(k.read)
	ok = ok && age >= 0 && age < passFor && (k.until.IsZero() || now.Before(k.until))
	return k.who, p.turn, ok
}

// note remembers whom a pass let in, as the tables said after a turn.
func (p *passes) note(table, key string, turn int, k known) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.turn != turn {
		return // they may say something else by now
	}
	if p.known == nil || len(p.known) >= passesMost {
		p.known = map[string]known{}
	}
	p.known[table+key] = k
}

// forget looks at the tables again for everybody.
func (p *passes) forget() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.turn++
	clear(p.known)
}

// heard is tables whose writes end what is remembered of passes.
type heard struct {
	story.Tables
	passes *passes
}

// Put writes a row; it fails as the tables do.
func (h heard) Put(table, key string, value []byte) error {
	defer h.passes.forget()
	return h.Tables.Put(table, key, value)
}

// Delete removes a row; it fails as the tables do.
func (h heard) Delete(table, key string) error {
	defer h.passes.forget()
	return h.Tables.Delete(table, key)
}
