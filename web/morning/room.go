// Package morning answers what a supervisor and a planner ask first: what happened since
// their last shift, what needs them now, and how many questions are open.
//
// # Decisions, with their reasons
//
//   - Someone's last shift is the latest that ended at the hour at which the one that is
//     on, or comes next, will end: who comes at six on a Monday was there until Friday at
//     two, though others worked until ten. The calendar is the one that most machines
//     keep. Overtime of others is no shift of theirs.
//   - What happened is read from the stories of the batches on the floor and of those that
//     left it since, never from the whole ledger, so that ten years cost nothing; a time
//     further back than a month is refused for the same reason.
//   - A machine ran unattended where it ran while it was closed for longer than a break.
package morning

import (
	"tallywalk/traveler"
	"tallywalk/traveler/ahead"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// Config is what the room is given by the others.
type Config struct {
	Ahead ahead.Source // nil = nothing ahead is worked out here
}

type room struct {
	*door.Door
	Config
	asked asked
}

// Routes are the ways to the morning page and to the number of open questions.
func Routes(d *door.Door, cfg Config) []ask.Route {
	s := &room{Door: d, Config: cfg}
	return []ask.Route{
		{
			Method: "GET", Path: "/api/v1/morning", Deed: traveler.DeedLook, Handle: s.getMorning,
			Does: "what happened since the last shift, and what needs someone now",
			More: "Of each kind at most 100 lines are named; count says how many there are.",
			Params: []ask.Param{
				ask.Text("since", "a time of the last 31 days, by the shop's clock: 2026-11-25T06:00; "+
					"the end of the reader's last shift if left out"),
			},
			Answer: morningView{}, Example: ask.Example{At: "/api/v1/morning?since=2026-11-24T14:00"},
		},
		{
			Method: "GET", Path: "/api/v1/questions/open", Deed: traveler.DeedLook, Handle: s.getOpen,
			Does:   "how many questions are open",
			Answer: openView{}, Example: ask.Example{At: "/api/v1/questions/open"},
		},
	}
}
