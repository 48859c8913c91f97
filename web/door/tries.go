package door

import (
	"sync"
	"time"
)

// tries slows down guessing: after a few wrong passwords a name waits.
type tries struct {
	mu   sync.Mutex
	seen map[string]attempt
}

type attempt struct {
	n    int
	last time.Time
}

const (
	freeTries = 5
	triesWait = time.Minute
	mostTries = 10_000 // names remembered
)

// allow counts a try before it is made, so that tries at the same time count
// too; false means that the name must wait.
func (t *tries) allow(name string, now time.Time) bool {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.seen == nil || len(t.seen) >= mostTries {
		t.seen = map[string]attempt{}
	}
	a := t.seen[name]
	if now.Sub(a.last) >= triesWait {
		a.n = 0
	}
	if a.n >= freeTries {
		return false
	}
	t.seen[name] = attempt{a.n + 1, now}
	return true
}

// right forgets the tries of one who knew the password.
func (t *tries) right(name string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	delete(t.seen, name)
}
