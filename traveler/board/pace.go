package board

import (
	"math"
	"slices"
	"strings"

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
