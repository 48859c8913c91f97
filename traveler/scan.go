package traveler

import (
	"math"
	"time"
)

// Action says what someone did or wants.
type Action string

// The actions of a scan.
const (
	ActArrive   Action = "arrive"   // the batch is here
	ActSetup    Action = "setup"    // setting begins
	ActFirstOff Action = "firstoff" // first piece handed over; with counts: the verdict on it
	ActRun      Action = "run"      // the run begins or goes on
	ActStop     Action = "stop"     // the run stops; on a waiting batch: why it waits
	ActCount    Action = "count"    // pieces come out
	ActFinish   Action = "finish"   // this visit is over
	ActHold     Action = "hold"     // nobody works on it until it is freed
	ActFree     Action = "free"
	ActSplit    Action = "split" // pieces go on under a card of their own
	ActJoin     Action = "join"  // a sibling's pieces come back to this card
	ActMove     Action = "move"  // carried to another place
	ActSend     Action = "send"  // sent outside
	ActReceive  Action = "receive"
	ActDecide   Action = "decide" // review decided, or a question settled
	ActCorrect  Action = "correct"
	ActUndo     Action = "undo"
	ActOverride Action = "override" // a supervisor changes this batch's plan
	ActDeliver  Action = "deliver"
	ActCancel   Action = "cancel"
	ActOn       Action = "on"  // someone is at the station
	ActOff      Action = "off" // and leaves
	// Whether something that an operation needs is there: For = the thing, one of the
	// shop's reasons of kind ready, or nothing for all of them; Reason = there, missing or
	// open.
	ActReady Action = "ready"
)

// Actions lists all actions, in the order an operator meets them.
var Actions = []Action{
	ActArrive, ActSetup, ActFirstOff, ActRun, ActStop, ActCount, ActFinish, ActHold, ActFree,
	ActSplit, ActJoin, ActMove, ActSend, ActReceive, ActDecide, ActCorrect, ActUndo,
	ActOverride, ActDeliver, ActCancel, ActOn, ActOff, ActReady,
}

// Loss is a number of pieces that did not come out good, and why.
type Loss struct {
	Reason   string `json:"reason"`              // one of the shop's reasons
	N        int    `json:"n" api:"min=1"`       // pieces
	CausedAt Op     `json:"caused_at,omitempty"` // the operation that caused it, if not this one
}

// Measured is a dimension of a piece as it was found, against its nominal size and the
// limits of its tolerance: lower and upper limit deviations from it (ISO 286-1). All
// are in the unit.
type Measured struct {
	Dimension string  `json:"dimension"`
	Nominal   float64 `json:"nominal"`
	Lower     float64 `json:"lower"`
	Upper     float64 `json:"upper"`
	Found     float64 `json:"found"`
	Unit      string  `json:"unit,omitempty"` // mm if absent
}

// Beyond is how far what was found lies outside the tolerance: above 0 above it, below
// 0 below it, 0 within it.
func (m *Measured) Beyond() float64 {
	return max(0, m.Found-m.Nominal-m.Upper) + min(0, m.Found-m.Nominal-m.Lower)
}

func (m *Measured) wellFormed() bool {
	for _, x := range []float64{m.Nominal, m.Lower, m.Upper, m.Found} {
		if math.IsNaN(x) || math.Abs(x) > maxMeasured {
			return false
		}
	}
	return m.Dimension != "" && m.Lower <= m.Upper && CleanText(m.Dimension, MaxShort) &&
		CleanText(m.Unit, 20)
}

