package compare

import (
	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/study"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// Routes are the ways to comparisons.
func Routes(d *door.Door, cfg Config) []ask.Route {
	s := &room{Door: d, Config: cfg}
	return []ask.Route{
		{
			Method: "GET", Path: "/api/v1/compare", Deed: traveler.DeedLook, Handle: s.getCompare,
			Does: "routes of a part as they were measured, side by side",
			Params: []ask.Param{
				ask.Text("part", "part number").Must(),
				ask.Text("route_rev", "a route revision; may be repeated"),
				ask.Whole("size", "pieces started in a batch"),
			},
			Answer: study.Comparison{},
		},
		{
			Method: "GET", Path: "/api/v1/batches/:code/makeup", Deed: traveler.DeedLook, Handle: s.getMakeUp,
			Does: "how many pieces to start to make up for what a batch lacks",
			More: "POST /api/v1/batches with makes_up releases such a batch; " +
				"what it is to make is wanted of the first batch no more.",
			Params: []ask.Param{ask.Text("code", "the batch's code, or its works order number")},
			Answer: makeUpView{},
		},
		{
			Method: "POST", Path: "/api/v1/compare", Deed: traveler.DeedLook, Handle: s.postCompare,
			Does: "routes of a part side by side: measured, planned, assumed or combined",
			Body: compareAsk{}, Answer: study.Comparison{},
		},
		{
			Method: "POST", Path: "/api/v1/compare/page.pdf", Deed: traveler.DeedLook,
			Handle: s.postComparePDF,
			Does:   "routes side by side, one A4 page",
			Body:   compareAsk{}, Gives: []string{ask.MediaPDF},
		},
		{
			Method: "POST", Path: "/api/v1/compare/sheet.xlsx", Deed: traveler.DeedLook,
			Handle: s.postCompareXLSX,
			Does:   "routes side by side, a workbook",
			Body:   compareAsk{}, Gives: []string{ask.MediaXLSX},
		},
		{
			Method: "POST", Path: "/api/v1/compare/release", Deed: traveler.DeedPlan,
			Handle: s.postCompareRelease,
			Does:   "release a proposal as a new revision",
			Body:   proposal{}, Status: fiber.StatusCreated, Answer: traveler.Route{},
		},
		{
			Method: "GET", Path: "/api/v1/changes", Deed: traveler.DeedLook, Handle: s.getChanges,
			Does: "before and after a change of route",
			Params: []ask.Param{
				ask.Text("part", "part number").Must(),
				ask.Text("before", "route revision").Must(),
				ask.Text("after", "route revision").Must(),
				ask.Number("smallest", "difference that matters, as a part; 0.10 if left out"),
			},
			Answer: changesView{},
		},
		{
			Method: "POST", Path: "/api/v1/machine-case", Deed: traveler.DeedLook, Handle: s.postCase,
			Does: "what a machine would come to in a year",
			Body: caseAsk{}, Answer: casesView{},
		},
	}
}
