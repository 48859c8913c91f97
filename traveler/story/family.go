package story

import (
	"tallywalk/traveler"
	"time"
)

// Family is the story of the batches that are linked by split or join: the fold
// of their record. A Family is frozen: Add returns another one. All fields are
// for reading. versions.go says what versions share.
type Family struct {
	Root  traveler.Code
	Rules int

	Batches []Batch // the root first
	Visits  []Visit
	Spans   []Span
	Closed  []Span          // of runs and set-ups: what lies in time when the machine was closed
	Trips   []traveler.Trip // in the order they were made
	Lines   Lines           // every scan of the record, in the order things happened

	Refused []*traveler.Entry // scans refused when they were made, by sequence
	Settled []Settlement      // questions that someone answered

	misfits  []Question           // scans that do not fit; Questions adds what the numbers ask
	record   []*traveler.Entry    // by sequence
	events   []event              // by effective time
	route    []traveler.Operation // as released: an operation added on the floor orders nothing
	awaited  []traveler.ScanID    // scans that a control names and that have not come
	latest   time.Time            // the time of the event that happened last
	versions *versions
	open     bool // not all events are folded yet; nobody else has seen it
}

// Fate says what the story made of a scan.
type Fate string

// The fates of a scan.
const (
	FateStands    Fate = "told"      // it is part of the story
	FateAsked     Fate = "question"  // it does not fit and waits for a supervisor
	FateDropped   Fate = "dropped"   // a supervisor left it out
	FateUndone    Fate = "undone"    // taken back
	FateCorrected Fate = "corrected" // counted as someone corrected it
	FateElsewhere Fate = "elsewhere" // corrected to another card
	FateLapsed    Fate = "lapsed"    // about a question, or a thing that is needed, that does not stand any more
	FateRefused   Fate = "refused"   // refused when it was made
)

// Line is one scan in the story.
type Line struct {
	Entry     *traveler.Entry
	At        time.Time // when it happened, as far as is known
	Uncertain bool      // clocks could not say, or the time was moved to fit
	Fate      Fate
	Batch     int             // index in Batches; -1 = none
	Visit     int             // index in Visits; -1 = none
	By        traveler.ScanID // the undo, correction or decision that changed its fate
	Anyway    traveler.Msg    // what did not fit though it was said anyway
}

// Seqs lists the sequences of the family's record.
func (f *Family) Seqs() []traveler.Seq {
	out := make([]traveler.Seq, len(f.record))
	for i, e := range f.record {
		out[i] = e.Seq
	}
	return out
}

// Record is the family's entries by sequence.
func (f *Family) Record() []*traveler.Entry { return f.record }

// Index gives the place of a batch in Batches, or -1.
func (f *Family) Index(card traveler.Code) int {
	for i := range f.Batches {
		if f.Batches[i].Card == card {
			return i
		}
	}
	return -1
}

// Cards lists the codes of the family's batches.
func (f *Family) Cards() []traveler.Code {
	out := make([]traveler.Code, len(f.Batches))
	for i := range f.Batches {
		out[i] = f.Batches[i].Card
	}
	return out
}

// Last is when the last thing in the family's story happened.
func (f *Family) Last() time.Time {
	if f.latest.IsZero() && len(f.Batches) > 0 {
		return f.Batches[0].Released
	}
	return f.latest
}

// SpansOf lists the spans of one visit in order.
func (f *Family) SpansOf(visit int) []Span {
	var out []Span
	for _, s := range f.Spans {
		if s.Visit == visit {
			out = append(out, s)
		}
	}
	return out
}
