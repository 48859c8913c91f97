package store

import (
	"errors"

	"tallywalk/traveler/story"
)

// Shared is a log that several servers keep together: the one whose claim was read last
// decides, the others follow. A desk over such a log decides after it read its own claim
// and until it reads another's, or an Append fails; then it has to read its own again.
type Shared interface {
	story.Log
	// News is ready when Next may have something.
	News() <-chan struct{}
	// Next is what follows what was kept, and stays so until it is taken; ok is false
	// when there is nothing yet.
	Next() (n News, ok bool)
	// Take takes in what Next gave, with the rows of a group. It fails as Append does.
	Take(n News, rows []story.Row) error
}

// News is a group that another server decided, or a claim.
type News struct {
	Group *Group // nil = a claim
	Mine  bool   // the claim is this server's own
}

// ErrElsewhere is the error of what was asked of a server that does not decide; nothing of
// it was kept by this one.
var ErrElsewhere = errors.New("another server decides")