// Scan is one thing that someone or some device said. It is never changed once
// kept. Decide without For decides pieces under review (good, scrap, rework;
// reason concession with its reference as note). Override: For = add (operation,
// to = work centre), skip (operation), pieces, wanted, priority (pieces), hot
// (pieces 1 or 0), due (to = date), customer, order_line, lots (to; lots separated by
// commas).
type Scan struct {
	// UUID given by the device; the same scan sent again keeps it.
	ID ScanID `json:"id" api:"format=uuid"`
	// A station's own, whatever is sent; of others a name within their own: "press"
	// of the token "cell" is kept as "cell/press".
	Device   DeviceID   `json:"device,omitempty"`
	N        uint64     `json:"n,omitempty" api:"min=0"`              // the device's own counter; 0 = none
	At       time.Time  `json:"at"`                                   // the device's clock
	OffsetMS int64      `json:"offset_ms,omitempty"`                  // server's clock minus the device's, milliseconds
	WithinMS int64      `json:"within_ms,omitempty" api:"min=0"`      // possible error of offset_ms
	Basis    Seq        `json:"basis,omitempty" api:"min=0"`          // last sequence the device had seen
	Present  *bool      `json:"present,omitempty" api:"default=true"` // a person waits for the answer; only then can a scan be refused
	Happened *time.Time `json:"happened,omitempty"`                   // when it happened, if not now
	Station  string     `json:"station"`                              // a machine's short name or code; office for what is done at a desk
	// The batch's code, CODE/20, the card's URL, or the works order number; not needed
	// for on and off.
	Card     string   `json:"card"`
	Action   Action   `json:"action"`
	Operator PersonID `json:"operator,omitempty"` // badge code or clock number; kept and answered as the number

	Operation Op     `json:"operation,omitempty"`                  // operation number
	Visit     ScanID `json:"visit,omitempty" api:"format=uuid"`    // any scan of the visit meant
	Phase     string `json:"phase,omitempty" api:"enum=setup|run"` // which pieces are counted
	Good      *int   `json:"good,omitempty" api:"min=0"`           // pieces, added to what was counted before
	Scrap     []Loss `json:"scrap,omitempty"`
	Rework    []Loss `json:"rework,omitempty"`
	Review    []Loss `json:"review,omitempty"`
	Missing   *int   `json:"missing,omitempty" api:"min=0"`
	// What an inspector measured of a first-off or of a piece set aside.
	Measured []Measured `json:"measured,omitempty"`
	Reads    *int       `json:"reads,omitempty" api:"min=0"` // what the machine's counter shows
	// Pieces of split, send, receive, deliver or override; only a priority may be below 0.
	Pieces int    `json:"pieces,omitempty" api:"min=-1000"`
	To     string `json:"to,omitempty"` // place, work centre or date; see the action
	// Scan or question meant; for rework the operation that sent the pieces; for
	// override what is changed.
	For      string `json:"for,omitempty"`
	Reason   string `json:"reason,omitempty"`
	Anyway   bool   `json:"anyway,omitempty"` // said knowing that it does not fit
	Note     string `json:"note,omitempty"`
	Language string `json:"language,omitempty"`
}

// Office is the station of what is done at a desk rather than at a machine.
const Office = "office"

// FromLog is the reason of scans that were made of the rows of a log that a shop
// kept before. Each row of it is a stay of its own, and what was done anyway
// asks nobody any more: the import's report says it.
const FromLog = "from log"

// Importer is the name of the actor of what was imported.
const Importer = "import"

// AtDesk reports whether the scan was made in the office and needs no machine.
func (s *Scan) AtDesk() bool {
	if s.Station != Office {
		return false
	}
	switch s.Action {
	case ActDecide, ActCorrect, ActUndo, ActOverride, ActCancel, ActHold, ActFree, ActDeliver,
		ActSplit, ActJoin, ActReady:
		return true
	}
	return false
}

// IsPresent reports whether a person waits for the answer.
func (s *Scan) IsPresent() bool { return s.Present == nil || *s.Present }

// HasCounts reports whether the scan says any number of pieces by outcome.
func (s *Scan) HasCounts() bool {
	return s.Good != nil || s.Missing != nil || len(s.Scrap)+len(s.Rework)+len(s.Review) > 0
}

// Total is the number of pieces the scan counts, all outcomes together.
func (s *Scan) Total() int {
	return s.GoodPieces() + s.MissingPieces() + SumLosses(s.Scrap) + SumLosses(s.Rework) + SumLosses(s.Review)
}

// GoodPieces is the number counted as good, 0 if none was said.
func (s *Scan) GoodPieces() int { return deref(s.Good) }

// MissingPieces is the number reported missing, 0 if none was said.
func (s *Scan) MissingPieces() int { return deref(s.Missing) }

func deref(p *int) int {
	if p == nil {
		return 0
	}
	return *p
}

// SumLosses is the number of pieces of all the losses together.
func SumLosses(l []Loss) int {
	n := 0
	for _, x := range l {
		n += x.N
	}
	return n
}

// Limits of what a scan may say; no floor could produce more.
const (
	MaxPieces = 10_000_000
	// MaxPriority is the highest priority; the lowest is as far below 0.
	MaxPriority = 1000
	MaxText     = 500 // characters of a note
	MaxShort    = 120 // characters of a name, reason or reference
	MaxLosses   = 40
	// MaxMeasured is how many dimensions a scan may have.
	MaxMeasured = 20
	maxMeasured = 1e6
	// MaxClockErr is the largest offset that is believed. A tablet whose battery
	// was flat thinks it is the year 1970 or 2000; measured, its clock is as good as any.
	MaxClockErr = 100 * 366 * 24 * time.Hour
)

