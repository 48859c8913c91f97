package plan

import (
	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/board"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// Routes are the ways to what the shop is made of.
func Routes(d *door.Door) []ask.Route {
	s := &room{Door: d}
	return []ask.Route{
		{
			Method: "GET", Path: "/api/v1/ground/plan", Deed: traveler.DeedLook, Handle: s.getPlan,
			Does:   "the plan of the floor as it holds on a date",
			Params: []ask.Param{ask.Text("on", "a date, 2026-11-25")},
			Answer: board.Plan{},
		},
		{
			Method: "POST", Path: "/api/v1/ground/plan", Deed: traveler.DeedPlan, Handle: s.postPlan,
			Does: "change the plan from a date on; walks made before keep their lengths",
			Body: newPlan{}, Answer: board.Plan{},
		},
		{
			Method: "POST", Path: "/api/v1/ground/pictures", Deed: traveler.DeedPlan, Handle: s.postPicture,
			Does:  "keep a picture of the hall: PNG or JPEG of at most 25 million pixels, or well-formed SVG without entities of its own",
			Takes: ask.MediaImage, Status: fiber.StatusCreated, Answer: keptPicture{},
		},
		{
			Method: "GET", Path: "/api/v1/ground/pictures/:ref", Deed: traveler.DeedLook, Handle: s.getPicture,
			Does:   "a picture of the hall",
			Params: []ask.Param{ask.Text("ref", "as it was answered when it was kept")},
			Gives:  []string{ask.MediaImage},
		},
		{
			Method: "GET", Path: "/api/v1/calendars", Deed: traveler.DeedLook, Handle: s.getCalendars,
			Does:   "the calendars with their next days",
			Params: []ask.Param{ask.Text("from", "first date shown")},
			Answer: calendarsView{},
		},
		{
			Method: "POST", Path: "/api/v1/calendars", Deed: traveler.DeedPlan, Handle: s.postCalendar,
			Does: "keep a calendar from a date on; with dry, only say what it comes to",
			Body: newCalendar{}, Answer: ask.OneOf{calendarsView{}, calendarView{}},
		},
		{
			Method: "POST", Path: "/api/v1/machines", Deed: traveler.DeedPlan, Handle: s.postMachine,
			Does: "change a machine from a date on",
			Body: changedMachine{}, Answer: traveler.Machine{},
		},
		{
			Method: "POST", Path: "/api/v1/routes", Deed: traveler.DeedPlan, Handle: s.postRoute,
			Does: "release a new revision of a route with other planned times",
			Body: newRevision{}, Status: fiber.StatusCreated, Answer: traveler.Route{},
		},
	}
}
