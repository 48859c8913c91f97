package storetest

import "tallywalk/traveler"

// Who scans and who decides in the invented shop.
var (
	Operator   = traveler.Actor{Name: "lathe-1", Role: traveler.RoleOperator}
	Supervisor = traveler.Actor{Name: "office", Role: traveler.RoleSupervisor}
)

// Shop is an invented one: two lathes, two mills, an inspection, and the routes
// of a bracket and a flange.
func Shop() *traveler.Change {
	return &traveler.Change{
		Machines: []traveler.Machine{
			{ID: "L1", Name: "Lathe 1", WorkCentre: "turning", X: 1, Y: 1},
			{ID: "L2", Name: "Lathe 2", WorkCentre: "turning", X: 4, Y: 1},
			{ID: "M1", Name: "Mill 1", WorkCentre: "milling", X: 10, Y: 5},
			{ID: "M2", Name: "Mill 2", WorkCentre: "milling", X: 14, Y: 5},
			{ID: "Q1", Name: "Inspection", WorkCentre: "inspection", Kind: "inspection", X: 20, Y: 1},
		},
		Routes: []traveler.Route{Route("bracket", "1"), Route("flange", "1")},
		Reasons: []traveler.Reason{{Kind: "scrap", Code: "dim", Text: "dimension"},
			{Kind: "stop", Code: "tool", Text: "tool broken"}},
	}
}

// Route is turned, milled and inspected.
func Route(part, rev string) traveler.Route {
	return traveler.Route{
		Part: part, PartName: part, Rev: rev, DrawingRev: "A", Material: "steel",
		Operations: []traveler.Operation{
			{Number: 10, WorkCentre: "turning", SetupMin: 30, CycleMin: 2, PiecesPerCycle: 1, Clampings: 1},
			{Number: 20, WorkCentre: "milling", SetupMin: 20, CycleMin: 3, PiecesPerCycle: 1, Clampings: 2},
			{Number: 30, WorkCentre: "inspection", CycleMin: 1, PiecesPerCycle: 1},
		},
	}
}
