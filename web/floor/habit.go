package floor

import (
	"sync"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// habits remember at which machines people say when batches come. They are looked at
// again after a while: a habit does not change within minutes, and all that is on the
// floor is read for it.
type habits struct {
	mu   sync.Mutex
	at   map[traveler.MachineID]time.Time
	says map[traveler.MachineID]bool
}

const (
	habitLasts = 10 * time.Minute
	habitLeast = 5 // arrivals before there is a habit
)

// arrives reports whether it is usual at a machine to say that a batch came, on what is
// on the floor now.
func (s *room) arrives(id traveler.MachineID) bool {
	h, now := &s.habits, s.Time()
	h.mu.Lock()
	defer h.mu.Unlock()
	if at, ok := h.at[id]; ok && now.Sub(at) < habitLasts && !now.Before(at) {
		return h.says[id]
	}
	said, came := 0, 0
	s.Desk.Open(func(f *story.Family) bool {
		a, b := f.Arrivals(id)
		said, came = said+a, came+b
		return true
	})
	if h.at == nil {
		h.at, h.says = map[traveler.MachineID]time.Time{}, map[traveler.MachineID]bool{}
	}
	h.at[id], h.says[id] = now, came >= habitLeast && story.IsUsual(said, came)
	return h.says[id]
}
