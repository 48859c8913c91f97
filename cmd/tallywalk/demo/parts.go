package demo

import "tallywalk/traveler"

// demoPart is a part of the invented shop, and how it is ordered.
type demoPart struct {
	traveler.Route
	weekly float64 // batches a week
	pieces int     // of a usual batch
	lead   int     // days promised
	spare  float64 // pieces started over pieces wanted
}

func op(n traveler.Op, wc traveler.WorkCentre, what string, setup, cycle float64) traveler.Operation {
	return traveler.Operation{Number: n, WorkCentre: wc, Instruction: what, SetupMin: setup, CycleMin: cycle, PiecesPerCycle: 1, Yield: 0.98, Clampings: 1}
}

// load says what part of the cycle is loading, in minutes.
func load(minutes float64, o traveler.Operation) traveler.Operation {
	o.LoadMin = minutes
	return o
}

// first says that the first piece is inspected before the run.
func first(o traveler.Operation) traveler.Operation {
	o.FirstOff = true
	return o
}

// held says how often a piece is held again.
func held(clampings int, o traveler.Operation) traveler.Operation {
	o.Clampings = clampings
	return o
}

// many says how many pieces come from one cycle.
func many(pieces int, o traveler.Operation) traveler.Operation {
	o.PiecesPerCycle = pieces
	return o
}

// hand is work that holds a piece without clamping it.
func hand(n traveler.Op, wc traveler.WorkCentre, what string, setup, cycle float64) traveler.Operation {
	o := op(n, wc, what, setup, cycle)
	o.Clampings, o.Yield = 0, 1
	return o
}

func outside(n traveler.Op, wc traveler.WorkCentre, what string, days float64) traveler.Operation {
	return traveler.Operation{Number: n, WorkCentre: wc, Instruction: what, PiecesPerCycle: 1, OutsideDays: days, Yield: 1}
}

func wash(n traveler.Op) traveler.Operation { return hand(n, wcWash, "Wash and dry", 1, 0.15) }

func route(part, name, drawing, material, rev string, ops ...traveler.Operation) traveler.Route {
	return traveler.Route{Part: part, PartName: name, DrawingRev: drawing, Material: material, Rev: rev, Operations: ops}
}

// parts are the nine parts as they are ordered when the history begins.
func parts() []demoPart {
	return []demoPart{
		{adapterManySetups(), 1.3, 60, 16, 1.12},
		{bearingCap(), 4.4, 103, 11, 1.06},
		{guidePin(), 3.8, 132, 19, 1.05},
		{driveShaft(), 3.05, 74, 22, 1.07},
		{valveBody(), 3.1, 60, 10, 1.06},
		{manifold(), 1.95, 48, 18, 1.05},
		{bracket(), 4.05, 79, 12, 1.07},
		{nozzle(), 3.6, 142, 10, 1.03},
		{spacer(), 3.6, 132, 11, 1.05},
	}
}

// adapterManySetups is the old route: five set-ups on three kinds of machine.
func adapterManySetups() traveler.Route {
	return route(partTwoRoutes, "Adapter flange", "C", "42CrMo4", revManySetups,
		first(load(0.4, op(10, wcTurn, "Turn side A, bore 52 H7", 45, 3.1))),
		load(0.4, op(20, wcTurn, "Turn side B to length", 40, 2.4)),
		first(load(0.5, op(30, wcMill3, "Mill flats and bolt circle", 35, 2.9))),
		load(0.5, op(40, wcMill3, "Flip, mill pocket and chamfers", 30, 1.9)),
		first(load(0.6, op(50, wcMill5, "Cross holes at 30 degrees", 50, 2.2))),
		hand(60, wcDeburr, "Deburr cross holes", 3, 0.7),
		wash(70),
		hand(80, wcInspect, "Measure bore to flats and cross holes", 8, 0.7))
}

// adapterOneSetup is the new route: complete in one set-up, while the second
// spindle does the back.
func adapterOneSetup() traveler.Route {
	return route(partTwoRoutes, "Adapter flange", "C", "42CrMo4", revOneSetup,
		first(load(0.3, op(10, wcTurnMill, "Turn and mill complete, second spindle takes over for side B", 105, 6.2))),
		wash(20),
		hand(30, wcInspect, "Measure bore to flats and cross holes", 8, 0.6))
}

