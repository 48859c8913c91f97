package board

import (
	"strings"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Now is a visit that goes on, and where it stands against its plan.
type Now struct {
	Key        string              `json:"key"`
	Kind       string              `json:"kind" api:"enum=now"`
	Card       traveler.Code       `json:"card"`
	WorksOrder string              `json:"works_order,omitempty"`
	Part       string              `json:"part"`
	PartName   string              `json:"part_name,omitempty"`
	RouteRev   string              `json:"route_rev"`
	Operation  traveler.Op         `json:"operation"`
	Machine    traveler.MachineID  `json:"machine"`
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	State      string              `json:"state"`
	Since      time.Time           `json:"since"` // in this state since then
	Reason     string              `json:"reason,omitempty"`
	Made       int                 `json:"made"` // pieces counted here
	Ran        int                 `json:"ran"`  // of them, made in the run and not while setting
	Of         int                 `json:"of"`   // pieces to make here
	PlanSetup  float64             `json:"plan_setup_s"`
	PlanPiece  float64             `json:"plan_piece_s"`
	Setup      float64             `json:"setup_s"`            // so far, up to at, without closed time
	Run        float64             `json:"run_s"`              // the same
	At         time.Time           `json:"at"`                 // its last scan
	Ends       time.Time           `json:"ends,omitzero"`      // by plan, from the last scan on, in open time
	OverFrom   time.Time           `json:"over_from,omitzero"` // from then on it is past its planned time
	Due        string              `json:"due,omitempty"`
	Late       bool                `json:"late"`
	Hot        bool                `json:"hot,omitempty"`      // goes before all that is not
	LateFrom   time.Time           `json:"late_from,omitzero"` // as of its row of the waits board
	Inferred   bool                `json:"inferred,omitempty"`
	Left       int                 `json:"-"` // pieces that can still be counted here
	Together   int                 `json:"-"` // machines that share them
}

// Runs lists the visits of a family that go on, from its rows of the waits
// board. facts are those of its batches, measured up to its last scan.
func Runs(shop *traveler.Shop, f *story.Family, facts []story.BatchFact, rows []Row) []Now {
	var out []Now
	for i := range rows {
		r := &rows[i]
		if r.Kind != "work" || r.Outside() {
			continue
		}
		batch := f.Index(r.Card)
		if batch < 0 {
			continue
		}
		id := traveler.ScanID(strings.TrimPrefix(r.Key, "visit/"))
		for k := range facts[batch].Visits {
			if v := &facts[batch].Visits[k]; v.Visit == id {
				n := nowOf(shop, r, v, f.Last(), lastScan(f, id))
				n.RouteRev, n.Left, n.Together = f.Batches[batch].Rev, r.Pieces, together(rows, r)
				n.plan(shop, &f.Batches[batch], r, v)
				out = append(out, n)
			}
		}
	}
	return out
}

// together counts the machines that run the same operation of a batch: they
// share the pieces that are left.
func together(rows []Row, r *Row) int {
	n := 0
	for i := range rows {
		x := &rows[i]
		if x.Kind == "work" && x.Card == r.Card && x.Operation == r.Operation &&
			x.State == string(story.VisitRunning) {
			n++
		}
	}
	return max(1, n)
}

// lastScan is when the last scan of a visit happened.
func lastScan(f *story.Family, id traveler.ScanID) time.Time {
	for i := range f.Visits {
		if f.Visits[i].ID != id {
			continue
		}
		for _, l := range f.Lines.Backward() {
			if l.Visit == i {
				return l.At
			}
		}
	}
	return time.Time{}
}

// nowOf is a visit as it was at its last scan. Its times were measured up to
// another, maybe later scan of its family; what lay between is taken off again.
func nowOf(shop *traveler.Shop, r *Row, v *story.VisitFact, measured, at time.Time) Now {
	n := Now{
		Key: r.Key, Kind: "now", Card: r.Card, WorksOrder: r.WorksOrder, Part: r.Part, PartName: r.PartName,
		Operation: r.Operation, Machine: r.Machine, WorkCentre: r.WorkCentre, State: r.State, Since: r.Since,
		Reason: r.Reason,
		Made:   v.Good + v.Scrap + v.Rework + v.Review + v.Missing, Of: r.Of, Setup: v.Parts.Setup.Seconds(),
		Run: v.Parts.Run.Seconds(),
		At:  at, Due: r.Due, Late: r.Late, Hot: r.Hot, LateFrom: r.LateFrom, Inferred: r.Inferred,
	}
	n.Ran = max(0, n.Made-v.SetupN)
	switch r.State {
	case string(story.VisitRunning):
		n.Run = max(0, n.Run-openFor(shop, r.Machine, at, measured, true))
	case string(story.VisitSetting):
		n.Setup = max(0, n.Setup-openFor(shop, r.Machine, at, measured, false))
	}
	n.Setup, n.Run = short(n.Setup), short(n.Run)
	return n
}

// openFor is how many seconds a machine could work between two moments.
func openFor(shop *traveler.Shop, id traveler.MachineID, from, to time.Time, running bool) float64 {
	if running && shop.Unattended(id, from) {
		return max(0, to.Sub(from).Seconds())
	}
	return shop.Hours(id, from).Open(from, to).Seconds()
}

// plan adds what was planned, and when it ends by that. Rework has no plan.
func (n *Now) plan(shop *traveler.Shop, b *story.Batch, r *Row, v *story.VisitFact) {
	if v.ReworkFor != 0 {
		return
	}
	var left time.Duration
	for i := range b.Ops {
		if o := &b.Ops[i]; o.Number == r.Operation {
			n.PlanSetup, n.PlanPiece = o.SetupMin*60, o.MinPerPiece()*60
			left = time.Duration(n.PlanPiece * float64(n.Left) / float64(n.Together) * float64(time.Second))
		}
	}
	switch r.State {
	case string(story.VisitRunning):
		if n.PlanPiece > 0 {
			n.Ends = ends(shop, r.Machine, n.At, left)
			n.OverFrom = n.Ends
		}
	case string(story.VisitSetting):
		if set, ok := shop.Hours(r.Machine, r.Since).After(r.Since,
			time.Duration(n.PlanSetup*float64(time.Second))); ok {
			n.Ends = ends(shop, r.Machine, set, left)
		}
		n.OverFrom = n.setupEnds(shop)
	}
}

// setupEnds is when the set-up ends, or ended, by its plan; zero without one. A set-up
// may have been stopped and gone on since.
func (n *Now) setupEnds(shop *traveler.Shop) time.Time {
	left := time.Duration((n.PlanSetup - n.Setup) * float64(time.Second))
	if n.PlanSetup <= 0 {
		return time.Time{}
	}
	if left <= 0 {
		return n.At.Add(left)
	}
	at, _ := shop.Hours(n.Machine, n.At).After(n.At, left)
	return at
}

// ends is when a run of a length ends that begins at a moment: in open time, or
// straight on where the machine runs unattended.
func ends(shop *traveler.Shop, id traveler.MachineID, from time.Time, d time.Duration) time.Time {
	if shop.Unattended(id, from) {
		return from.Add(d)
	}
	t, ok := shop.Hours(id, from).After(from, d)
	if !ok {
		return time.Time{}
	}
	return t
}
