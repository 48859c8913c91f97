package board

import (
	"math"
	"slices"
	"strings"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/stat"
)

// Spread is how a time lay over a number of batches, in seconds: the median and
// the middle half (percentiles of type 7).
type Spread struct {
	N   int     `json:"n"`
	P25 float64 `json:"p25_s"`
	P50 float64 `json:"p50_s"`
	P75 float64 `json:"p75_s"`
}

// OpPace is planned against actual for one operation of a route revision.
type OpPace struct {
	Key        string              `json:"key"`
	Kind       string              `json:"kind"` // op
	Part       string              `json:"part"`
	PartName   string              `json:"part_name,omitempty"`
	RouteRev   string              `json:"route_rev"`
	Operation  traveler.Op         `json:"operation"`
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	PlanSetup  float64             `json:"plan_setup_s"`
	PlanPiece  float64             `json:"plan_piece_s"`
	Setup      Spread              `json:"setup"`  // one set-up
	Piece      Spread              `json:"piece"`  // run time of a piece
	Wait       Spread              `json:"wait"`   // walk and wait before it, elapsed
	Worked     Spread              `json:"worked"` // the same in the work centre's working time
	Plan       float64             `json:"plan_s"` // of the set-ups and pieces of all batches that count, together
	Actual     float64             `json:"actual_s"`
	Batches    int                 `json:"batches"`
	LeftOut    int                 `json:"left_out"` // batches of which something was inferred
}

type opKey struct {
	part, rev string
	op        traveler.Op
}

// sample is one batch at one operation.
type sample struct {
	root                       traveler.Code
	setup, piece, wait, worked float64 // seconds; negative = not known
	planSetup, planPiece       float64 // as planned when it was done
	plan, actual               float64 // of its set-ups and pieces together
	leftOut                    bool
}

type opSamples struct {
	row     OpPace
	samples []sample
	dirty   bool
}

// Pace keeps the samples of a period and the rows made of them. It is used by
// one goroutine.
type Pace struct {
	ops    map[opKey]*opSamples
	byRoot map[traveler.Code][]opKey
}

// NewPace makes an empty one.
func NewPace() *Pace {
	return &Pace{ops: map[opKey]*opSamples{}, byRoot: map[traveler.Code][]opKey{}}
}

// Put takes the facts of all batches of a family in place of what it had of it.
func (p *Pace) Put(root traveler.Code, facts []traveler.BatchFact) {
	for _, k := range p.byRoot[root] {
		o := p.ops[k]
		o.samples = slices.DeleteFunc(o.samples, func(s sample) bool { return s.root == root })
		o.dirty = true
	}
	delete(p.byRoot, root)
	for i := range facts {
		p.Add(root, &facts[i])
	}
}

// Add takes the facts of one batch more.
func (p *Pace) Add(root traveler.Code, b *traveler.BatchFact) {
	for i := range b.Ops {
		o := &b.Ops[i]
		if !o.Closed || o.Outside {
			continue
		}
		k := opKey{b.Part, b.Rev, o.Operation}
		x := p.ops[k]
		if x == nil {
			x = &opSamples{}
			p.ops[k] = x
		}
		x.row = OpPace{
			Key: strings.Join([]string{"op", b.Part, b.Rev, o.Operation.String()}, "/"), Kind: "op", Part: b.Part, PartName: b.Name, RouteRev: b.Rev,
			Operation: o.Operation, WorkCentre: o.WorkCentre,
		}
		x.samples = append(x.samples, sampleOf(root, b, o))
		x.dirty = true
		if !slices.Contains(p.byRoot[root], k) {
			p.byRoot[root] = append(p.byRoot[root], k)
		}
	}
}

func sampleOf(root traveler.Code, b *traveler.BatchFact, o *traveler.OpFact) sample {
	s := sample{
		root: root, setup: -1, piece: -1, wait: -1, worked: -1, leftOut: o.Inferred,
		planSetup: o.PlanSetup.Seconds(), planPiece: o.PlanPiece.Seconds(),
	}
	if !o.Inferred && o.Setups > 0 {
		s.setup = o.Setup.Seconds() / float64(o.Setups)
		s.plan, s.actual = s.planSetup*float64(o.Setups), o.Setup.Seconds()
	}
	if !o.Inferred && o.Made > 0 && o.Run > 0 {
		s.piece = o.Run.Seconds() / float64(o.Made)
		s.plan, s.actual = s.plan+s.planPiece*float64(o.Made), s.actual+o.Run.Seconds()
	}
	if v := firstOf(b, o.Operation); v != nil && !v.NoStart && !v.Uncertain {
		s.wait = (v.Parts.Transport + v.Parts.Queue + v.Parts.Between).Seconds()
		s.worked = v.Waited.Seconds()
	}
	return s
}

// firstOf is the first visit of an operation at which something was begun, and
// which is no rework; nil if there is none.
func firstOf(b *traveler.BatchFact, op traveler.Op) *traveler.VisitFact {
	for i := range b.Visits {
		if v := &b.Visits[i]; v.Operation == op && v.ReworkFor == 0 && !v.Begun.IsZero() {
			return v
		}
	}
	return nil
}

// Rows gives the row of every operation that has a sample.
func (p *Pace) Rows() []OpPace {
	out := make([]OpPace, 0, len(p.ops))
	for _, o := range p.ops {
		if len(o.samples) == 0 {
			continue
		}
		if o.dirty {
			o.add()
		}
		out = append(out, o.row)
	}
	slices.SortFunc(out, func(a, b OpPace) int { return strings.Compare(a.Key, b.Key) })
	return out
}

