// Package figures answers what was: lead times, losses, hours of machines, load, walks,
// traces and exports, each added up from batches that are read one by one.
package figures

import (
	"tallywalk/web/door"
)

type room struct{ *door.Door }
