package story

import (
	"tallywalk/traveler"
	"time"
)

// Parts are where the time of a batch, a visit or an operation went, in clock
// time. Of a batch they add up to its lead time: at each instant it is in one
// of them, by the precedence run, set-up, first-off, stop, outside, transport,
// queue.
type Parts struct {
	Run       time.Duration // ISO 22400 APT
	Setup     time.Duration // ISO 22400 AUST
	FirstOff  time.Duration // waiting for the verdict on the first piece
	Stop      time.Duration // ISO 22400 ADET
	Outside   time.Duration
	Transport time.Duration // ISO 22400 ATT: from the end of the visit before to a scanned arrival
	Queue     time.Duration // ISO 22400 AQT: from a scanned arrival to the first set-up or run
	Between   time.Duration // both together, where no arrival was scanned
}

// Sum is all parts together.
func (p *Parts) Sum() time.Duration {
	return p.Run + p.Setup + p.FirstOff + p.Stop + p.Outside + p.Transport + p.Queue + p.Between
}

// Add adds other parts.
func (p *Parts) Add(q *Parts) {
	p.Run += q.Run
	p.Setup += q.Setup
	p.FirstOff += q.FirstOff
	p.Stop += q.Stop
	p.Outside += q.Outside
	p.Transport += q.Transport
	p.Queue += q.Queue
	p.Between += q.Between
}

// LossFact is pieces that did not come out good at the first try.
type LossFact struct {
	Outcome string // scrap, rework, review
	Reason  string
	N       int
	FoundAt traveler.Op
	Caused  traveler.Op // the operation that caused it; FoundAt when nobody said another
	// Decided is when an inspector decided so about pieces set aside; zero where
	// it was counted at the visit itself.
	Decided time.Time
}

// StopFact is a stretch in which a visit stood still.
type StopFact struct {
	Reason string
	Lasted time.Duration
	Open   time.Duration // of it, while the machine was open; all of it where it keeps no calendar
}

// BusyFact is a stretch in which a visit kept its machine busy.
type BusyFact struct {
	Kind     SpanKind // run, setup, firstoff or stop
	From, To time.Time
}

// VisitFact is what the figures need of one visit.
type VisitFact struct {
	Visit     traveler.ScanID
	Operation traveler.Op
	Machine   traveler.MachineID
	CameFrom  traveler.MachineID // where it was carried from; empty = it was here, or nobody knows
	Metres    float64            // of that walk
	ReworkFor traveler.Op
	Arrived   time.Time
	Begun     time.Time // the first set-up, run or sending out; zero = not begun
	Ended     time.Time // zero while it goes on
	Parts     Parts
	Waited    time.Duration // of transport, queue and between: working time of the work centre
	Closed    time.Duration // cut out of run and set-up because the machine was closed
	Shut      time.Duration // of the wait for a first-off: while the machine was closed
	// What became of its pieces, what was decided later about those set aside
	// included, so that visits add up to their batch.
	Good     int
	Scrap    int
	Rework   int // ever sent
	Review   int // set aside and not decided yet
	Missing  int
	Aside    int // ever set aside
	Conceded int // of Good: by concession
	SetupN   int // of all of them, pieces made while setting
	Losses   []LossFact
	Stops    []StopFact
	Busy     []BusyFact // its runs, set-ups, waits for a first-off and stops, in order, without closed time
	// LeftOn: it was left on when its machine closed, and nobody has said yet
	// whether it went on.
	LeftOn bool
	// NoArrival, NoStart, NoFinish and NoCount say what of it was inferred.
	NoArrival, NoStart, NoFinish, NoCount bool
	Uncertain                             bool // clocks could not say the order
}

// Inferred reports whether a bound of its working time was inferred, so that it
// says nothing sure about set-up and cycle.
func (v *VisitFact) Inferred() bool { return v.NoStart || v.NoFinish || v.Uncertain || v.LeftOn }

// OpFact is what became of a batch at one operation, first pass.
type OpFact struct {
	Operation  traveler.Op
	WorkCentre traveler.WorkCentre
	// As planned when it was done.
	PlanSetup time.Duration
	PlanPiece time.Duration // one piece
	Clampings int
	Outside   bool
	FirstOff  bool // a first piece was wanted

	In         int // pieces that came in
	Presented  int // first-pass pieces that got an outcome here
	FirstGood  int // of them, good without rework or concession; review later decided good counts
	Undecided  int // of them, still in review
	Good       int
	Scrap      int
	Rework     int // ever sent to rework
	Missing    int
	Concession int
	Assumed    int // passed without being counted
	Made       int // pieces made in the run: presented, without set-up pieces
	Closed     bool

	Setup, Run time.Duration // first-pass, summed over machines
	Setups     int           // visits with a set-up
	Machines   int
	Inferred   bool // some bound was: left out of pace
}

