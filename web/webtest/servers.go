package webtest

import (
	"slices"
	"sync"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Servers are what one server hears of those that keep its record; a test says it. It is
// safe for concurrent use, and the zero value hears of none.
type Servers struct {
	mu    sync.Mutex
	list  []story.Server
	wrong []traveler.Msg
}

// Hear sets which servers are heard of.
func (s *Servers) Hear(list ...story.Server) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.list = list
}

// Fail sets what is wrong with them.
func (s *Servers) Fail(wrong ...traveler.Msg) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.wrong = wrong
}

// Servers lists those that are heard of.
func (s *Servers) Servers() []story.Server {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.list)
}

// Wrong says what is wrong with them.
func (s *Servers) Wrong() []traveler.Msg {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.wrong)
}
