package measure

import (
	"bytes"
	"encoding/binary"
	"hash/maphash"
	"math"
	"time"

	"tallywalk/traveler/story"
)

// OnTime is how deliveries kept their dates: by order line, and by pieces. A
// line is on time when the pieces wanted had left by the end of its date; part
// deliveries count. Lines not yet due that are not yet complete are left out.
type OnTime struct {
	Lines, OnTimeLines   int
	Pieces, OnTimePieces int
	NoDate               int // batches without a due date: left out
}

// lineSum is one order line. It points nowhere, since a shop has hundreds of
// thousands of them in its years.
type lineSum struct {
	wanted, byDue, ever int
	due                 int64  // Unix milliseconds
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
		if l.byDue >= l.wanted {
			out.OnTimeLines++
		}
	}
	return out
}

func (l *lineSum) add(b *story.BatchFact, due time.Time) {
	l.wanted += b.Wanted
	l.due = max(l.due, due.UnixMilli())
	if len(b.Deliveries) == 0 && b.State == story.StateDone {
		l.ever += b.Good
		if !b.Ended.After(due) {
			l.byDue += b.Good
		}
	}
	for _, d := range b.Deliveries {
		l.ever += d.Pieces
		if !d.At.After(due) {
			l.byDue += d.Pieces
		}
	}
}
