package oldlog

import (
	"slices"
	"time"
)

// Kind says what a row's time was spent on.
type Kind string

// The kinds of row.
const (
	Run   Kind = "run"
	Setup Kind = "setup"
	Stop  Kind = "stop" // a breakdown, or another reason for which it stood
)

// Row is a stretch of work as the log has it, its times known and its numbers
// whole.
type Row struct {
	Line           int
	Batch          string
	Part, PartName string
	Operation      string // as the log names it
	Machine        string
	Person         string
	Reason         string // of scrap, rework and review, or of a stop
	Kind           Kind
	Start, End     time.Time // zero when the log does not say
	Good, Scrap    int
	Rework, Review int
	Pieces         int    // of the whole batch; 0 when the log does not say
	key            string // all that it says, and which of those that say the same it is
}

func (r *Row) counted() int { return r.Good + r.Scrap + r.Rework + r.Review }

// mostLines is how many lines of each oddity are named.
const mostLines = 8

// Odd is something odd in a log: how often, and the first lines.
type Odd struct {
	What  string
	N     int
	Lines []int
}

// Oddities are what was odd, in the order in which it was found.
type Oddities struct{ list []*Odd }

// Add notes that something is odd in a line.
func (o *Oddities) Add(what string, line int) {
	i := slices.IndexFunc(o.list, func(x *Odd) bool { return x.What == what })
	if i < 0 {
		i = len(o.list)
		o.list = append(o.list, &Odd{What: what})
	}
	x := o.list[i]
	x.N++
	if len(x.Lines) < mostLines && (len(x.Lines) == 0 || x.Lines[len(x.Lines)-1] != line) {
		x.Lines = append(x.Lines, line)
	}
}

// All lists what was odd, each kind with the lines in order.
func (o *Oddities) All() []Odd {
	out := make([]Odd, len(o.list))
	for i, x := range o.list {
		out[i] = Odd{x.What, x.N, slices.Sorted(slices.Values(x.Lines))}
	}
	return out
}

// Count is how often something was found.
func (o *Oddities) Count(what string) int {
	for _, x := range o.list {
		if x.What == what {
			return x.N
		}
	}
	return 0
}

// What can be odd about rows, and what is made of it.
const (
	NoBatch      = "have no batch and are left out"
	NoPlace      = "name neither operation nor machine and are left out"
	NoOperation  = "name no operation; the machine's name is taken"
	NoMachine    = "name no machine; the operation's name is taken"
	NoTime       = "have no time that can be read and are left out"
	NoStart      = "have no start; they count as no time, at their end"
	NoEnd        = "have no end; they count as no time, at their start"
	Backward     = "end before they start; they count as no time, at their start"
	Zero         = "end when they start"
	Twice        = "stand there twice, word for word; they are taken once"
	TwiceKept    = "stand there twice, word for word; each is taken"
	Overlap      = "overlap another row of the same batch; each counts for itself"
	SetupPieces  = "count pieces while setting up; they count as set-up pieces"
	Fraction     = "have a fraction of a piece; it is rounded"
	Negative     = "have fewer than no pieces; that number is left out"
	NoNumber     = "have a number of pieces that cannot be read; it is left out"
	TwoWays      = "have a number with a comma before three digits, taken for a decimal comma; say decimal in the mapping"
	NoKind       = "have a kind that the mapping does not name; they count as production"
	ReworkWord   = "are marked as rework; their time and pieces count like others"
	OtherPart    = "name another part than the batch's first row; the first one stands"
	OtherPieces  = "name another number of pieces than an earlier row of the batch; the largest is taken"
	HourTwice    = "lie in an hour that came twice; the first one is taken that fits"
	HourNever    = "lie in an hour that the clock left out; they count an hour later"
	Future       = "lie in the future and are left out"
	Ancient      = "lie before the year 2000 and are left out"
	TooLost      = "count more scrap than the batch has pieces left; what is too much is left out"
	StopPieces   = "count pieces while standing; they are left out"
	StopPlace    = "are stops at an operation that the batch never did; they are counted at the one that it did there"
	TooMany      = "count more pieces than a batch can have; that number is left out"
	Unordered    = "start before the row above them; they are put in order"
	AgainstRoute = "do an operation again after a later one was begun"
)