func (o *opSamples) add() {
	r := &o.row
	r.Setup, r.Piece = o.spread(func(s *sample) float64 { return s.setup }), o.spread(func(s *sample) float64 { return s.piece })
	r.Wait, r.Worked = o.spread(func(s *sample) float64 { return s.wait }), o.spread(func(s *sample) float64 { return s.worked })
	// A plan that was changed for one batch is not the plan of the operation.
	r.PlanSetup = o.spread(func(s *sample) float64 { return s.planSetup }).P50
	r.PlanPiece = o.spread(func(s *sample) float64 { return s.planPiece }).P50
	r.Batches, r.LeftOut, r.Plan, r.Actual = len(o.samples), 0, 0, 0
	for i := range o.samples {
		s := &o.samples[i]
		if s.leftOut {
			r.LeftOut++
		}
		r.Plan, r.Actual = r.Plan+s.plan, r.Actual+s.actual
	}
	r.Plan, r.Actual = short(r.Plan), short(r.Actual)
	o.dirty = false
}

func (o *opSamples) spread(of func(*sample) float64) Spread {
	var xs []float64
	for i := range o.samples {
		if x := of(&o.samples[i]); x >= 0 {
			xs = append(xs, x)
		}
	}
	if len(xs) == 0 {
		return Spread{}
	}
	slices.Sort(xs)
	return Spread{len(xs), short(stat.Percentile(xs, 0.25)), short(stat.Percentile(xs, 0.5)), short(stat.Percentile(xs, 0.75))}
}

// short is a number of seconds to the millisecond: nothing was measured finer,
// and a board is sent to many.
func short(s float64) float64 { return math.Round(s*1000) / 1000 }

// Now is a visit that goes on, and where it stands against its plan.
type Now struct {
	Key        string              `json:"key"`
	Kind       string              `json:"kind"` // now
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
	Of         int                 `json:"of"`   // pieces to make here
	PlanSetup  float64             `json:"plan_setup_s"`
	PlanPiece  float64             `json:"plan_piece_s"`
	Setup      float64             `json:"setup_s"`       // so far, up to at, without closed time
	Run        float64             `json:"run_s"`         // the same
	At         time.Time           `json:"at"`            // its last scan
	Ends       time.Time           `json:"ends,omitzero"` // by plan, from the last scan on, in open time
	Due        string              `json:"due,omitempty"`
	Late       bool                `json:"late"`
	Inferred   bool                `json:"inferred,omitempty"`
}

// Runs lists the visits of a family that go on, from its rows of the waits
// board. facts are those of its batches, measured up to its last scan.
func Runs(shop *traveler.Shop, f *traveler.Family, facts []traveler.BatchFact, rows []Row) []Now {
	var out []Now
	for i := range rows {
		r := &rows[i]
		if r.Kind != "work" || r.State == string(traveler.VisitOutside) {
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
				n.RouteRev = f.Batches[batch].Rev
				n.plan(shop, &f.Batches[batch], r, v, together(rows, r))
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
		if x.Kind == "work" && x.Card == r.Card && x.Operation == r.Operation && x.State == string(traveler.VisitRunning) {
			n++
		}
	}
	return max(1, n)
}

// lastScan is when the last scan of a visit happened.
func lastScan(f *traveler.Family, id traveler.ScanID) time.Time {
	for i := range f.Visits {
		if f.Visits[i].ID != id {
			continue
		}
		for k := len(f.Lines) - 1; k >= 0; k-- {
			if f.Lines[k].Visit == i {
				return f.Lines[k].At
			}
		}
	}
	return time.Time{}
}

// nowOf tells a visit as it was at its last scan. Its times were measured up to
// another, maybe later scan of its family; what lay between is taken off again.
func nowOf(shop *traveler.Shop, r *Row, v *traveler.VisitFact, measured, at time.Time) Now {
	n := Now{
		Key: r.Key, Kind: "now", Card: r.Card, WorksOrder: r.WorksOrder, Part: r.Part, PartName: r.PartName,
		Operation: r.Operation, Machine: r.Machine, WorkCentre: r.WorkCentre, State: r.State, Since: r.Since, Reason: r.Reason,
		Made: v.Good + v.Scrap + v.Rework + v.Review + v.Missing, Of: r.Of, Setup: v.Parts.Setup.Seconds(), Run: v.Parts.Run.Seconds(),
		At: at, Due: r.Due, Late: r.Late, Inferred: r.Inferred,
	}
	switch r.State {
	case string(traveler.VisitRunning):
		n.Run = max(0, n.Run-openFor(shop, r.Machine, at, measured, true))
	case string(traveler.VisitSetting):
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
func (n *Now) plan(shop *traveler.Shop, b *traveler.Batch, r *Row, v *traveler.VisitFact, machines int) {
	if v.ReworkFor != 0 {
		return
	}
	var left time.Duration
	for i := range b.Ops {
		if o := &b.Ops[i]; o.Number == r.Operation {
			n.PlanSetup, n.PlanPiece = o.SetupMin*60, o.MinPerPiece()*60
			left = time.Duration(n.PlanPiece * float64(r.Pieces) / float64(machines) * float64(time.Second))
		}
	}
	switch r.State {
	case string(traveler.VisitRunning):
		if n.PlanPiece > 0 {
			n.Ends = ends(shop, r.Machine, n.At, left)
		}
	case string(traveler.VisitSetting):
		if set, ok := shop.Hours(r.Machine, r.Since).After(r.Since, time.Duration(n.PlanSetup*float64(time.Second))); ok {
			n.Ends = ends(shop, r.Machine, set, left)
		}
	}
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
