package intake

import (
	"io"
	"slices"
	"sort"
	"strings"
	"time"

	"tallywalk/traveler"
)

func must(name string) column { return column{name: name} }
func may(name string) column  { return column{name: name, optional: true} }

func ptr[T any](v T) *T { return &v }

// Kinds of place that a machine can be.
var placeKinds = []string{"", "machine", "inspection", "wash", "stores", "dock", "outside", "hand"}

const maxMetres, maxMinutes = 100_000, 1_000_000

// Machines reads the list of machines and places. What is wrong with the file is a
// *Refused with a line for each fault; other errors are of r.
func Machines(file string, r io.Reader) ([]traveler.Machine, error) {
	t := read(file, r, columnsOf["machines"])
	var out []traveler.Machine
	seen := map[string]int{}
	for _, r := range t.rows {
		m := traveler.Machine{
			ID: traveler.MachineID(t.text(r, "machine", true)), Name: t.text(r, "name", true),
			WorkCentre:  traveler.WorkCentre(t.text(r, "work_centre", true)),
			X:           t.number(r, "x_m", -maxMetres, maxMetres, nil),
			Y:           t.number(r, "y_m", -maxMetres, maxMetres, nil),
			Kind:        strings.ToLower(t.text(r, "kind", false)),
			RatePerHour: t.number(r, "rate_per_hour", 0, 1e9, ptr(0.0)),
			Calendar:    t.text(r, "calendar", false), Unattended: t.yes(r, "unattended"),
		}
		if !slices.Contains(placeKinds, m.Kind) {
			t.problem(r.line, "kind", m.Kind, "must be one of"+strings.Join(placeKinds, ", ")[1:])
		}
		t.twice(seen, r, "machine", string(m.ID))
		if _, isCode := traveler.ParseCode(string(m.ID)); isCode || strings.Contains(string(m.ID), "/") {
			t.problem(r.line, "machine", string(m.ID),
				"looks like a printed code; give the machine a short name of its own, without /")
		}
		if strings.EqualFold(string(m.ID), traveler.Office) {
			t.problem(r.line, "machine", string(m.ID),
				"is what the office goes by; give the machine another name")
		}
		out = append(out, m)
	}
	return out, t.err()
}

// twice notes a key that stands on two lines.
func (t *table) twice(seen map[string]int, r row, col, key string) {
	if first, ok := seen[key]; ok {
		t.problem(r.line, col, key, "stands on line "+itoa(first)+" already")
		return
	}
	seen[key] = r.line
}

// Reasons reads the list of reasons. What is wrong with the file is a *Refused with a
// line for each fault; other errors are of r.
func Reasons(file string, r io.Reader) ([]traveler.Reason, error) {
	t := read(file, r, columnsOf["reasons"])
	var out []traveler.Reason
	seen := map[string]int{}
	for _, r := range t.rows {
		x := traveler.Reason{Kind: strings.ToLower(t.text(r, "kind", true)), Code: t.text(r, "reason", true),
			Text: t.text(r, "text", true)}
		if !slices.Contains(traveler.ReasonKinds, x.Kind) {
			t.problem(r.line, "kind", x.Kind, "must be one of "+strings.Join(traveler.ReasonKinds, ", "))
		}
		for _, wc := range strings.FieldsFunc(t.text(r, "work_centres", false),
			func(c rune) bool { return c == ',' || c == ';' }) {
			if wc = strings.TrimSpace(wc); wc != "" {
				x.WorkCentres = append(x.WorkCentres, traveler.WorkCentre(wc))
			}
		}
		if len(x.WorkCentres) > 0 && x.Kind != traveler.ReasonReady {
			t.problem(r.line, "work_centres", t.cell(r, "work_centres"),
				"is for those of kind "+traveler.ReasonReady)
		}
		t.twice(seen, r, "reason", x.Kind+" "+x.Code)
		out = append(out, x)
	}
	return out, t.err()
}

// Person is a line of the list of people.
type Person struct {
	Line int
	ID   traveler.PersonID
	Code traveler.Code // empty: one is issued
	Name string
	Role traveler.Role
}

// People reads the list of people who have a badge. What is wrong with the file is a
// *Refused with a line for each fault; other errors are of r.
func People(file string, r io.Reader) ([]Person, error) {
	t := read(file, r, columnsOf["people"])
	var out []Person
	seen := map[string]int{}
	for _, r := range t.rows {
		p := Person{Line: r.line, ID: traveler.PersonID(t.text(r, "person", true)),
			Name: t.text(r, "name", true), Role: traveler.Role(strings.ToLower(t.text(r, "role", true)))}
		if !p.Role.Valid() || p.Role == traveler.RoleWatcher {
			t.problem(r.line, "role", string(p.Role),
				"must be operator, inspector, supervisor, planner or administrator")
		}
		if v := t.text(r, "code", false); v != "" {
			c, ok := traveler.ParseCode(v)
			if !ok || c.Kind() != traveler.KindPerson {
				t.problem(r.line, "code", v, "is no badge code")
			}
			p.Code = c
		}
		t.twice(seen, r, "person", string(p.ID))
		out = append(out, p)
	}
	return out, t.err()
}

// Batch is a line of the list of batches.
type Batch struct {
	Line    int
	Release traveler.Release // without its id
	Card    traveler.Code    // empty: one is issued
	Said    []string         // optional columns of which the line says something
}

// Says reports whether the line says something in a column that it may leave out.
func (b *Batch) Says(column string) bool { return slices.Contains(b.Said, column) }

