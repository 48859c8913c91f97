package floor

import (
	"slices"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// Routes are the ways to the floor.
func Routes(d *door.Door, cfg Config) []ask.Route {
	s := &room{Door: d, Config: cfg}
	return slices.Concat(s.batchRoutes(), s.paperRoutes(), s.stationRoutes())
}

// batchRoutes are what goes on, and what is known of a batch.
func (s *room) batchRoutes() []ask.Route {
	return []ask.Route{
		{
			Method: "GET", Path: "/api/v1/clock", Handle: s.getClock,
			Does:    "the server's clock, to measure a device's by",
			Answer:  clockView{},
			Example: ask.Example{At: "/api/v1/clock"},
		},
		{
			Method: "POST", Path: "/api/v1/clock", Deed: traveler.DeedAccounts, Handle: s.postClock,
			Does: "believe the server's clock as it stands, since an administrator says that it is right",
			Body: clockRight{}, Answer: clockView{},
		},
		{
			Method: "GET", Path: "/api/v1/shop", Deed: traveler.DeedLook, Handle: s.getShop,
			Does:   "machines, reasons and routes",
			Answer: shopView{},
		},
		{
			Method: "GET", Path: "/api/v1/questions", Deed: traveler.DeedLook, Handle: s.getQuestions,
			Does:   "what waits for a supervisor",
			Answer: questionsView{},
		},
		{
			Method: "POST", Path: "/api/v1/questions/follow", Deed: traveler.DeedSettle, Handle: s.postFollow,
			Does: "what follows from each answer to open questions, in numbers",
			More: "nothing is kept; an answer is a scan, see POST /api/v1/scans",
			Body: followBody{}, Answer: followsView{},
		},
		{
			Method: "GET", Path: "/api/v1/batches", Deed: traveler.DeedLook, Handle: s.getBatches,
			Does: "batches on the floor, newest release first",
			Params: []ask.Param{
				ask.Text("q", "text to look for"),
				ask.Text("state", "open: without those that are done"),
				ask.Whole("limit", "1 to 500"),
			},
			Answer:  batchesView{},
			Example: ask.Example{At: "/api/v1/batches?q=harbour&limit=10"},
		},
		{
			Method: "GET", Path: "/api/v1/find", Deed: traveler.DeedLook, Handle: s.getFind,
			Does:   "a card, works order, part, customer, material lot, person's number or machine, and the page that shows it",
			Params: []ask.Param{ask.Text("q", "what was typed, whole or a part of it")},
			Answer: findView{},
		},
		{
			Method: "GET", Path: "/api/v1/batches/:code", Deed: traveler.DeedLook, Handle: s.getBatch,
			Does:    "a batch",
			Params:  []ask.Param{ask.Text("code", "the batch's code, or its works order number")},
			Answer:  batchView{},
			Example: ask.Example{At: "/api/v1/batches/W-501"},
		},
		{
			Method: "GET", Path: "/api/v1/batches/:code/story", Deed: traveler.DeedLook, Handle: s.getStory,
			Does:   "all that was said about a batch",
			Params: []ask.Param{ask.Text("code", "the batch's code, or its works order number")},
			Answer: storyView{},
		},
		{
			Method: "GET", Path: "/api/v1/batches/:code/card.pdf", Deed: traveler.DeedLook, Handle: s.getCard,
			Does: "its job card",
			Params: []ask.Param{
				ask.Text("code", "the batch's code, or its works order number"),
				ask.Choice("paper", "A5, A4 or two on an A4 sheet", "A4", "A5", "A4x2"),
				ask.Tongue(),
			},
			Gives: []string{ask.MediaPDF},
		},
	}
}

// stationRoutes are what a station asks and says, and what is printed for it.
func (s *room) stationRoutes() []ask.Route {
	return []ask.Route{
		{
			Method: "GET", Path: "/api/v1/sheets/:kind", Deed: traveler.DeedLook, Handle: s.getSheet,
			Does: "a sheet to hang in the shop",
			Params: []ask.Param{
				ask.Text("kind",
					"one of scanner.pdf, badges.pdf, plates.pdf, actions.pdf, trust.pdf, devices.pdf"),
				ask.Text("machine", "for actions.pdf"),
				ask.Tongue(),
			},
			Gives: []string{ask.MediaPDF},
		},
		{
			Method: "GET", Path: "/api/v1/station/:machine", Deed: traveler.DeedScan, Handle: s.getStation,
			Does: "what is at a machine and what waits for it",
			Params: []ask.Param{
				ask.Text("machine", "short name or code"),
				ask.Text("operator",
					"code of the badge at the station: steps are those that its role may do"),
			},
			Answer: stationView{},
		},
		{
			Method: "GET", Path: "/api/v1/station/:machine/known", Deed: traveler.DeedScan,
			Handle: s.getStationKnown,
			Does:   "what a station keeps to go on with while nothing answers: the batches here, and those that wait",
			Params: []ask.Param{
				ask.Text("machine", "short name or code"),
				ask.Text("tag", "of the answer that the station has: the same again is 204"),
			},
			Answer: knownView{},
		},
		{
			Method: "GET", Path: "/api/v1/station/:machine/card", Deed: traveler.DeedScan,
			Handle: s.getStationCard,
			Does:   "what a scan of a card here could mean",
			Params: []ask.Param{
				ask.Text("machine", "short name or code"),
				ask.Text("ref", "what was scanned or typed"),
				ask.Text("operator",
					"code of the badge at the station: steps are those that its role may do"),
			},
			Answer: map[string]any{},
		},
		{
			Method: "POST", Path: "/api/v1/scans", Deed: traveler.DeedLook, Handle: s.scanning(s.postScans),
			Does: "take scans, in their order",
			Params: []ask.Param{
				ask.Choice(
					"now",
					"how much of the batch each answer has: short (as if absent), "+
						"whole as GET /api/v1/batches/{code} answers it, or none",
					"short", "whole", "none",
				),
			},
			Body: scansBody{}, Answer: scanResults{},
			Example: ask.Example{
				At: "/api/v1/scans",
				Body: `{"scans":[
	{"id":"018f3b6e-7c1a-7b3e-9c4d-0123456789ab","at":"2026-11-25T09:58:00Z",
		"station":"T1","card":"W-501","action":"setup","operator":"11"},
	{"id":"018f3b6e-7c1a-7b3e-9c4d-0123456789ac","at":"2026-11-25T09:59:30Z",
		"station":"T1","card":"W-501","action":"run","operator":"11"}]}`,
			},
		},
		{
			Method: "POST", Path: "/api/v1/batches", Deed: traveler.DeedRelease, Handle: s.postBatch,
			Does: "release a batch",
			Body: releaseBody{}, Status: fiber.StatusCreated, Answer: batchView{},
			Example: ask.Example{
				At: "/api/v1/batches",
				Body: `{"id":"018f3b6e-7c1a-7b3e-9c4d-0123456789ad","part":"1001-04","route_rev":"1","pieces":40,
	"works_order":"W-504","due":"2026-12-18","customer":"North works"}`,
			},
		},
	}
}
