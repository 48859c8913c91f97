package figures

import (
	"slices"

	"tallywalk/traveler"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// Routes are the ways to the figures.
func Routes(d *door.Door, cfg Config) []ask.Route {
	s := &room{d, cfg}
	return slices.Concat(s.walkRoutes(), s.weekRoutes(), s.selectionRoutes())
}

// walkRoutes are walks, and one operation of the pace board.
func (s *room) walkRoutes() []ask.Route {
	return []ask.Route{
		{
			Method: "GET", Path: "/api/v1/ground/walks", Deed: traveler.DeedLook, Handle: s.getWalks,
			Does:   "how far the batches of a choice were carried",
			Params: ofChoice(),
			Answer: walksView{},
		},
		{
			Method: "GET", Path: "/api/v1/ground/trips", Deed: traveler.DeedLook, Handle: s.getTrips,
			Does: "the walks behind a figure, the newest 200",
			Params: ofChoice(ask.Text("from_place", "where they began"),
				ask.Text("to_place", "where they ended")),
			Answer: tripsView{},
		},
		{
			Method: "GET", Path: "/api/v1/ground/walk", Deed: traveler.DeedLook, Handle: s.getWalk,
			Does: "how long the walk between two places is today",
			Params: []ask.Param{
				ask.Text("from", "a place, by its short name or code").Must(),
				ask.Text("to", "a place, by its short name or code").Must(),
			},
			Answer:  walkView{},
			Example: ask.Example{At: "/api/v1/ground/walk?from=T1&to=F1"},
		},
		{
			Method: "GET", Path: "/api/v1/pace/operation", Deed: traveler.DeedLook, Handle: s.getPaceOp,
			Does: "the batches behind a line of the pace board",
			Params: []ask.Param{
				ask.Text("part", "part number").Must(),
				ask.Text("route_rev", "route revision").Must(),
				ask.Whole("operation", "operation number").Must(),
			},
			Answer: paceOperation{},
		},
	}
}

// weekRoutes are a week or a month beside those before.
func (s *room) weekRoutes() []ask.Route {
	which := []ask.Param{
		ask.Choice("of", "what is looked at: a week when nothing is said", "week", "month"),
		ask.Text("date", "a day of it; today if left out"),
	}
	return []ask.Route{
		{
			Method: "GET", Path: "/api/v1/week", Deed: traveler.DeedLook, Handle: s.getWeek,
			Does:   "what came of a week or a month, beside the four before",
			Params: which, Answer: weeksView{},
			Example: ask.Example{At: "/api/v1/week?of=week&date=2026-11-25"},
		},
		{
			Method: "GET", Path: "/api/v1/week/sheet.xlsx", Deed: traveler.DeedLook, Handle: s.getWeekXLSX,
			Does:   "what came of a week or a month, a workbook",
			Params: which, Gives: []string{ask.MediaXLSX},
		},
	}
}

// selectionRoutes are figures of a selection of batches.
func (s *room) selectionRoutes() []ask.Route {
	return []ask.Route{
		{
			Method: "GET", Path: "/api/v1/history", Deed: traveler.DeedLook, Handle: s.getHistory,
			Does:   "lead times of a selection",
			Params: selectedBy(),
			Answer: historyView{},
		},
		{
			Method: "GET", Path: "/api/v1/losses", Deed: traveler.DeedLook, Handle: s.getLosses,
			Does: "where pieces and minutes were lost, and yields along the routes",
			Params: selectedBy(
				ask.Choice("kind", "what was lost", "scrap", "rework", "review", "stop"),
				ask.Choice("by", "added up by", "reason", "found", "caused", "part", "machine", "clampings"),
				ask.Whole("operation",
					"only what was caused at this operation, or found at it when added up by that"),
				ask.Text("key", "the bar whose batches are named; all of them if left out"),
				ask.Text("machine", "only what was found at this machine, or stood still at it"),
			),
			Answer: lossesView{},
		},
		{
			Method: "GET", Path: "/api/v1/machine-hours", Deed: traveler.DeedLook, Handle: s.getMachineHours,
			Does: "what each machine did with its hours",
			Params: selectedBy(
				ask.Text("machine", "the machine whose newest visits are named; none if left out")),
			Answer: machineHours{},
		},
		{
			Method: "GET", Path: "/api/v1/load", Deed: traveler.DeedLook, Handle: s.getLoad,
			Does:    "what is ahead, and when batches may be done",
			Params:  []ask.Param{ask.Whole("weeks", "how many weeks")},
			Answer:  loadView{},
			Example: ask.Example{At: "/api/v1/load?weeks=1"},
		},
		{
			Method: "GET", Path: "/api/v1/fits", Deed: traveler.DeedLook, Handle: s.getFits,
			Does:    "which planned times no longer fit",
			Params:  selectedBy(),
			Answer:  fitsView{},
			Example: ask.Example{At: "/api/v1/fits?part=1001-04&from=2026-01-01&to=2026-11-25"},
		},
		{
			Method: "GET", Path: "/api/v1/check", Deed: traveler.DeedLook, Handle: s.getCheck,
			Does:   "figures as shown, and as a second, plain way gives them from the scans",
			Params: selectedBy(ask.Whole("most", "how many batches, the newest")),
			Answer: checkedView{},
		},
		{
			Method: "GET", Path: "/api/v1/export/:what", Deed: traveler.DeedLook, Handle: s.getExport,
			Does: "batches, visits or scans as a file",
			More: "Batches and visits: of the batches that ended in the period, and those on the " +
				"floor. Scans: what happened in the period. The last year, when no period is named. " +
				"Columns that end in _s are seconds, in _m metres; batches and scans can be " +
				"imported again. Scans hold the numbers of people: they are for supervisors, " +
				"planners and administrators. A text that begins with = + - @ ' has an apostrophe " +
				"before it in csv and xlsx.",
			Params: selectedBy(
				ask.Choice("what", "which list", "batches", "visits", "scans"),
				ask.Choice("format", "how it is written: csv when nothing is said", "csv", "xlsx", "jsonl"),
			),
			Gives: []string{ask.MediaCSV, ask.MediaXLSX, ask.MediaJSONL},
		},
		{
			Method: "GET", Path: "/api/v1/trace", Deed: traveler.DeedLook, Handle: s.getTrace,
			Does: "from material lot to deliveries and back",
			Params: []ask.Param{
				ask.Text("q", "a material lot, works order, customer, card or delivery note")},
			Answer:  traceView{},
			Example: ask.Example{At: "/api/v1/trace?q=H71"},
		},
	}
}

// selectedBy is a selection, and what else is asked.
func selectedBy(more ...ask.Param) []ask.Param {
	return append([]ask.Param{
		ask.Text("part", "part number"),
		ask.Text("route_rev", "route revision"),
		ask.Text("customer", "customer"),
		ask.Text("works_order", "works order"),
		ask.Text("from", "first date; a year back if left out"),
		ask.Text("to", "last date; today if left out"),
	}, more...)
}

// ofChoice is a choice of batches whose walks are meant, and what else is asked.
func ofChoice(more ...ask.Param) []ask.Param {
	return append([]ask.Param{
		ask.Text("batch", "card or works order"),
		ask.Text("part", "part number"),
		ask.Text("route_rev", "route revision"),
		ask.Text("from", "first date"),
		ask.Text("to", "last date"),
	}, more...)
}
