package demo

import (
	"math"

	"tallywalk/traveler"
)

// How each family is made; k makes a part of it longer or shorter. Set-ups are said
// in steps of five minutes.

func five(minutes float64) float64 { return 5 * math.Round(minutes/5) }

// tenth is a planned time as a planner writes it down.
func tenth(minutes float64) float64 { return math.Round(10*minutes) / 10 }

// adapterManySetups is the old route: five set-ups on three kinds of machine.
func adapterManySetups() traveler.Route {
	return route(partTwoRoutes, nameTwoRoutes, "C", "42CrMo4", revManySetups,
		load(0.4, op(10, wcTurn, "Turn side A, bore 52 H7", 45, 3.1)),
		load(0.4, op(20, wcTurn, "Turn side B to length", 40, 2.4)),
		load(0.5, op(30, wcMill3, "Mill flats and bolt circle", 35, 2.9)),
		load(0.5, op(40, wcMill3, "Flip, mill pocket and chamfers", 30, 1.9)),
		load(0.6, op(50, wcMill5, "Cross holes at 30 degrees", 60, 2.2)),
		deburr(60, "Deburr cross holes", 0.7),
		wash(70),
		inspect(80, "Measure bore to flats and cross holes", 0.7))
}

// adapterOneSetup is the new route: complete in one set-up, while the second
// spindle does the back.
func adapterOneSetup() traveler.Route {
	return route(partTwoRoutes, nameTwoRoutes, "C", "42CrMo4", revOneSetup,
		load(0.3, op(10, wcTurnMill, "Turn and mill complete, second spindle takes over for side B", 105,
			6.2)),
		wash(20),
		inspect(30, "Measure bore to flats and cross holes", 0.6))
}

func adapterFlange(k float64) []traveler.Operation {
	return []traveler.Operation{
		load(0.4, op(10, wcTurn, "Turn side A and bore", five(45*k), tenth(3.4*k))),
		load(0.4, op(20, wcTurn, "Turn side B to length", five(40*k), tenth(2.6*k))),
		load(0.5, op(30, wcMill3, "Mill flats and bolt circle", five(45*k), tenth(4.2*k))),
		deburr(40, "Deburr holes", 0.6),
		wash(50),
		inspect(60, "Measure bore to bolt circle", 0.7),
	}
}

// bearingCap has its joint milled before its seat is bored, so that the seat lies in
// the joint.
func bearingCap(k float64) []traveler.Operation {
	return []traveler.Operation{
		load(0.6, many(4,
			op(10, wcMill3, "Mill joint and drill, four in the fixture", five(50*k), tenth(15*k)))),
		load(0.4, op(20, wcTurn, "Bore seat with the joint bolted to the fixture", five(45*k), tenth(3.8*k))),
		deburr(30, "Deburr", 0.4),
		wash(40),
		inspect(50, "Measure seat to joint", 0.5),
	}
}

func guidePin(k float64) []traveler.Operation {
	return []traveler.Operation{
		op(10, wcBar, "Turn from the bar, leave 0.3 for grinding", five(45*k), tenth(1.8*k)),
		deburr(20, "Break edges", 0.15),
		wash(30),
		outside(40, wcHarden, "Harden to 60–62 HRC", 4),
		straighten(50, "Straighten to 0.03 run-out", 0.4),
		op(60, wcGrind, "Grind to size", five(45*k), tenth(1.5*k)),
		wash(70),
		inspect(80, "Check ten from each tray", 0.2),
	}
}

func driveShaft(k float64) []traveler.Operation {
	return []traveler.Operation{
		saw(10, 0.9),
		load(0.5, held(2, op(20, wcTurn, "Turn between centres, both ends", five(50*k), tenth(7.4*k)))),
		load(0.5, op(30, wcMill3, "Mill keyways", five(35*k), tenth(3.3*k))),
		deburr(40, "Deburr keyways", 0.6),
		wash(50),
		outside(60, wcHarden, "Case harden 0.8 mm deep", 4),
		straighten(70, "Straighten to 0.05 run-out", 1.5),
		op(80, wcGrind, "Grind bearing seats", five(50*k), tenth(4*k)),
		wash(90),
		inspect(100, "Measure seats and run-out", 0.7),
	}
}

// valveBody is the family of the part whose drawing changes during the year.
func valveBody(k float64) []traveler.Operation {
	return []traveler.Operation{
		load(0.8, held(2, op(10, wcMill5, "Mill complete in two clampings", five(95*k), tenth(9*k)))),
		deburr(20, "Deburr crossing bores", 1.2),
		wash(30),
		inspect(40, "Leak test and gauges", 1),
	}
}

// manifold is measured before it is coated, while it can still be put right, and its
// threads afterwards.
func manifold(k float64) []traveler.Operation {
	return []traveler.Operation{
		saw(10, 1.6),
		load(1.2, held(2, op(20, wcMill5, "Mill six sides in two clampings", five(110*k), tenth(12.5*k)))),
		deburr(30, "Deburr bores", 2),
		wash(40),
		inspect(50, "Measure before coating", 1),
		outside(60, wcCoat, "Zinc nickel, 8 microns", 4),
		inspect(70, "Check threads after coating", 0.4),
	}
}

