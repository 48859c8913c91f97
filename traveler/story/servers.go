package story

import (
	"time"

	"tallywalk/traveler"
)

// Server is one of the servers that keep one record together, as another heard of it
// last.
type Server struct {
	Name   string        // what its shop calls it
	URL    string        // where stations and screens reach it; empty = not known
	Self   bool          // it is the one that was asked
	Writes bool          // it decides: the newest claim that was read is its own
	Term   uint64        // of the newest claim that it read
	Seq    traveler.Seq  // the end of the record that it shows
	Link   Hash          // of the chain there
	Heard  time.Time     // when it was heard last, by the clock of the one that was asked
	Ahead  time.Duration // how far its clock was ahead of that one
}

// Servers knows the servers that keep one record together.
type Servers interface {
	// Servers lists those that were heard of in the last minutes, by name, the one
	// that is asked among them.
	Servers() []Server
	// Wrong says what keeps them from being well, each in a sentence with what to do;
	// nil when they are.
	Wrong() []traveler.Msg
}
