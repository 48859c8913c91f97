// Package figures answers what was: lead times, losses, hours of machines, load, walks,
// traces and exports, each added up from batches that are read one by one.
package figures

import (
	"tallywalk/traveler"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

type room struct{ *door.Door }

// Routes are the ways to the figures.
func Routes(d *door.Door) []ask.Route {
	s := &room{d}
	return []ask.Route{
		{Method: "GET", Path: "/api/v1/ground/walks", Deed: traveler.DeedLook, Handle: s.getWalks},
		{Method: "GET", Path: "/api/v1/ground/trips", Deed: traveler.DeedLook, Handle: s.getTrips},
		{Method: "GET", Path: "/api/v1/ground/walk", Deed: traveler.DeedLook, Handle: s.getWalk},
		{Method: "GET", Path: "/api/v1/pace/operation", Deed: traveler.DeedLook, Handle: s.getPaceOp},
		{Method: "GET", Path: "/api/v1/history", Deed: traveler.DeedLook, Handle: s.getHistory},
		{Method: "GET", Path: "/api/v1/losses", Deed: traveler.DeedLook, Handle: s.getLosses},
		{Method: "GET", Path: "/api/v1/machine-hours", Deed: traveler.DeedLook, Handle: s.getMachineHours},
		{Method: "GET", Path: "/api/v1/load", Deed: traveler.DeedLook, Handle: s.getLoad},
		{Method: "GET", Path: "/api/v1/fits", Deed: traveler.DeedLook, Handle: s.getFits},
		{Method: "GET", Path: "/api/v1/check", Deed: traveler.DeedLook, Handle: s.getCheck},
		{Method: "GET", Path: "/api/v1/export/:what", Deed: traveler.DeedLook, Handle: s.getExport},
		{Method: "GET", Path: "/api/v1/trace", Deed: traveler.DeedLook, Handle: s.getTrace},
	}
}