// FarClock is how far the clock of a device, put right, may be from the arrival
// of a scan that someone waits for.
const FarClock = 24 * time.Hour

// Clock is the time of the device's clock, put right by its offset.
func (s *Scan) Clock() time.Time { return s.At.Add(time.Duration(s.OffsetMS) * time.Millisecond) }

// WellFormed checks what can be checked without knowing the shop. A scan that
// is not well formed never reaches the record. The error is an *Error of
// KindInvalid that names the field.
func (s *Scan) WellFormed() error {
	switch {
	case !s.ID.Valid():
		return Invalid("id", "form.uuid")
	case s.At.IsZero() || s.At.Year() < 1970 || s.At.Year() > 9999:
		return Invalid("at", "form.time")
	case s.Happened != nil && (s.Happened.Year() < 2000 || s.Happened.Year() > 9999):
		return Invalid("happened", "form.time")
	case !s.Action.valid():
		return Invalid("action", "form.action")
	case s.Station == "":
		return Invalid("station", "form.missing")
	case s.Card == "" && s.Action != ActOn && s.Action != ActOff:
		return Invalid("card", "form.missing")
	case s.Phase != "" && s.Phase != "setup" && s.Phase != "run":
		return Invalid("phase", "form.phase")
	case s.Operation < 0 || s.Operation > MaxOp:
		return Invalid("operation", "form.number")
	case s.Visit != "" && !s.Visit.Valid():
		return Invalid("visit", "form.uuid")
	case s.Action == ActOverride && s.For == "due" && !dueInTime(s.To):
		return Invalid("to", "override.due", s.To)
	case absMS(s.OffsetMS) > MaxClockErr || s.WithinMS < 0 || absMS(s.WithinMS) > MaxClockErr:
		return Invalid("offset_ms", "form.number")
	}
	if err := s.numbers(); err != nil {
		return err
	}
	return s.texts()
}

// dueInTime reports whether a text is no date, which is for the floor to refuse, or one
// that anything can be due by.
func dueInTime(text string) bool {
	t, err := time.Parse(time.DateOnly, text)
	return err != nil || t.Year() >= 2000
}

func absMS(ms int64) time.Duration {
	const top = int64(MaxClockErr/time.Millisecond) + 1
	return time.Duration(min(max(ms, -ms), top)) * time.Millisecond
}

func (a Action) valid() bool {
	for _, x := range Actions {
		if a == x {
			return true
		}
	}
	return false
}

func (s *Scan) numbers() error {
	for _, f := range []struct {
		name string
		n    int
	}{{"good", s.GoodPieces()}, {"missing", s.MissingPieces()}, {"reads", deref(s.Reads)},
		{"pieces", s.Pieces}} {
		low, high := 0, MaxPieces
		if f.name == "pieces" && s.Action == ActOverride && s.For == "priority" {
			low, high = -MaxPriority, MaxPriority
		}
		if f.n < low || f.n > high {
			return Invalid(f.name, "form.number")
		}
	}
	if len(s.Measured) > MaxMeasured {
		return Invalid("measured", "form.number")
	}
	for i := range s.Measured {
		if !s.Measured[i].wellFormed() {
			return Invalid("measured", "form.measured")
		}
	}
	for _, f := range []struct {
		name string
		l    []Loss
	}{{"scrap", s.Scrap}, {"rework", s.Rework}, {"review", s.Review}} {
		if len(f.l) > MaxLosses {
			return Invalid(f.name, "form.number")
		}
		for _, x := range f.l {
			if x.N <= 0 || x.N > MaxPieces || x.CausedAt < 0 || x.CausedAt > MaxOp {
				return Invalid(f.name, "form.number")
			}
			if !CleanText(x.Reason, MaxShort) {
				return Invalid(f.name, "form.text")
			}
		}
	}
	return nil
}

func (s *Scan) texts() error {
	for _, f := range []struct {
		name, v string
		most    int
	}{
		{"station", s.Station, MaxShort}, {"card", s.Card, MaxShort}, {"device", string(s.Device), MaxShort},
		{"operator", string(s.Operator), MaxShort}, {"to", s.To, MaxShort}, {"for", s.For, MaxShort},
		{"reason", s.Reason, MaxShort}, {"note", s.Note, MaxText}, {"language", s.Language, 20},
	} {
		if !CleanText(f.v, f.most) {
			return Invalid(f.name, "form.text")
		}
	}
	return nil
}
