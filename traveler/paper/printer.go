package paper

import (
	"context"
	"fmt"
	"math"
	"strconv"
)

// Printers is how printers on the network are asked and given work. What fails is a
// Refusal when the printer said no, and Unsent or Lost as each method says.
type Printers interface {
	// Ask asks a printer what it is and how it is. It fails with a Refusal, and as the
	// network does when nothing answers that speaks as a printer does.
	Ask(ctx context.Context, at Address) (*Printer, error)
	// Send gives a printer a document. made is called with the printer's number of the
	// job before anything of the document goes out, and Send fails as it does. It fails
	// with a Refusal; with Unsent when the document did not go out whole; with Lost when
	// it did, and the answer did not come.
	Send(ctx context.Context, at Address, d *Document, made func(job int) error) (job int, err error)
	// Find looks for a document by its name, as IsJob compares it, among all the printer's
	// jobs; job is 0 when there is none. It fails as Ask does.
	Find(ctx context.Context, at Address, name string) (job int, err error)
	// Look asks how a job is. A job that the printer does not know, or knows under
	// another name, is StageUnsure. It fails as Ask does.
	Look(ctx context.Context, at Address, job int, name string) (Progress, error)
	// Cancel takes a job back. It fails as Ask does; a job that has ended is a Refusal.
	Cancel(ctx context.Context, at Address, job int) error
}

// Address is where a printer is found: ipp://host[:port][/path], or ipps for TLS.
type Address struct {
	URI string
	// Key is the SHA-256 of the certificate that the printer showed when it was added,
	// in hexadecimal; empty takes any. Only for ipps.
	Key string
}

// Document is a PDF to print, and the paper it is for.
type Document struct {
	Name       string // of the job at the printer, from JobName
	By         string // who asked for it
	PDF        []byte
	Wide, High float64 // of its first page, mm
}

// Printer is what a printer says of itself.
type Printer struct {
	Model    string
	Location string
	Formats  []string // media types of documents it takes
	Media    []Media  // paper that it can be given
	Ready    []Media  // paper that is in it now
	Stopped  bool
	Accepts  bool // jobs
	Troubles []Trouble
	Message  string // in the printer's own words
	Up       int    // seconds since it was switched on; 0 when it does not say
	Key      string // SHA-256 of its certificate, in hexadecimal; empty without TLS
}

// Media is a kind of paper, as PWG 5101.1 names it; a range of sizes has both ends.
type Media struct {
	Name       string
	Wide, High float64 // mm
	// MaxWide and MaxHigh are above 0 when the printer takes any size from Wide by High
	// up to them.
	MaxWide, MaxHigh float64
}

// Trouble is what hinders a printer.
type Trouble string

// The troubles, the worst first; the last four do not stop a printer.
const (
	TroubleJam      Trouble = "jam"
	TroubleOpen     Trouble = "open"      // a cover or door
	TroublePaperOut Trouble = "paper-out" // nothing in the tray
	TroubleMedia    Trouble = "media"     // other paper than it needs
	TroubleTray     Trouble = "tray"      // a tray is missing
	TroubleFull     Trouble = "full"      // what it printed is not taken away
	TroubleInk      Trouble = "ink"       // toner or ink has run out
	TroubleSpool    Trouble = "spool"     // its memory is full
	TroublePaused   Trouble = "paused"    // someone stopped it at the printer
	TroubleOff      Trouble = "off"       // does not answer, or is going off
	TroubleBusy     Trouble = "busy"      // takes no job at the moment
	TroubleAccess   Trouble = "access"    // wants a name and a password
	TroubleFormat   Trouble = "format"    // takes no PDF
	TroubleKey      Trouble = "key"       // shows another certificate than before
	TroubleRefused  Trouble = "refused"   // for a reason that only its own words give
	TroublePaperLow Trouble = "paper-low"
	TroubleInkLow   Trouble = "ink-low"
	TroubleFullSoon Trouble = "full-soon"
	TroubleOther    Trouble = "other" // it names one that is not in this list
)

