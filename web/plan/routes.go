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
			Does:    "the plan of the floor as it holds on a date",
			Params:  []ask.Param{ask.Text("on", "a date, 2026-11-25")},
			Answer:  board.Plan{},
			Example: ask.Example{At: "/api/v1/ground/plan"},
		},
		{
			Method: "POST", Path: "/api/v1/ground/plan", Deed: traveler.DeedPlan, Handle: s.postPlan,
			Does: "change the plan from a date on; walks made before keep their lengths",
			Body: newPlan{}, Answer: board.Plan{},
		},
		{
			Method: "POST", Path: "/api/v1/ground/pictures", Deed: traveler.DeedPlan, Handle: s.postPicture,
			Does: "keep a picture of the hall: PNG or JPEG of at most 25 million pixels, " +
				"or well-formed SVG without entities of its own",
			Takes: ask.MediaImage, Status: fiber.StatusCreated, Answer: keptPicture{},
		},
		{
			Method: "GET", Path: "/api/v1/ground/pictures/:ref", Deed: traveler.DeedLook,
			Handle: s.getPicture,
			Does:   "a picture of the hall",
			Params: []ask.Param{ask.Text("ref", "as it was answered when it was kept")},
			Gives:  []string{ask.MediaImage},
		},
		{
			Method: "GET", Path: "/api/v1/lists/:list", Deed: traveler.DeedLook, Handle: s.getList,
			Does: "a list of the shop as it would be imported: machines, calendars, reasons, people, routes or batches",
			Params: []ask.Param{
				ask.Text("list", "machines, calendars, reasons, people, routes or batches"),
				ask.Text("part", "of routes: whose"), ask.Text("route_rev", "of routes: which revision"),
			},
			Answer: listTable{},
		},
		{
			Method: "GET", Path: "/api/v1/lists/:list/template", Deed: traveler.DeedLook,
			Handle: s.getTemplate,
			Does:   "a file with the header of a list, to be filled in",
			Params: []ask.Param{
				ask.Text("list", "machines, calendars, reasons, people, routes or batches"),
				ask.Choice("format", "of the file; csv if left out", "csv", "xlsx"),
				ask.Text("filled", "anything: with what stands in the list now"),
				ask.Text("part", "of routes: whose"), ask.Text("route_rev", "of routes: which revision"),
			},
			Gives: []string{ask.MediaCSV, ask.MediaXLSX},
		},
		{
			Method: "POST", Path: "/api/v1/lists/:list", Deed: traveler.DeedLook, Handle: s.postList,
			Does: "look at a list, CSV or a workbook of at most 16 MB: what is new, changed or refused; with take, keep it",
			More: "Who may: of people an administrator, of batches who releases them, of the others a planner.",
			Params: []ask.Param{
				ask.Text("list", "machines, calendars, reasons, people, routes or batches"),
				ask.Text("file", "its name, for what is said of it"),
				ask.Text("take", "anything: keep it, all or nothing"),
				ask.Text("headers",
					"JSON: headers of the file and the columns that they are, empty to pass one over; remembered"),
			},
			Takes: ask.MediaFile, Answer: lookedAt{},
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
			Example: ask.Example{At: "/api/v1/machines", Body: `{"machine":"T1","rate_per_hour":62.5}`},
		},
		{
			Method: "POST", Path: "/api/v1/routes", Deed: traveler.DeedPlan, Handle: s.postRoute,
			Does: "release a new revision of a route with other planned times",
			Body: newRevision{}, Status: fiber.StatusCreated, Answer: traveler.Route{},
			Example: ask.Example{
				At:   "/api/v1/routes",
				Body: `{"part":"1001-04","from_rev":"1","route_rev":"2","changes":[{"operation":10,"cycle_min":3.5}]}`,
			},
		},
	}
}
