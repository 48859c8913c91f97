package demo

import (
	"encoding/json"

	"tallywalk/traveler"
	"tallywalk/traveler/people"
	"tallywalk/traveler/story"
)

// The places of the invented shop that the simulation speaks of by name.
const (
	atStores = "ST"
	atMetro  = "Q1" // the measuring room
	atBench  = "D1"
	atDock   = "DK"
	atWash   = "W1"
)

// The work centres. BARLATHE turns from the bar, MILLTURN completes parts with
// its second spindle, PRESS straightens, HARDEN and COAT are done outside.
const (
	wcSaw, wcTurn, wcBar, wcTurnMill = "SAW", "TURN", "BARLATHE", "MILLTURN"
	wcMill3, wcMill5, wcGrind        = "MILL3", "MILL5", "GRIND"
	wcBench, wcWash, wcInspect       = "BENCH", "WASH", "INSPECT"
	wcPress                          = "PRESS"
	wcHarden, wcCoat                 = "HARDEN", "COAT"
)

// machines is the hall of about 60 by 30 m: turning in the north west,
// milling in the north east, grinding and the hand work in the south.
func machines() []traveler.Machine {
	m := func(id traveler.MachineID, name string, wc traveler.WorkCentre, x, y float64, kind string,
		rate float64, hours string, alone bool) traveler.Machine {
		return traveler.Machine{ID: id, Name: name, WorkCentre: wc, X: x, Y: y, Kind: kind, RatePerHour: rate,
			Calendar: hours, Unattended: alone}
	}
	return []traveler.Machine{
		m(atStores, "Stores", "STORES", 5, 11, "stores", 0, calDay, false),
		m("S1", "Band saw", wcSaw, 6, 20, "", 36, calDay, false),
		m("T1", "Lathe, window side", wcTurn, 17, 3, "", 62, calTwo, false),
		m("T2", "Lathe, door side", wcTurn, 23, 3, "", 62, calTwo, false),
		m("T3", "Bar lathe", wcBar, 17, 10, "", 66, calDay, true),
		m("TM", "Mill-turn, twin spindle", wcTurnMill, 23, 10, "", 118, calTwo, true),
		m("M1", "3-axis mill, left", wcMill3, 33, 3, "", 68, calTwo, false),
		m("M2", "3-axis mill, right", wcMill3, 39, 3, "", 68, calTwo, false),
		m("F5", "5-axis mill with pallets", wcMill5, 36, 10, "", 104, calTwo, true),
		m("G1", "Cylindrical grinder", wcGrind, 20, 20, "", 74, calTwo, false),
		m("P1", "Straightening press", wcPress, 14, 20, "hand", 40, calTwo, false),
		m(atBench, "Deburring bench", wcBench, 33, 20, "hand", 42, calTwo, false),
		m(atWash, "Wash", wcWash, 50, 20, "wash", 34, calTwo, false),
		m(atMetro, "Inspection", wcInspect, 50, 5, "inspection", 70, calTwo, false),
		m(atDock, "Despatch", "DOCK", 56, 18, "dock", 0, calDay, false),
		m("HT", "Hardening, outside", wcHarden, 58, 26, "outside", 0, "", false),
		m("CO", "Coating, outside", wcCoat, 58, 11, "outside", 0, "", false),
	}
}

// washMovedX and washMovedY are where the wash stands since it was moved beside the bench.
const washMovedX, washMovedY = 39, 20

// layout is a main aisle through the hall, one along the north bays and one
// along the south, and cross aisles between them.
func layout() *traveler.Layout {
	c := func(id string, x, y float64) traveler.Corner { return traveler.Corner{ID: id, X: x, Y: y} }
	l := &traveler.Layout{Corners: []traveler.Corner{
		c("main-0", 5, 15), c("main-1", 12, 15), c("main-2", 28, 15), c("main-3", 44, 15),
		c("main-4", 55, 15),
		c("north-1", 12, 6), c("north-2", 28, 6), c("north-3", 44, 6), c("north-4", 55, 6),
		c("south-1", 12, 24), c("south-2", 28, 24), c("south-3", 44, 24), c("south-4", 55, 24),
	}}
	for _, way := range [][]string{
		{"main-0", "main-1", "main-2", "main-3", "main-4"},
		{"north-1", "north-2", "north-3", "north-4"},
		{"south-1", "south-2", "south-3", "south-4"},
		{"north-1", "main-1", "south-1"}, {"north-2", "main-2", "south-2"},
		{"north-3", "main-3", "south-3"}, {"north-4", "main-4", "south-4"},
	} {
		for i := 1; i < len(way); i++ {
			l.Aisles = append(l.Aisles, traveler.Aisle{From: way[i-1], To: way[i]})
		}
	}
	return l
}

