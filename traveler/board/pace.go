package board

import (
	"math"
	"slices"
	"strings"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/stat"
	"tallywalk/traveler/story"
)

// PaceDays is how much history lies behind the pace board.
const PaceDays = 365

// Spread is how a time lay over a number of batches, in seconds: its mean, the
// median and the middle half (percentiles of type 7). The mean of a set-up or a
// piece is that of all of them: it is the actual time, the same on every page;
// the others show how batches differ.
type Spread struct {
	N    int     `json:"n"`
	Mean float64 `json:"mean_s"`
	P25  float64 `json:"p25_s"`
	P50  float64 `json:"p50_s"`
	P75  float64 `json:"p75_s"`
}

// OpPace is planned against actual for one operation of a route revision.
type OpPace struct {
	Key        string              `json:"key"`
	Kind       string              `json:"kind" api:"enum=op"`
	Part       string              `json:"part"`
	PartName   string              `json:"part_name,omitempty"`
	RouteRev   string              `json:"route_rev"`
	Operation  traveler.Op         `json:"operation"`
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	PlanSetup  float64             `json:"plan_setup_s"`
	PlanPiece  float64             `json:"plan_piece_s"`
	Setup      Spread              `json:"setup"`    // one set-up
	Piece      Spread              `json:"piece"`    // run time of a piece
	Wait       Spread              `json:"wait"`     // walk and wait before it, elapsed
	Worked     Spread              `json:"worked"`   // the same in the work centre's working time
	Plan       float64             `json:"plan_s"`   // of the set-ups and pieces of all batches that count, together
	Actual     float64             `json:"actual_s"` // the same, as it was
	Batches    int                 `json:"batches"`
	LeftOut    int                 `json:"left_out"` // batches of which something was inferred
}

type opKey struct {
	part, rev string
	op        traveler.Op
}

// The figures of a sample, in seconds; negative = not known.
const (
	ofSetup = iota
	ofPiece
	ofWait
	ofWorked
	ofPlanSetup // as planned when it was done
	ofPlanPiece
	figures
)

// sample is one batch at one operation.
type sample struct {
	key          opKey
	name         string
	centre       traveler.WorkCentre
	figures      [figures]float64
	plan, actual time.Duration // of its set-ups and pieces together
	took         took
	leftOut      bool
}

// took is what set-ups and runs took, and how many set-ups and pieces that were.
type took struct {
	setup, run   time.Duration
	setups, made int
}

// opSamples is what is known of an operation. Sums are whole nanoseconds, so
// that they are the same in whatever order samples come and go.
type opSamples struct {
	row          OpPace
	columns      [figures]column
	n, leftOut   int
	plan, actual time.Duration
	took         took
}

// Pace keeps the samples of a period and the rows made of them. It is used by
// one goroutine.
type Pace struct {
	ops    map[opKey]*opSamples
	byRoot map[traveler.Code][]sample
	dirty  map[opKey]bool
	waits  map[traveler.WorkCentre]*column // ofWorked of all operations before a work centre
}

// NewPace makes an empty one.
func NewPace() *Pace {
	return &Pace{
		ops: map[opKey]*opSamples{}, byRoot: map[traveler.Code][]sample{}, dirty: map[opKey]bool{},
		waits: map[traveler.WorkCentre]*column{},
	}
}

// Put takes the facts of all batches of a family in place of what it had of it.
func (p *Pace) Put(root traveler.Code, facts []story.BatchFact) {
	var fresh []sample
	for i := range facts {
		fresh = append(fresh, samplesOf(&facts[i])...)
	}
	old := p.byRoot[root]
	if slices.Equal(old, fresh) {
		return
	}
	for i := range old {
		p.drop(&old[i])
	}
	delete(p.byRoot, root)
	p.add(root, fresh)
}

// Add takes the facts of one batch more.
func (p *Pace) Add(root traveler.Code, b *story.BatchFact) { p.add(root, samplesOf(b)) }

func (p *Pace) add(root traveler.Code, fresh []sample) {
	for i := range fresh {
		s := &fresh[i]
		x := p.ops[s.key]
		if x == nil {
			x = &opSamples{}
			p.ops[s.key] = x
		}
		x.row = OpPace{
			Key: strings.Join([]string{"op", s.key.part, s.key.rev, s.key.op.String()}, "/"), Kind: "op",
			Part: s.key.part, PartName: s.name,
			RouteRev: s.key.rev, Operation: s.key.op, WorkCentre: s.centre,
		}
		x.count(s, 1)
		for k, v := range s.figures {
			x.columns[k].put(v)
		}
		p.waitsAt(s.centre).put(s.figures[ofWorked])
		p.dirty[s.key] = true
	}
	if len(fresh) > 0 {
		p.byRoot[root] = append(slices.Clip(p.byRoot[root]), fresh...)
	}
}

func (p *Pace) drop(s *sample) {
	x := p.ops[s.key]
	x.count(s, -1)
	for k, v := range s.figures {
		x.columns[k].drop(v)
	}
	p.waitsAt(s.centre).drop(s.figures[ofWorked])
	p.dirty[s.key] = true
}

func (p *Pace) waitsAt(wc traveler.WorkCentre) *column {
	c := p.waits[wc]
	if c == nil {
		c = &column{}
		p.waits[wc] = c
	}
	return c
}

// Usual is how long batches waited before each work centre.
func (p *Pace) Usual() map[traveler.WorkCentre]UsualWait {
	out := make(map[traveler.WorkCentre]UsualWait, len(p.waits))
	for wc, c := range p.waits {
		if s := c.spread(); s.N > 0 {
			out[wc] = UsualWait{s.N, s.P50, short(stat.Percentile(c.values, 0.95))}
		}
	}
	return out
}

