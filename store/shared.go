package store

import (
	"errors"

	"tallywalk/traveler/story"
)

// Shared is a log that several servers keep together: the one whose claim was read last
// decides, the others follow.
type Shared interface {
	story.Log
	// Decides reports whether this server decides: it took in a claim of its own, since
	// then nothing of others came, and no Append failed in a way that leaves open whether
	// something was kept. While it does not, Append of entries fails with ErrElsewhere.
	Decides() bool
	// News is ready when Next may have something.
	News() <-chan struct{}
	// Next is what follows what was kept, and stays so until it is taken; ok is false
	// when there is nothing yet. From then on the server decides no more.
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