// bracket is the family of the part whose first operation takes longer than planned.
func bracket(k float64) []traveler.Operation {
	return []traveler.Operation{
		load(0.8, op(OpWrongPlan, wcMill3, "Mill foot and joint", five(50*k), tenth(4.6*k))),
		load(0.6, op(20, wcTurn, "Bore seat with the cap bolted on", five(45*k), tenth(4.5*k))),
		load(0.6, op(30, wcMill3, "Drill and tap", five(35*k), tenth(3.4*k))),
		deburr(40, "Deburr", 0.9),
		wash(50),
		inspect(60, "Measure seat to foot", 0.8),
	}
}

func nozzle(k float64) []traveler.Operation {
	return []traveler.Operation{
		op(10, wcTurnMill, "Turn from the bar, cross holes, part off to second spindle", five(80*k),
			tenth(4.4*k)),
		wash(20),
		inspect(30, "Measure bores, flow check", 0.4),
	}
}

func spacer(k float64) []traveler.Operation {
	return []traveler.Operation{
		op(10, wcBar, "Turn from the bar and part off", five(40*k), tenth(2.2*k)),
		deburr(20, "Break edges", 0.2),
		op(30, wcGrind, "Grind both faces", five(40*k), tenth(1.1*k)),
		wash(40),
		inspect(50, "Measure width", 0.2),
	}
}

func valveSeat(k float64) []traveler.Operation {
	return []traveler.Operation{
		op(10, wcBar, "Turn from the bar, leave 0.2 on the seat", five(50*k), tenth(2.6*k)),
		deburr(20, "Break edges", 0.2),
		wash(30),
		outside(40, wcHarden, "Harden to 56–58 HRC", 4),
		op(50, wcGrind, "Grind seat and outside", five(55*k), tenth(1.7*k)),
		wash(60),
		inspect(70, "Measure seat to outside", 0.3),
	}
}

func spindleHousing(k float64) []traveler.Operation {
	return []traveler.Operation{
		load(2, op(10, wcTurn, "Turn flange side", five(70*k), tenth(22*k))),
		load(2, op(20, wcTurn, "Turn nose side", five(60*k), tenth(16*k))),
		load(3, op(30, wcMill5, "Mill pads, bores in line", five(120*k), tenth(38*k))),
		deburr(40, "Deburr oil bores", 6),
		wash(50),
		inspect(60, "Measure bores in line", 12),
	}
}

func couplingHub(k float64) []traveler.Operation {
	return []traveler.Operation{
		saw(10, 1.1),
		load(0.4, held(2, op(20, wcTurn, "Turn both sides", five(45*k), tenth(5*k)))),
		load(0.5, op(30, wcMill3, "Mill keyway and set screw", five(35*k), tenth(2.8*k))),
		deburr(40, "Deburr keyway", 0.5),
		wash(50),
		inspect(60, "Measure bore and keyway", 0.5),
	}
}

// pumpCover is the family of the part with the fixture that is worn.
func pumpCover(k float64) []traveler.Operation {
	return []traveler.Operation{
		load(0.6, op(OpBadFixture, wcMill3, "Mill face, drill and tap", five(45*k), tenth(4.4*k))),
		load(0.5, op(20, wcTurn, "Turn spigot and seal bore", five(40*k), tenth(3.1*k))),
		deburr(30, "Deburr", 0.7),
		wash(40),
		inspect(50, "Measure spigot to holes, leak test", 0.8),
	}
}

func clampPlate(k float64) []traveler.Operation {
	return []traveler.Operation{
		saw(10, 1),
		load(0.5, op(20, wcMill3, "Mill side A and outside", five(45*k), tenth(3.4*k))),
		load(0.5, op(30, wcMill3, "Mill side B, drill and tap", five(40*k), tenth(2.9*k))),
		deburr(40, "Deburr", 0.5),
		wash(50),
		inspect(60, "Measure before coating", 0.4),
		outside(70, wcCoat, "Zinc, 8 microns", 4),
		inspect(80, "Check threads after coating", 0.2),
	}
}

func piston(k float64) []traveler.Operation {
	return []traveler.Operation{
		op(10, wcTurnMill, "Turn from the bar, mill slot, part off to second spindle", five(75*k),
			tenth(3.2*k)),
		deburr(20, "Break edges of the slot", 0.3),
		wash(30),
		inspect(40, "Measure outside and slot", 0.4),
	}
}

func sensorHousing(k float64) []traveler.Operation {
	return []traveler.Operation{
		op(10, wcTurnMill, "Turn and mill complete from the bar", five(100*k), tenth(6.5*k)),
		deburr(20, "Deburr crossing holes", 0.6),
		wash(30),
		inspect(40, "Measure thread and seal face", 0.6),
	}
}

// valveBodyNew is the valve body after its change note: a port more.
func valveBodyNew() traveler.Route {
	r := partNamed(partNewDrawing).Route
	r.DrawingRev, r.Rev = string(rune(r.DrawingRev[0]+1)), "2"
	r.Operations = append([]traveler.Operation(nil), r.Operations...)
	r.Operations[0].Instruction = "Mill complete in two clampings, with port P2"
	r.Operations[0].CycleMin = 9.6
	return r
}

// partNamed is a part as it is ordered when it comes.
func partNamed(number string) *demoPart {
	for _, p := range parts() {
		if p.Part == number {
			return &p
		}
	}
	return nil
}