// saidOfBatches are the columns that may change when a batch is imported again, and
// stay as they are where a line leaves them out.
var saidOfBatches = []string{"wanted", "due", "customer", "order_line", "material_lot", "priority", "hot"}

// Batches reads the list of batches to release. Times without a zone are in the shop's.
// What is wrong with the file is a *Refused with a line for each fault; other errors
// are of r.
func Batches(file string, r io.Reader, zone *time.Location) ([]Batch, error) {
	t := read(file, r, slices.Concat(columnsOf["batches"], derivedOfBatches()))
	var out []Batch
	for _, r := range t.rows {
		if t.cell(r, firstDerived) != "" {
			continue // it comes with the scan that split it off
		}
		b := Batch{Line: r.line, Release: traveler.Release{
			Part: t.text(r, "part", true), RouteRev: t.text(r, "route_rev", true),
			Pieces: t.whole(r, "pieces", 1, traveler.MaxPieces, nil),
			Wanted: t.whole(r, "wanted", 0, traveler.MaxPieces, ptr(0)), Due: t.day(r, "due"),
			WorksOrder: t.text(r, "works_order", false),
			Customer:   t.text(r, "customer", false), OrderLine: t.text(r, "order_line", false),
			Priority: t.whole(r, "priority", -traveler.MaxPriority, traveler.MaxPriority, ptr(0)),
			Hot:      t.yes(r, "hot"), Released: t.moment(r, "released", zone),
		}}
		for _, name := range saidOfBatches {
			if t.cell(r, name) != "" {
				b.Said = append(b.Said, name)
			}
		}
		for _, lot := range strings.Split(t.text(r, "material_lot", false), "+") {
			if lot = strings.TrimSpace(lot); lot != "" {
				b.Release.MaterialLots = append(b.Release.MaterialLots, lot)
			}
		}
		if v := t.text(r, "card", false); v != "" {
			c, ok := traveler.ParseCode(v)
			if !ok || c.Kind() != traveler.KindBatch {
				t.problem(r.line, "card", v, "is no batch code")
			}
			b.Card = c
		}
		out = append(out, b)
	}
	return out, t.err()
}

// Routes reads routes, one line an operation; the lines of a route need not stand
// together. What is wrong with the file is a *Refused with a line for each fault; other
// errors are of r.
func Routes(file string, r io.Reader) ([]traveler.Route, error) {
	routes, _, err := RoutesAt(file, r)
	return routes, err
}

// RoutesAt reads routes as Routes does, with the first line of each. It fails as
// Routes does.
func RoutesAt(file string, r io.Reader) (routes []traveler.Route, lines []int, err error) {
	t := read(file, r, columnsOf["routes"])
	byKey := map[traveler.RouteKey]*traveler.Route{}
	var order []traveler.RouteKey
	for _, r := range t.rows {
		key := traveler.RouteKey{Part: t.text(r, "part", true), Rev: t.text(r, "route_rev", true)}
		route, ok := byKey[key]
		if !ok {
			route = &traveler.Route{Part: key.Part, Rev: key.Rev}
			byKey[key] = route
			order, lines = append(order, key), append(lines, r.line)
		}
		t.ofPart(r, route)
		o := t.operation(r)
		if route.Index(o.Number) >= 0 {
			t.problem(r.line, "operation", o.Number.String(),
				"stands twice in route "+key.Rev+" of "+key.Part)
		}
		route.Operations = append(route.Operations, o)
	}
	routes = make([]traveler.Route, 0, len(order))
	for _, key := range order {
		route := byKey[key]
		sort.SliceStable(route.Operations,
			func(i, j int) bool { return route.Operations[i].Number < route.Operations[j].Number })
		routes = append(routes, *route)
	}
	return routes, lines, t.err()
}

// ofPart takes what a line says of the whole part; lines must not disagree.
func (t *table) ofPart(r row, route *traveler.Route) {
	for _, f := range []struct {
		name string
		to   *string
	}{{"part_name", &route.PartName}, {"drawing_rev", &route.DrawingRev}, {"material", &route.Material}} {
		v := t.text(r, f.name, false)
		if v != "" && *f.to != "" && v != *f.to {
			t.problem(r.line, f.name, v, "was "+*f.to+" on an earlier line of the same route")
		}
		if v != "" {
			*f.to = v
		}
	}
}

func (t *table) operation(r row) traveler.Operation {
	o := traveler.Operation{
		Number:      traveler.Op(t.whole(r, "operation", 1, traveler.MaxOp, nil)),
		WorkCentre:  traveler.WorkCentre(t.text(r, "work_centre", true)),
		Instruction: t.long(r, "instruction"), SetupMin: t.number(r, "setup_min", 0, maxMinutes, nil),
		CycleMin:       t.number(r, "cycle_min", 0, maxMinutes, nil),
		LoadMin:        t.number(r, "load_min", 0, maxMinutes, ptr(0.0)),
		PiecesPerCycle: t.whole(r, "pieces_per_cycle", 1, 100_000, ptr(1)),
		Yield:          t.number(r, "yield", 0, 1, ptr(0.0)),
		Clampings:      t.whole(r, "clampings", 0, 1000, ptr(1)), FirstOff: t.yes(r, "first_off"),
		OutsideDays: t.number(r, "outside_days", 0, 3650, ptr(0.0)),
	}
	if o.LoadMin > o.CycleMin {
		t.problem(r.line, "load_min", t.cell(r, "load_min"), "is more than the cycle it is part of")
	}
	return o
}
