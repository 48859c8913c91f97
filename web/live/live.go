// Package live keeps the live boards in step with the record: the hub pulls what
// changed since, makes its rows once, and every socket takes what it has not
// seen.
package live

import (
	"context"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/board"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// Live is the boards and the sockets that show them.
type Live struct {
	*door.Door
	hub *hub
}

// New makes the boards as the record is now; Run keeps them in step.
func New(d *door.Door) *Live { return &Live{d, newHub(d.House)} }

// Run follows the record until ctx ends.
func (s *Live) Run(ctx context.Context) { s.hub.run(ctx) }

// Close tells every socket to go.
func (s *Live) Close() { s.hub.close() }

// WaitingAt lists what waits before a work centre, in the order of the rule. It
// is safe for concurrent use.
func (s *Live) WaitingAt(wc traveler.WorkCentre) []board.Row { return s.hub.waitingAt(wc) }

// Routes are the ways to the boards.
func (s *Live) Routes() []ask.Route {
	return []ask.Route{
		{
			Method: "GET", Path: "/api/v1/waits", Deed: traveler.DeedLook, Handle: s.getBoard(boardWaits),
			Does:   "the waits board",
			Answer: waitsBoard{},
		},
		{
			Method: "GET", Path: "/api/v1/ground", Deed: traveler.DeedLook, Handle: s.getBoard(boardGround),
			Does:   "the ground board: what is where, and the walks of the week",
			Answer: groundBoard{},
		},
		{
			Method: "GET", Path: "/api/v1/pace", Deed: traveler.DeedLook, Handle: s.getBoard(boardOfPace),
			Does:   "the pace board: planned against actual, and what goes on now",
			Answer: paceBoard{},
		},
		{
			Method: "GET", Path: "/live", Deed: traveler.DeedLook, Handle: s.getLive,
			Does:   "a board over a websocket: the whole first, then changes, each with its sequence",
			Params: []ask.Param{ask.Choice("board", "waits, ground or pace", "waits", "ground", "pace")},
			Status: fiber.StatusSwitchingProtocols,
		},
	}
}
