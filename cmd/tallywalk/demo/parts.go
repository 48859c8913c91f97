package demo

import (
	"math"
	"time"

	"tallywalk/traveler"
)

// demoPart is a part of the invented shop, and how it is ordered.
type demoPart struct {
	traveler.Route
	customer string
	yearly   float64 // orders a year
	wanted   int     // pieces of a usual order
	lead     int     // days promised
	// since is how long before the demo opens it was made for the first time; 0 for a
	// part that the shop has made before.
	since time.Duration
}

// partFamily is parts that are made alike. Their numbers begin alike and so do their names.
type partFamily struct {
	number, name, material string
	route                  func(k float64) []traveler.Operation
	variants               []variant
}

// variant is a part of a family.
type variant struct {
	suffix, size string
	yearly       float64
	wanted       int
	k            float64 // its times over those of the family
	weeks        int     // before the demo opens, when it came for the first time; 0 = made before
}

// demoCustomers and their names are invented; each has the parts of some families.
var demoCustomers = []string{
	"North works", "Harbour plant", "Hill & Daughters", "Lakeside assembly", "Mill Lane pumps",
	"Quarry conveyors", "Fenland hydraulics",
}

// parts are the parts as they are ordered when the history begins, or when they come.
func parts() []demoPart {
	var out []demoPart
	for i, f := range families() {
		for k, v := range f.variants {
			p := demoPart{yearly: v.yearly, wanted: v.wanted,
				since: time.Duration(v.weeks) * 7 * 24 * time.Hour}
			p.customer = demoCustomers[(i*3+k*5/8)%len(demoCustomers)]
			p.Route = route(f.number+"-"+v.suffix, f.name+", "+v.size, string(rune('A'+(i+k*3)%5)),
				f.material, "1", f.route(v.k)...)
			switch {
			case p.Part == partTwoRoutes:
				p.Route = adapterManySetups()
			case v.weeks > 0:
				proving(p.Operations)
			}
			p.lead = leadOf(&p)
			out = append(out, p)
		}
	}
	return out
}

// proving plans the first set-up of new work at the machines whose programmes must be
// proven there: half a shift and more.
func proving(ops []traveler.Operation) {
	for i := range ops {
		if o := &ops[i]; o.WorkCentre == wcMill5 || o.WorkCentre == wcTurnMill {
			o.SetupMin = min(300, 2.5*o.SetupMin)
		}
	}
}

// leadOf is how many days are promised: what waits and is carried between
// operations, what is done outside, and the work itself.
func leadOf(p *demoPart) int {
	days := leadAtLeast
	for i := range p.Operations {
		o := &p.Operations[i]
		hours := (o.SetupMin + o.MinPerPiece()*float64(p.wanted)) / 60
		days += leadPerOp + hours*leadPerHour
		if o.Outside() {
			days += 1.2*o.OutsideDays + 1.5
		}
	}
	return int(math.Round(days))
}

// What is promised, in days: for any order, for each operation, for an hour of work.
const leadAtLeast, leadPerOp, leadPerHour = 2.4, 0.75, 0.11

// startOf is how many pieces are started for those that are wanted: what the plan
// loses, the set-up pieces, and something for bad luck.
func startOf(r *traveler.Route, wanted int) int {
	lost, left := 0.0, 1.0
	for i := range r.Operations {
		o := &r.Operations[i]
		if o.FirstOff {
			lost += setupPieces(wanted)
		}
		left *= o.Yield
	}
	lost += float64(wanted) * (1/left - 1)
	return wanted + int(math.Ceil(lost+1.3*math.Sqrt(lost)))
}

func op(n traveler.Op, wc traveler.WorkCentre, what string, setup, cycle float64) traveler.Operation {
	return traveler.Operation{Number: n, WorkCentre: wc, Instruction: what, SetupMin: setup, CycleMin: cycle,
		PiecesPerCycle: 1, Yield: 0.985, Clampings: 1, FirstOff: true}
}

// load says what part of the cycle is loading, in minutes.
func load(minutes float64, o traveler.Operation) traveler.Operation {
	o.LoadMin = minutes
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
	o.Clampings, o.Yield, o.FirstOff = 0, 1, false
	return o
}

func outside(n traveler.Op, wc traveler.WorkCentre, what string, days float64) traveler.Operation {
	return traveler.Operation{Number: n, WorkCentre: wc, Instruction: what, PiecesPerCycle: 1,
		OutsideDays: days, Yield: 1}
}

func saw(n traveler.Op, cycle float64) traveler.Operation {
	return hand(n, wcSaw, "Saw blanks", 20, cycle)
}

func deburr(n traveler.Op, what string, cycle float64) traveler.Operation {
	return hand(n, wcBench, what, 0, cycle)
}

func wash(n traveler.Op) traveler.Operation { return hand(n, wcWash, "Wash and dry", 0, 0.15) }

func straighten(n traveler.Op, what string, cycle float64) traveler.Operation {
	return hand(n, wcPress, what, 20, cycle)
}

func inspect(n traveler.Op, what string, cycle float64) traveler.Operation {
	return hand(n, wcInspect, what, 20, cycle)
}

func route(part, name, drawing, material, rev string, ops ...traveler.Operation) traveler.Route {
	return traveler.Route{Part: part, PartName: name, DrawingRev: drawing, Material: material, Rev: rev,
		Operations: ops}
}

// routes are the routes that hold when the history begins, and those of parts that
// come later.
func routes() []traveler.Route {
	var out []traveler.Route
	for _, p := range parts() {
		out = append(out, p.Route)
	}
	return out
}
