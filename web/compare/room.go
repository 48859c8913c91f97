// Package compare lays routes of a part side by side: as they were measured, planned or
// proposed, before and after a change, and with another machine.
package compare

import (
	"io"
	"sync"
	"time"

	"tallywalk/traveler/study"
	"tallywalk/web/door"
)

// Config is what the room is given by the others.
type Config struct {
	// Print writes routes side by side on one A4 page.
	Print func(w io.Writer, v *study.Comparison, name string, at time.Time, language string) error
}

type room struct {
	*door.Door
	Config
	usualMu sync.Mutex
	usual   *usual
	looks   sync.Mutex // held while a look is counted
}