// Light reports whether a printer prints on in spite of a trouble.
func (t Trouble) Light() bool {
	switch t {
	case TroublePaperLow, TroubleInkLow, TroubleFullSoon, TroubleOther:
		return true
	}
	return false
}

// Passing reports whether a trouble may be over by itself or by a hand at the printer,
// so that a document is worth sending again.
func (t Trouble) Passing() bool {
	switch t {
	case TroubleAccess, TroubleFormat, TroubleMedia, TroubleKey, TroubleRefused:
		return false
	}
	return true
}

// Stage is how far a document has come.
type Stage string

// The stages.
const (
	StageWaiting   Stage = "waiting"   // to be sent
	StageSending   Stage = "sending"   // it may be at the printer
	StageQueued    Stage = "queued"    // the printer has it, others go before
	StagePrinting  Stage = "printing"  // it comes out, or stops on the way
	StageDone      Stage = "done"      // the printer says that it is printed
	StageFailed    Stage = "failed"    // it will not be printed
	StageCancelled Stage = "cancelled" // by someone
	StageUnsure    Stage = "unsure"    // the printer has forgotten it: someone must look whether it came out
)

// Ended reports whether nothing more becomes of a document by itself.
func (s Stage) Ended() bool {
	switch s {
	case StageDone, StageFailed, StageCancelled, StageUnsure:
		return true
	}
	return false
}

// Progress is how a job is at its printer.
type Progress struct {
	Stage    Stage
	Troubles []Trouble // of the job and its printer, the worst first
	Sheets   int       // that have come out, as the printer counts
	Message  string    // in the printer's own words
}

// Refusal is a printer's no.
type Refusal struct {
	Trouble Trouble
	Message string // in the printer's own words; may be empty
	Code    int    // status code of RFC 8011, 0 when the refusal is not the printer's own
}

// Error says it for a log; people are shown the trouble in their language.
func (r *Refusal) Error() string {
	s := "the printer refused: " + string(r.Trouble)
	if r.Message != "" {
		s += " (" + r.Message + ")"
	}
	return s
}

// Unsent says that a document did not go out whole, so that it cannot have been printed.
type Unsent struct{ Err error }

// Error says why.
func (e *Unsent) Error() string { return "not sent: " + e.Err.Error() }

// Unwrap gives the network's error.
func (e *Unsent) Unwrap() error { return e.Err }

// Lost says that a document went out whole, and no answer came.
type Lost struct{ Err error }

// Error says why.
func (e *Lost) Error() string { return "sent, and not answered: " + e.Err.Error() }

// Unwrap gives the network's error.
func (e *Lost) Unwrap() error { return e.Err }

// Takes reports whether a printer can be given paper of a size, to within a millimetre.
func (p *Printer) Takes(wide, high float64) bool { return MediaFor(p.Media, wide, high) != "" }

// MediaFor is the name under which a size is known among kinds of paper, to within a
// millimetre; "" when it is not.
func MediaFor(all []Media, wide, high float64) string {
	near := func(a, b float64) bool { return math.Abs(a-b) <= 1 }
	for _, m := range all {
		if m.MaxWide == 0 && near(m.Wide, wide) && near(m.High, high) {
			return m.Name
		}
	}
	mm := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	for _, m := range all {
		if m.MaxWide > 0 && wide >= m.Wide-0.5 && wide <= m.MaxWide+0.5 && high >= m.High-0.5 &&
			high <= m.MaxHigh+0.5 {
			return fmt.Sprintf("custom_%sx%s_%[1]sx%[2]smm", mm(wide), mm(high))
		}
	}
	return ""
}

// Sizes are the names of the sizes of paper.
var Sizes = []string{"A5", "A4", "A4x2", "100x50", "100x150", "62"}

// SizeOf gives the measures of a size of paper by its name, in mm; ok is false for none.
func SizeOf(name string) (wide, high float64, ok bool) {
	switch name {
	case "A5":
		return 148, 210, true
	case "A4", "A4x2":
		return 210, 297, true
	case "100x50":
		return 100, 50, true
	case "100x150":
		return 100, 150, true
	case "62":
		return 62, 100, true
	}
	return 0, 0, false
}
