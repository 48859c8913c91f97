package live

import (
	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/web/ask"
)

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
