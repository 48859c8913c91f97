// Package floor answers what goes on: batches, their stories, scans, questions, what a
// station shows, and paper.
package floor

import (
	"io"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/board"
	"tallywalk/traveler/paper"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// Config is what the room is given by the others.
type Config struct {
	// Station says what a scan of a batch at a machine could mean, for someone in
	// a role. The answer is sent as JSON.
	Station func(shop *traveler.Shop, f *traveler.Family, batch int, m traveler.MachineID, role traveler.Role, now time.Time) any
	// Waiting lists what waits before a work centre.
	Waiting func(traveler.WorkCentre) []board.Row
	// Print writes job cards as PDF; size is A4 or A5.
	Print func(w io.Writer, cards []paper.Printed, size string) error
	// PrintSheet writes another sheet: the scanner test card, badges, machine
	// plates, or a machine's action sheet.
	PrintSheet func(w io.Writer, sheet paper.Sheet) error
}

type room struct {
	*door.Door
	Config
}

// Routes are the ways to the floor.
func Routes(d *door.Door, cfg Config) []ask.Route {
	s := &room{d, cfg}
	return []ask.Route{
		{Method: "GET", Path: "/api/v1/clock", Handle: s.getClock},
		{Method: "POST", Path: "/api/v1/clock", Deed: traveler.DeedAccounts, Handle: s.postClock},
		{Method: "GET", Path: "/api/v1/shop", Deed: traveler.DeedLook, Handle: s.getShop},
		{Method: "GET", Path: "/api/v1/questions", Deed: traveler.DeedLook, Handle: s.getQuestions},
		{Method: "GET", Path: "/api/v1/batches", Deed: traveler.DeedLook, Handle: s.getBatches},
		{Method: "GET", Path: "/api/v1/batches/:code", Deed: traveler.DeedLook, Handle: s.getBatch},
		{Method: "GET", Path: "/api/v1/batches/:code/story", Deed: traveler.DeedLook, Handle: s.getStory},
		{Method: "GET", Path: "/api/v1/batches/:code/card.pdf", Deed: traveler.DeedLook, Handle: s.getCard},
		{Method: "GET", Path: "/api/v1/sheets/:kind", Deed: traveler.DeedLook, Handle: s.getSheet},
		{Method: "GET", Path: "/api/v1/station/:machine", Deed: traveler.DeedScan, Handle: s.getStation},
		{Method: "GET", Path: "/api/v1/station/:machine/card", Deed: traveler.DeedScan, Handle: s.getStationCard},
		{Method: "POST", Path: "/api/v1/scans", Deed: traveler.DeedLook, Handle: s.scanning(s.postScans)},
		{Method: "POST", Path: "/api/v1/batches", Deed: traveler.DeedRelease, Handle: s.postBatch},
	}
}
