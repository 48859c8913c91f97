package main

import (
	"encoding/json"

	"tallywalk/traveler"
	"tallywalk/web"
)

// demoShop is an invented shop: nothing in it is measured anywhere.
func demoShop() *traveler.Change {
	m := func(id traveler.MachineID, name string, wc traveler.WorkCentre, x, y float64, kind string) traveler.Machine {
		return traveler.Machine{ID: id, Name: name, WorkCentre: wc, X: x, Y: y, Kind: kind}
	}
	return &traveler.Change{
		Machines: []traveler.Machine{
			m("T1", "Turning, left bay", "TURN", 4, 4, ""),
			m("T2", "Turning, right bay", "TURN", 4, 12, ""),
			m("F1", "Milling, three axes", "MILL", 22, 4, ""),
			m("F2", "Milling, five axes", "MILL", 22, 12, ""),
			m("G1", "Grinding", "GRIND", 38, 4, ""),
			m("D1", "Deburring bench", "DEBURR", 38, 14, "hand"),
			m("W1", "Wash", "WASH", 46, 14, "wash"),
			m("Q1", "Measuring room", "INSPECT", 52, 6, "inspection"),
			m("OUT", "Dock", "HARDEN", 60, 10, "dock"),
		},
		Routes: []traveler.Route{
			demoRoute("4711-20", "Spindle sleeve", "C", "16MnCr5", "3",
				op(10, "TURN", "Turn side A, bore and thread", 40, 3.2, true), op(20, "MILL", "Mill flats and cross holes", 35, 2.4, false),
				op(30, "DEBURR", "Deburr cross holes", 2, 0.6, false), op(40, "INSPECT", "Measure bore and flats", 5, 0.8, false)),
			demoRoute("5230-01", "Valve body", "B", "EN AW-6082", "1",
				op(10, "MILL", "Complete in two clampings", 55, 6.5, true), op(20, "WASH", "Wash", 1, 0.2, false), op(30, "INSPECT", "Leak test and gauges", 10, 1.1, false)),
			demoRoute("6018-07", "Guide pin", "A", "100Cr6", "2",
				op(10, "TURN", "Turn, leave 0.3 for grinding", 25, 1.1, false), outside(20, "HARDEN", "Harden 60+2 HRC", 1.5),
				op(30, "GRIND", "Grind to size", 45, 1.6, true), op(40, "WASH", "Wash and oil", 1, 0.1, false), op(50, "INSPECT", "Measure, ten pieces of each tray", 5, 0.3, false)),
			demoRoute("7702-11", "Bearing bracket", "D", "EN-GJS-400", "1",
				op(10, "MILL", "Mill foot", 30, 4.2, false), op(20, "TURN", "Bore seat", 35, 2.8, true), op(30, "MILL", "Drill and tap", 20, 2.2, false),
				op(40, "DEBURR", "Deburr", 2, 1.0, false), op(50, "INSPECT", "Measure seat to foot", 10, 1.5, false)),
		},
		Reasons: []traveler.Reason{
			{Kind: "scrap", Code: "size", Text: "Out of size"}, {Kind: "scrap", Code: "surface", Text: "Surface"}, {Kind: "scrap", Code: "position", Text: "Position moved in clamping"},
			{Kind: "scrap", Code: "setting", Text: "Setting piece"}, {Kind: "scrap", Code: "material", Text: "Material fault"},
			{Kind: "rework", Code: "burr", Text: "Burr left"}, {Kind: "rework", Code: "thread", Text: "Thread tight"},
			{Kind: "review", Code: "size", Text: "Size at the limit"}, {Kind: "review", Code: "mark", Text: "Mark on surface"},
			{Kind: "stop", Code: "tool", Text: "Tool worn or broken"}, {Kind: "stop", Code: "material", Text: "No material"}, {Kind: "stop", Code: "gauge", Text: "Measuring"},
			{Kind: "stop", Code: "breakdown", Text: "Breakdown"}, {Kind: "stop", Code: "hot", Text: "Hot job goes first"}, {Kind: "stop", Code: "break", Text: "Break"}, {Kind: "stop", Code: "other", Text: "Other"},
			{Kind: "wait", Code: "material", Text: "Material"}, {Kind: "wait", Code: "tool", Text: "Tool"}, {Kind: "wait", Code: "program", Text: "Program"},
			{Kind: "wait", Code: "gauge", Text: "Gauge"}, {Kind: "wait", Code: "person", Text: "Person"}, {Kind: "wait", Code: "other", Text: "Other"},
			{Kind: "anyway", Code: "told", Text: "Told so by the supervisor"}, {Kind: "anyway", Code: "urgent", Text: "Urgent"}, {Kind: "anyway", Code: "unseen", Text: "Was done, not scanned"}, {Kind: "anyway", Code: "sure", Text: "Counted twice"},
		},
	}
}

func demoRoute(part, name, drawing, material, rev string, ops ...traveler.Operation) traveler.Route {
	return traveler.Route{Part: part, PartName: name, DrawingRev: drawing, Material: material, Rev: rev, Operations: ops}
}

func op(n traveler.Op, wc traveler.WorkCentre, what string, setup, cycle float64, firstOff bool) traveler.Operation {
	return traveler.Operation{Number: n, WorkCentre: wc, Instruction: what, SetupMin: setup, CycleMin: cycle, PiecesPerCycle: 1, Clampings: 1, FirstOff: firstOff}
}

func outside(n traveler.Op, wc traveler.WorkCentre, what string, days float64) traveler.Operation {
	return traveler.Operation{Number: n, WorkCentre: wc, Instruction: what, PiecesPerCycle: 1, OutsideDays: days}
}

// demoPeople gives the invented people their badges.
func (hs *house) demoPeople() error {
	for i, p := range []web.Person{
		{ID: "11", Name: "A. Operator", Role: traveler.RoleOperator}, {ID: "12", Name: "B. Operator", Role: traveler.RoleOperator},
		{ID: "13", Name: "C. Operator", Role: traveler.RoleOperator}, {ID: "14", Name: "D. Operator", Role: traveler.RoleOperator},
		{ID: "31", Name: "I. Inspector", Role: traveler.RoleInspector}, {ID: "51", Name: "S. Supervisor", Role: traveler.RoleSupervisor},
	} {
		n := uint64(i+1) * 10007
		code, ok := traveler.NewCode(traveler.KindPerson, n)
		for !ok {
			n++
			code, ok = traveler.NewCode(traveler.KindPerson, n)
		}
		p.Code = code
		b, err := json.Marshal(p)
		if err != nil {
			return err
		}
		if err := hs.tables.Put("people", string(code), b); err != nil {
			return err
		}
	}
	return nil
}
