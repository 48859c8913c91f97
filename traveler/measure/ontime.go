package measure

import (
	"bytes"
	"encoding/binary"
	"hash/maphash"
	"math"
	"time"

	"tallywalk/traveler/story"
)

// OnTime is how deliveries kept their dates: by order line, and by pieces. Late
// and short are two figures: a line is in full and on time when the pieces
// wanted had left by the end of its date, part deliveries counting; late when a
// piece left after it, or is still here; short when fewer than wanted ever left
// though nothing of it is on the floor. Lines not yet due that are not yet
// complete are left out. Always
//
//	Lines = InFull + Late + Short - LateShort
type OnTime struct {
	Lines                int
	InFull               int // by its date, all that was wanted
	Late, Short          int
	LateShort            int // lines that are both
	Pieces, OnTimePieces int
	NoDate               int // batches without a due date: left out
}

// ByDate is the lines of which nothing was late, short or not.
func (o *OnTime) ByDate() int { return o.Lines - o.Late }

// lineSum is one order line. It points nowhere, since a shop has hundreds of
// thousands of them in its years.
type lineSum struct {
	wanted, byDue, ever int
	due                 int64  // Unix milliseconds
	open                int32  // batches that are on the floor
	late                bool   // a piece left after its date
	name                uint32 // where its name begins; it ends where the next one's begins
	other               int32  // the line before with the same hash, counted from 1; 0 = none
}

// OnTimes adds up batches by order line: works order, line and part. A batch
// without a works order is a line of its own.
type OnTimes struct {
	// DueEnd gives the end of a due date in the shop's zone.
	DueEnd func(time.Time) time.Time
	noDate int
	lines  []lineSum
	names  []byte           // of the lines, one after the other
	at     map[uint64]int32 // hash of a name -> the newest line that has it, counted from 1
	seed   maphash.Seed
	name   []byte // of the batch at hand
}

// Add counts a batch.
func (s *OnTimes) Add(b *story.BatchFact) {
	if b.State == story.StateCancelled {
		return
	}
	if b.Due.IsZero() {
		s.noDate++
		return
	}
	s.line(b).add(b, s.DueEnd(b.Due))
}

// line is the line of a batch, a new one if there is none yet.
func (s *OnTimes) line(b *story.BatchFact) *lineSum {
	card := ""
	if b.Order == "" {
		card = string(b.Card)
	}
	s.name = s.name[:0]
	for _, text := range [...]string{b.Order, b.Line, b.Part, card} {
		s.name = append(binary.AppendUvarint(s.name, uint64(len(text))), text...)
	}
	if s.at == nil {
		s.at, s.seed = map[uint64]int32{}, maphash.MakeSeed()
	}
	hash := maphash.Bytes(s.seed, s.name)
	first := s.at[hash]
	for i := first; i != 0; i = s.lines[i-1].other {
		if bytes.Equal(s.nameOf(int(i-1)), s.name) {
			return &s.lines[i-1]
		}
	}
	s.lines = append(s.lines, lineSum{due: math.MinInt64, name: uint32(len(s.names)), other: first})
	s.names = append(s.names, s.name...)
	s.at[hash] = int32(len(s.lines))
	return &s.lines[len(s.lines)-1]
}

func (s *OnTimes) nameOf(i int) []byte {
	if i+1 < len(s.lines) {
		return s.names[s.lines[i].name:s.lines[i+1].name]
	}
	return s.names[s.lines[i].name:]
}

// Result is how the lines stand now.
func (s *OnTimes) Result(now time.Time) OnTime {
	out := OnTime{NoDate: s.noDate}
	for i := range s.lines {
		l := &s.lines[i]
		if l.wanted == 0 || l.ever < l.wanted && now.UnixMilli() < l.due {
			continue
		}
		out.Lines++
		out.Pieces += l.wanted
		out.OnTimePieces += min(l.wanted, l.byDue)
		short := l.ever < l.wanted && l.open == 0
		late := l.byDue < l.wanted && (l.late || l.open > 0)
		switch {
		case l.byDue >= l.wanted:
			out.InFull++
		case late && short:
			out.Late, out.Short, out.LateShort = out.Late+1, out.Short+1, out.LateShort+1
		case late:
			out.Late++
		default:
			out.Short++
		}
	}
	return out
}

func (l *lineSum) add(b *story.BatchFact, due time.Time) {
	l.wanted += b.Wanted
	l.due = max(l.due, due.UnixMilli())
	left := func(pieces int, at time.Time) {
		l.ever += pieces
		if at.After(due) {
			l.late = l.late || pieces > 0
			return
		}
		l.byDue += pieces
	}
	if b.Ended.IsZero() {
		l.open++
	}
	if len(b.Deliveries) == 0 && b.State == story.StateDone {
		left(b.Good, b.Ended)
	}
	for _, d := range b.Deliveries {
		left(d.Pieces, d.At)
	}
}
