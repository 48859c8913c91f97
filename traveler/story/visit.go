package story

import (
	"tallywalk/traveler"
	"time"
)

// VisitState says where a visit stands.
type VisitState string

// The states of a visit.
const (
	VisitWaiting  VisitState = "waiting"
	VisitSetting  VisitState = "setting"
	VisitFirstOff VisitState = "firstoff" // waiting for the verdict on the first piece
	VisitReady    VisitState = "ready"    // first piece accepted, run not begun
	VisitRunning  VisitState = "running"
	VisitStopped  VisitState = "stopped"
	VisitOutside  VisitState = "outside"
	VisitFinished VisitState = "finished"
)

// SpanKind says what a stretch of a visit was spent on.
type SpanKind string

// The kinds of span: the parts of a visit that people scan.
const (
	SpanSetup    SpanKind = "setup"
	SpanFirstOff SpanKind = "firstoff"
	SpanRun      SpanKind = "run"
	SpanStop     SpanKind = "stop"
	SpanOutside  SpanKind = "outside"
)

// Span is one stretch of a visit. To is zero while it lasts.
type Span struct {
	Visit    int // index in Family.Visits
	Kind     SpanKind
	From, To time.Time
	Inferred bool // a bound of it was inferred
	Reason   string
	By       traveler.PersonID
}

// What can be inferred of a visit.
const (
	InferredArrival = "arrival"
	InferredStart   = "start"
	InferredFinish  = "finish"
	InferredCount   = "count"
)

// Verdict is the rejection of a first-off.
type Verdict struct {
	By       traveler.PersonID
	At       time.Time
	Kind     string // of the piece: scrap, rework or review
	Reason   string
	Overrule bool // someone who may pass it ran all the same
}

// MeasuredAt is a dimension as it was found, with who measured it and when.
type MeasuredAt struct {
	traveler.Measured
	By   traveler.PersonID
	At   time.Time
	Scan traveler.ScanID
}

// unpassed is a run, or a count, without a first-off that had passed: what the visit
// had of good pieces before it.
type unpassed struct {
	scan traveler.ScanID
	good int
}

// LossAt is a loss with where it was found and the scan that said it.
type LossAt struct {
	traveler.Loss
	Outcome string // scrap, rework, review
	Scan    traveler.ScanID
}

// Visit is one stay of a batch, or part of it, at one machine for one
// operation.
type Visit struct {
	ID        traveler.ScanID // its first scan
	Batch     int             // index in Family.Batches
	Operation traveler.Op
	Machine   traveler.MachineID
	ReworkFor traveler.Op // the operation that sent the pieces to rework; 0 = first pass

	Arrived, Finished time.Time
	State             VisitState
	ArrivalInferred   bool
	StartInferred     bool
	TimeUncertain     bool
	// PassedBy is set when the batch was seen further on while this visit was
	// open: it has ended by then, unless a later scan of its own says otherwise.
	PassedBy time.Time

	Good, Scrap, Rework, Review, Missing int // as counted here
	SetupPieces                          int // of these, pieces made while setting
	Losses                               []LossAt
	FirstOff                             string   // "", waiting, accepted, refused
	Rejected                             *Verdict // the rejection that no pass has followed
	Measured                             []MeasuredAt
	Reads                                *int // what the machine's counter last showed
	WaitReason                           string
	People                               []traveler.PersonID
	Scans                                []traveler.ScanID
	CameFrom                             traveler.MachineID
	Wanted                               int // pieces sent outside
	unpassed                             []unpassed
	seen                                 []time.Time // when someone scanned something of it, in order
	// Worked is how much of the time in which its machine was closed someone
	// said that it worked.
	Worked time.Duration
}

// Open reports whether the visit still goes on, as far as is known.
func (v *Visit) Open() bool { return v.State != VisitFinished && v.PassedBy.IsZero() }

// Ended is when the visit ended: said or inferred; zero while it goes on.
func (v *Visit) Ended() time.Time {
	if v.State == VisitFinished {
		return v.Finished
	}
	return v.PassedBy
}

// counted is the number of pieces that got an outcome here.
func (v *Visit) counted() int { return v.Good + v.Scrap + v.Rework + v.Review + v.Missing }

// Inferred lists what of the visit was inferred rather than said.
func (v *Visit) Inferred() []string {
	var out []string
	if v.ArrivalInferred {
		out = append(out, InferredArrival)
	}
	if v.StartInferred {
		out = append(out, InferredStart)
	}
	if v.State != VisitFinished && !v.PassedBy.IsZero() {
		out = append(out, InferredFinish)
	}
	if v.counted() == 0 && !v.Ended().IsZero() && v.ReworkFor == 0 {
		out = append(out, InferredCount)
	}
	return out
}