func bearingCap() traveler.Route {
	return route("2140-11", "Bearing cap", "B", "EN-GJS-400", "2",
		first(load(0.3, op(10, wcTurn, "Turn seat and face", 35, 3.9))),
		load(0.6, many(4, op(20, wcMill3, "Mill joint and drill, four in the fixture", 40, 14.0))),
		hand(30, wcDeburr, "Deburr", 2, 0.4),
		wash(40),
		hand(50, wcInspect, "Measure seat to joint", 8, 0.4))
}

func guidePin() traveler.Route {
	return route("3305-02", "Guide pin", "A", "100Cr6", "2",
		op(10, wcBar, "Turn from the bar, leave 0.3 for grinding", 30, 1.5),
		outside(20, wcHarden, "Harden to 60–62 HRC", 4),
		first(op(30, wcGrind, "Grind to size", 45, 1.6)),
		wash(40),
		hand(50, wcInspect, "Check ten from each tray", 5, 0.2))
}

func driveShaft() traveler.Route {
	return route("3305-07", "Drive shaft", "D", "16MnCr5", "4",
		hand(10, wcSaw, "Saw to 214", 5, 0.9),
		first(load(0.5, held(2, op(20, wcTurn, "Turn between centres, both ends", 45, 7.4)))),
		load(0.5, op(30, wcMill3, "Mill keyways", 30, 3.3)),
		outside(40, wcHarden, "Case harden 0.8 mm deep", 5),
		first(op(50, wcGrind, "Grind bearing seats", 50, 4.0)),
		hand(60, wcInspect, "Measure seats and run-out", 8, 0.7))
}

// valveBody is the part whose drawing changes during the year.
func valveBody() traveler.Route {
	return route(partNewDrawing, "Valve body", "B", "EN AW-6082", "1",
		first(load(0.8, held(2, op(10, wcMill5, "Mill complete in two clampings", 60, 9.0)))),
		hand(20, wcDeburr, "Deburr crossing bores", 3, 1.2),
		wash(30),
		hand(40, wcInspect, "Leak test and gauges", 10, 1.0))
}

// valveBodyNew is the valve body after its change note: a port more.
func valveBodyNew() traveler.Route {
	r := valveBody()
	r.DrawingRev, r.Rev = "C", "2"
	r.Operations = append([]traveler.Operation(nil), r.Operations...)
	r.Operations[0].Instruction = "Mill complete in two clampings, with port P2"
	r.Operations[0].CycleMin = 9.6
	return r
}

func manifold() traveler.Route {
	return route("4480-21", "Manifold block", "A", "S355", "1",
		hand(10, wcSaw, "Saw blocks", 5, 1.6),
		first(load(1.2, held(2, op(20, wcMill5, "Mill six sides in two clampings", 70, 12.5)))),
		hand(30, wcDeburr, "Deburr bores", 3, 2.0),
		outside(40, wcCoat, "Zinc nickel, 8 microns", 6),
		hand(50, wcInspect, "Measure, check threads after coating", 10, 1.1))
}

// bracket is the part whose first operation takes longer than planned.
func bracket() traveler.Route {
	return route(PartWrongPlan, "Bearing bracket", "F", "EN-GJS-500", "3",
		load(0.8, op(OpWrongPlan, wcMill3, "Mill foot and joint", 40, 4.6)),
		first(load(0.6, op(20, wcTurn, "Bore seat", 40, 4.5))),
		load(0.6, op(30, wcMill3, "Drill and tap", 25, 3.4)),
		hand(40, wcDeburr, "Deburr", 2, 0.9),
		hand(50, wcInspect, "Measure seat to foot", 8, 0.8))
}

func nozzle() traveler.Route {
	return route("6018-30", "Nozzle insert", "C", "X8CrNiS18-9", "2",
		first(op(10, wcTurnMill, "Turn from the bar, cross holes, part off to second spindle", 60, 4.9)),
		wash(20),
		hand(30, wcInspect, "Measure bores, flow check", 8, 0.4))
}

func spacer() traveler.Route {
	return route("6225-09", "Spacer ring", "A", "C45", "1",
		op(10, wcBar, "Turn from the bar and part off", 25, 2.0),
		hand(20, wcDeburr, "Break edges", 2, 0.3),
		first(op(30, wcGrind, "Grind both faces", 40, 1.3)),
		wash(40),
		hand(50, wcInspect, "Measure width", 5, 0.2))
}

// routes are the routes that hold when the history begins.
func routes() []traveler.Route {
	var out []traveler.Route
	for _, p := range parts() {
		out = append(out, p.Route)
	}
	return out
}