// of is what is known of the operation of a visit that goes on; nil if nothing is.
func (p *Pace) of(n *Now) *OpPace {
	k := opOf(n)
	o := p.ops[k]
	if o == nil {
		return nil
	}
	if p.dirty[k] {
		o.work()
	}
	return &o.row
}

func (o *opSamples) count(s *sample, n int) {
	o.n += n
	if s.leftOut {
		o.leftOut += n
	}
	o.plan, o.actual = o.plan+time.Duration(n)*s.plan, o.actual+time.Duration(n)*s.actual
	t, x := &o.took, &s.took
	t.setup, t.run = t.setup+time.Duration(n)*x.setup, t.run+time.Duration(n)*x.run
	t.setups, t.made = t.setups+n*x.setups, t.made+n*x.made
}

// samplesOf is a batch at each operation that it is through with.
func samplesOf(b *story.BatchFact) (out []sample) {
	for i := range b.Ops {
		if o := &b.Ops[i]; o.Closed && !o.Outside {
			out = append(out, sampleOf(b, o))
		}
	}
	return out
}

func sampleOf(b *story.BatchFact, o *story.OpFact) sample {
	s := sample{key: opKey{b.Part, b.Rev, o.Operation}, name: b.Name, centre: o.WorkCentre,
		leftOut: o.Inferred}
	s.figures = [figures]float64{-1, -1, -1, -1, o.PlanSetup.Seconds(), o.PlanPiece.Seconds()}
	t := &s.took
	if t.setup, t.setups = o.TookSetUp(); t.setups > 0 {
		s.figures[ofSetup] = t.setup.Seconds() / float64(t.setups)
		s.plan, s.actual = o.PlanSetup*time.Duration(t.setups), t.setup
	}
	if t.run, t.made = o.TookRun(); t.made > 0 {
		s.figures[ofPiece] = t.run.Seconds() / float64(t.made)
		s.plan, s.actual = s.plan+o.PlanPiece*time.Duration(t.made), s.actual+t.run
	}
	if v := firstOf(b, o.Operation); v != nil && !v.NoStart && !v.Uncertain {
		s.figures[ofWait] = (v.Parts.Transport + v.Parts.Queue + v.Parts.Between).Seconds()
		s.figures[ofWorked] = v.Waited.Seconds()
	}
	return s
}

// firstOf is the first visit of an operation at which something was begun, and
// which is no rework; nil if there is none.
func firstOf(b *story.BatchFact, op traveler.Op) *story.VisitFact {
	for i := range b.Visits {
		if v := &b.Visits[i]; v.Operation == op && v.ReworkFor == 0 && !v.Begun.IsZero() {
			return v
		}
	}
	return nil
}

// Rows gives the row of every operation that has a sample.
func (p *Pace) Rows() []OpPace {
	p.Changed()
	out := make([]OpPace, 0, len(p.ops))
	for _, o := range p.ops {
		out = append(out, o.row)
	}
	slices.SortFunc(out, func(a, b OpPace) int { return strings.Compare(a.Key, b.Key) })
	return out
}

// Changed gives the rows that changed since the last time, and the keys of those
// that have no sample any more.
func (p *Pace) Changed() (set []OpPace, gone []string) {
	for k := range p.dirty {
		o := p.ops[k]
		if o.n == 0 {
			delete(p.ops, k)
			gone = append(gone, o.row.Key)
			continue
		}
		o.work()
		set = append(set, o.row)
	}
	clear(p.dirty)
	return set, gone
}

// work works the row out.
func (o *opSamples) work() {
	r, c := &o.row, &o.columns
	r.Setup, r.Piece = c[ofSetup].spread(), c[ofPiece].spread()
	r.Wait, r.Worked = c[ofWait].spread(), c[ofWorked].spread()
	r.Setup.Mean, r.Piece.Mean = each(o.took.setup, o.took.setups), each(o.took.run, o.took.made)
	// A plan that was changed for one batch is not the plan of the operation.
	r.PlanSetup, r.PlanPiece = c[ofPlanSetup].spread().P50, c[ofPlanPiece].spread().P50
	r.Batches, r.LeftOut = o.n, o.leftOut
	r.Plan, r.Actual = short(o.plan.Seconds()), short(o.actual.Seconds())
}

// column is one figure of all samples. It is sorted when it is first read, and
// stays so.
type column struct {
	values []float64
	sorted bool
}

// put takes a value; one below zero is not known.
func (c *column) put(v float64) {
	switch {
	case v < 0:
	case c.sorted:
		i, _ := slices.BinarySearch(c.values, v)
		c.values = slices.Insert(c.values, i, v)
	default:
		c.values = append(c.values, v)
	}
}

func (c *column) drop(v float64) {
	if v < 0 {
		return
	}
	c.sort()
	if i, ok := slices.BinarySearch(c.values, v); ok {
		c.values = slices.Delete(c.values, i, i+1)
	}
}

func (c *column) sort() {
	if !c.sorted {
		slices.Sort(c.values)
		c.sorted = true
	}
}

func (c *column) spread() Spread {
	if len(c.values) == 0 {
		return Spread{}
	}
	c.sort()
	xs := c.values
	sum := 0.0
	for _, x := range xs {
		sum += x
	}
	return Spread{len(xs), short(sum / float64(len(xs))), short(stat.Percentile(xs, 0.25)),
		short(stat.Percentile(xs, 0.5)), short(stat.Percentile(xs, 0.75))}
}

// each is the mean of n in seconds; 0 of none.
func each(took time.Duration, n int) float64 {
	if n == 0 {
		return 0
	}
	return short(took.Seconds() / float64(n))
}

// short is a number of seconds to the millisecond: nothing was measured finer,
// and a board is sent to many.
func short(s float64) float64 { return math.Round(s*1000) / 1000 }
