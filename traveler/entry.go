package traveler

import (
	"strconv"
	"time"
)

// Outcome is how a scan was answered when it arrived.
type Outcome string

// The outcomes of a scan.
const (
	Kept       Outcome = "kept"
	Questioned Outcome = "question"
	Refused    Outcome = "refused"
)

// Release puts a batch on the floor.
type Release struct {
	ID           ScanID    `json:"id"`
	Part         string    `json:"part"`
	RouteRev     string    `json:"route_rev"`
	Pieces       int       `json:"pieces"`           // started
	Wanted       int       `json:"wanted,omitempty"` // 0 = as many as started
	Due          time.Time `json:"due,omitzero"`
	WorksOrder   string    `json:"works_order,omitempty"`
	Customer     string    `json:"customer,omitempty"`
	OrderLine    string    `json:"order_line,omitempty"`
	MaterialLots []string  `json:"material_lots,omitempty"`
	Priority     int       `json:"priority,omitempty"` // higher goes first among equal due dates
	Hot          bool      `json:"hot,omitempty"`      // goes before all that is not, whatever its due date
	Released     time.Time `json:"released,omitzero"`  // zero = on arrival
	MakesUp      Code      `json:"makes_up,omitempty"` // the batch that falls short, whose pieces this one makes up
}

// Entry is one line of the record. Exactly one of Scan, Release and Change is
// set, or none of them and Epoch: such an entry says that a copy of the record
// was put back and goes on from here. The names that the scan used are resolved
// on arrival, since what they mean may change later; the scan itself stays as it
// was said.
type Entry struct {
	Seq     Seq
	Arrived time.Time // the server's clock, UTC, whole milliseconds
	By      Actor
	Rules   int // number of the rules a released batch begins under

	Scan    *Scan
	Release *Release
	Change  *Change

	Outcome Outcome   // of a scan, as answered on arrival
	Say     Msg       // what was answered, if not simply kept
	Card    Code      // batch meant by the scan's card, or issued by a release
	Machine MachineID // machine meant by the scan's station
	Other   Code      // batch meant by a join's For, or issued by a split
	Target  Seq       // scan meant by an undo or correction; 0 = unknown
	Epoch   string    // names the record from here on: in the first entry, and in one that begins an epoch
	// NotBefore is when the scan's device last spoke before it: its clock may not
	// go back before that. Zero when it is not known.
	NotBefore time.Time
	// Clock is what the server's clock said when the entry arrived, where the record
	// was ahead of it and someone said that the clock was right; zero = Arrived.
	Clock time.Time
}

// Clocked is what the server's clock said when the entry arrived.
func (e *Entry) Clocked() time.Time {
	if e.Clock.IsZero() {
		return e.Arrived
	}
	return e.Clock
}

// ID is the id the entry was sent under, empty for a change of the shop.
func (e *Entry) ID() ScanID {
	switch {
	case e.Scan != nil:
		return e.Scan.ID
	case e.Release != nil:
		return e.Release.ID
	}
	return ""
}

// Begins reports whether the entry does nothing but begin an epoch.
func (e *Entry) Begins() bool {
	return e.Epoch != "" && e.Scan == nil && e.Release == nil && e.Change == nil
}

// Msg is a sentence for a person: a key of the catalogue and what to fill in.
type Msg struct {
	Key  string   `json:"key,omitempty"`
	Args []string `json:"args,omitempty"`
}

// WellFormed checks what can be checked of a release without knowing the shop. The
// error is of KindInvalid and names the field.
func (r *Release) WellFormed() error {
	switch {
	case !r.ID.Valid():
		return Invalid("id", "form.uuid")
	case r.Pieces < 1 || r.Pieces > MaxPieces:
		return Invalid("pieces", "release.pieces", strconv.Itoa(MaxPieces))
	case r.Wanted < 0 || r.Wanted > MaxPieces:
		return Invalid("wanted", "form.number")
	case r.Priority < -MaxPriority || r.Priority > MaxPriority:
		return Invalid("priority", "form.number")
	case len(r.MaterialLots) > MaxLosses:
		return Invalid("material_lots", "form.number")
	}
	for _, f := range []struct{ name, v string }{
		{"part", r.Part}, {"route_rev", r.RouteRev}, {"works_order", r.WorksOrder}, {"customer", r.Customer},
		{"order_line", r.OrderLine},
	} {
		if !CleanText(f.v, MaxShort) {
			return Invalid(f.name, "form.text")
		}
	}
	for _, l := range r.MaterialLots {
		if !CleanText(l, MaxShort) {
			return Invalid("material_lots", "form.text")
		}
	}
	return nil
}

// FromLog reports whether the entry is a scan that an import made of a row of an
// old log. Nobody else can say so of theirs.
func (e *Entry) FromLog() bool {
	return e != nil && e.Scan != nil && e.Scan.Reason == FromLog && e.By.Name == Importer &&
		e.By.Role == RoleAdministrator
}
