// Package figures answers what was: lead times, losses, hours of machines, load, walks,
// traces and exports, each added up from batches that are read one by one.
package figures

import (
	"tallywalk/traveler/ahead"
	"tallywalk/web/door"
)

// Config is what the room is given by the others.
type Config struct {
	Ahead ahead.Source // nil = nothing ahead is worked out here
}

type room struct {
	*door.Door
	Config
}