// reasonLists are the shop's reasons; each in the order in which a station offers them.
var reasonLists = []struct {
	kind  string
	texts [][2]string
}{
	{"scrap", [][2]string{
		{"wear", "Tool worn, out of tolerance"}, {"offset", "Wrong offset"}, {"setting", "Set-up piece"},
		{"position", "Moved in the chuck or vice"}, {"fixture", "Fixture worn"}, {"surface", "Surface"},
		{"fallen", "Dropped or dinged"}, {"material", "Material fault"},
	}},
	{"rework", [][2]string{{"burr", "Burr left"}, {"thread", "Thread tight"},
		{"setting", "Set-up piece, can be reworked"}}},
	{"review", [][2]string{{"size", "Borderline size"}, {"mark", "Mark on surface"}}},
	{"stop", [][2]string{
		{"tool", "Tool worn or broken"}, {"inspector", "Waiting for inspector"}, {"setter", "Setter busy"},
		{"swarf", "Swarf"},
		{"program", "Program change"}, {"bar", "Bar ran out"}, {"material", "No material, pallets empty"},
		{"dress", "Dressing the wheel"}, {"gauge", "Measuring"}, {"breakdown", "Breakdown"},
		{"hot", "Stopped for a hot job"},
		{"person", "No operator"}, {"shift", "End of shift"}, {"break", "Break"}, {"other", "Other"},
	}},
	{"wait", [][2]string{
		{"material", "Material"}, {"fixture", "Fixture"}, {"tool", "Tool"}, {"program", "Program"},
		{"gauge", "Gauge"},
		{"person", "Person"}, {"other", "Other"},
	}},
	{"anyway", [][2]string{
		{"told", "Supervisor's instruction"}, {"urgent", "Urgent"}, {"unseen", "Done but not scanned"},
		{"sure", "Counted twice"},
		{"twin", "Sister machine is free"},
	}},
}

func reasons() []traveler.Reason {
	var out []traveler.Reason
	for _, list := range reasonLists {
		for _, t := range list.texts {
			out = append(out, traveler.Reason{Kind: list.kind, Code: t[0], Text: t[1]})
		}
	}
	return out
}

// staff are invented; operators are 11 to 26.
var staff = []people.Person{
	{ID: "11", Name: "A. Hale", Role: traveler.RoleOperator},
	{ID: "12", Name: "B. Cooper", Role: traveler.RoleOperator},
	{ID: "13", Name: "C. Barlow", Role: traveler.RoleOperator},
	{ID: "14", Name: "D. Norris", Role: traveler.RoleOperator},
	{ID: "15", Name: "E. Ellis", Role: traveler.RoleOperator},
	{ID: "16", Name: "F. Firth", Role: traveler.RoleOperator},
	{ID: "17", Name: "G. Grant", Role: traveler.RoleOperator},
	{ID: "18", Name: "H. Wright", Role: traveler.RoleOperator},
	{ID: "19", Name: "I. Stone", Role: traveler.RoleOperator},
	{ID: "20", Name: "J. Jarvis", Role: traveler.RoleOperator},
	{ID: "21", Name: "K. Kerr", Role: traveler.RoleOperator},
	{ID: "22", Name: "L. Lang", Role: traveler.RoleOperator},
	{ID: "23", Name: "R. Reid", Role: traveler.RoleOperator},
	{ID: "24", Name: "S. Shaw", Role: traveler.RoleOperator},
	{ID: "25", Name: "M. Moss", Role: traveler.RoleOperator},
	{ID: "31", Name: "N. Nash", Role: traveler.RoleInspector},
	{ID: "32", Name: "O. Owen", Role: traveler.RoleInspector},
	{ID: "51", Name: "P. Lowe", Role: traveler.RoleSupervisor},
	{ID: "61", Name: "Q. Marsh", Role: traveler.RolePlanner},
}

// putPeople gives the invented people their badges.
func putPeople(tables story.Tables) error {
	for i, p := range staff {
		p.Code = codeFrom(traveler.KindPerson, uint64(i+1)*10007)
		b, err := json.Marshal(p)
		if err != nil {
			return err
		}
		if err := tables.Put("people", string(p.Code), b); err != nil {
			return err
		}
	}
	return nil
}

// codeFrom is the first code at or after a number.
func codeFrom(kind traveler.Kind, n uint64) traveler.Code {
	for {
		if c, ok := traveler.NewCode(kind, n); ok {
			return c
		}
		n++
	}
}
