// Package compare lays routes of a part side by side: as they were measured, planned or
// proposed, before and after a change, and with another machine.
package compare

import (
	"io"
	"sync"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/study"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// Config is what the room is given by the others.
type Config struct {
	// Print writes routes side by side on one A4 page.
	Print func(w io.Writer, v *study.Comparison, name string, at time.Time) error
}

type room struct {
	*door.Door
	Config
	usualMu sync.Mutex
	usual   *usual
	looks   sync.Mutex // held while a look is counted
}

// Routes are the ways to comparisons.
func Routes(d *door.Door, cfg Config) []ask.Route {
	s := &room{Door: d, Config: cfg}
	return []ask.Route{
		{Method: "GET", Path: "/api/v1/compare", Deed: traveler.DeedLook, Handle: s.getCompare},
		{Method: "POST", Path: "/api/v1/compare", Deed: traveler.DeedLook, Handle: s.postCompare},
		{Method: "POST", Path: "/api/v1/compare/page.pdf", Deed: traveler.DeedLook, Handle: s.postComparePDF},
		{Method: "POST", Path: "/api/v1/compare/sheet.xlsx", Deed: traveler.DeedLook, Handle: s.postCompareXLSX},
		{Method: "POST", Path: "/api/v1/compare/release", Deed: traveler.DeedPlan, Handle: s.postCompareRelease},
		{Method: "GET", Path: "/api/v1/changes", Deed: traveler.DeedLook, Handle: s.getChanges},
		{Method: "POST", Path: "/api/v1/machine-case", Deed: traveler.DeedLook, Handle: s.postCase},
	}
}