// TookSetUp is how long its set-ups took together, and how many there were:
// the actual set-up time is the sum over batches of the one by that of the
// other. None where that is not sure, or the work is not done here.
func (o *OpFact) TookSetUp() (took time.Duration, setups int) {
	if !o.sure() {
		return 0, 0
	}
	return o.Setup, o.Setups
}

// TookRun is how long its runs took together, and how many pieces were made in
// them: the actual cycle time is the sum over batches of the one by that of the
// other. None where that is not sure, or the work is not done here.
func (o *OpFact) TookRun() (took time.Duration, made int) {
	if !o.sure() || o.Made <= 0 || o.Run <= 0 {
		return 0, 0
	}
	return o.Run, o.Made
}

func (o *OpFact) sure() bool { return o.Closed && !o.Outside && !o.Inferred }

// TripFact is one time that a batch was carried.
type TripFact struct {
	From, To traveler.MachineID
	At       time.Time
	Metres   float64
	Leg      Leg
	For      traveler.Op // the operation that it was carried to, first pass; 0 = for rework, or only put there
}

// Leg is what a trip joins.
type Leg string

// The legs. One that has several of them at its ends is the first of these.
const (
	LegOutside Leg = "outside" // to or from where outside work is sent out
	LegDock    Leg = "dock"
	LegStores  Leg = "stores"
	LegFloor   Leg = "floor" // between machines, benches and rooms where work is done
)

// ReleasedAs is what a batch was released with, which someone may have changed
// since. Zero for one that was split off.
type ReleasedAs struct {
	Pieces, Wanted, Priority int
	Due                      time.Time
	Hot                      bool
}

// BatchFact is what the figures need of one batch: what happened to it, worked
// out once.
type BatchFact struct {
	Card, Root, Parent traveler.Code
	Joined             traveler.Code // the batch its pieces went to
	Part, Rev, Drawing string
	Name               string
	Order, Line        string
	Customer           string
	Lots               []string
	Priority           int
	Hot                bool
	State              BatchState
	Due                time.Time // the end of the day before which it is on time; zero = none
	Released           time.Time
	Begun              time.Time // the first set-up, run or sending out
	Ended              time.Time // the end of its lead time; zero while it is on the floor
	Started, Wanted    int
	Good, Scrap        int
	Missing            int
	Concession         int
	Rework, Review     int // ever sent to rework; open in review
	// Always Started + JoinedIn - SplitOff + Over = Good + Scrap + ReworkOpen +
	// Review + Missing + ToDo.
	ReworkOpen, ToDo         int
	JoinedIn, SplitOff, Over int // from and to other batches; counted beyond what was let go
	Delivered                int
	Deliveries               []Delivery
	Stock                    int
	Parts                    Parts
	Metres                   float64 // walked along its longest chain
	Rectangular              bool    // some of it is rectangular distance, for want of aisles
	Trip                     []TripFact
	Inferred                 int        // visits with something inferred
	Asked                    int        // open questions
	Measured                 bool       // some dimension of its pieces was noted
	Imported                 bool       // of its scans some were imported, not made here
	As                       ReleasedAs // which a split or someone may have changed since
	Ops                      []OpFact
	Visits                   []VisitFact
}

// Finished reports whether a batch is done and its pieces came out of it: one that was
// joined to another is done too, but its pieces count there.
func (b *BatchFact) Finished() bool { return b.State == StateDone && b.Joined == "" }

// Lead is the lead time; up to now for a batch on the floor.
func (b *BatchFact) Lead(now time.Time) time.Duration {
	if b.Ended.IsZero() {
		return max(0, now.Sub(b.Released))
	}
	return max(0, b.Ended.Sub(b.Released))
}

// Walked is how far it was carried on trips that join something, in metres.
func (b *BatchFact) Walked(leg Leg) (metres float64) {
	for i := range b.Trip {
		if b.Trip[i].Leg == leg {
			metres += b.Trip[i].Metres
		}
	}
	return metres
}

// FactQuery says which batches are wanted. Zero fields do not restrict.
type FactQuery struct {
	Part     string
	From, To time.Time       // of the end; batches on the floor always fit
	Roots    []traveler.Code // only batches of these families
	Open     bool            // those on the floor too
	Bare     bool            // without visits
	Without  FactParts       // may be left out of what is read
	// Lent: yield keeps nothing of a batch's lists when it returns. They are used
	// again for the next one, which makes long histories fast to read.
	Lent bool
}

// FactParts are parts of a batch's facts that a reader can do without.
type FactParts uint8

// What can be left out. A batch on the floor has all of it nevertheless.
const (
	FactTrip   FactParts = 1 << iota // how it was carried
	FactOps                          // its operations, if its visits are left out too
	FactVisits                       // its visits
	FactIDs                          // of its visits: their ids, and where they were carried from
	FactSpent                        // of its visits: where their time went, and their pieces
	FactLosses                       // of its visits: losses and stops
	FactBusy                         // of its visits: when they kept their machine busy; with FactSpent, when they began and ended
)
