package measure

import (
	"time"

	"tallywalk/traveler"
)

// OnTime is how deliveries kept their dates: by order line, and by pieces. A
// line is on time when the pieces wanted had left by the end of its date; part
// deliveries count. Lines not yet due that are not yet complete are left out.
type OnTime struct {
	Lines, OnTimeLines   int
	Pieces, OnTimePieces int
	NoDate               int // batches without a due date: left out
}

type orderLine struct{ order, line, part, card string }

type lineSum struct {
	wanted, byDue, ever int
	due                 time.Time
}

// OnTimes adds up batches by order line: works order, line and part. A batch
// without a works order is a line of its own.
type OnTimes struct {
	// DueEnd gives the end of a due date in the shop's zone.
	DueEnd func(time.Time) time.Time
	noDate int
	lines  []lineSum
	at     map[orderLine]int
}

// Add counts a batch.
func (s *OnTimes) Add(b *traveler.BatchFact) {
	if b.State == traveler.StateCancelled {
		return
	}
	if b.Due.IsZero() {
		s.noDate++
		return
	}
	k := orderLine{order: b.Order, line: b.Line, part: b.Part}
	if b.Order == "" {
		k.card = string(b.Card)
	}
	i, ok := s.at[k]
	if !ok {
		if s.at == nil {
			s.at = map[orderLine]int{}
		}
		i = len(s.lines)
		s.at[k] = i
		s.lines = append(s.lines, lineSum{})
	}
	s.lines[i].add(b, s.DueEnd)
}

// Result is how the lines stand now.
func (s *OnTimes) Result(now time.Time) OnTime {
	out := OnTime{NoDate: s.noDate}
	for i := range s.lines {
		l := &s.lines[i]
		if l.wanted == 0 || l.ever < l.wanted && now.Before(l.due) {
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

func (l *lineSum) add(b *traveler.BatchFact, dueEnd func(time.Time) time.Time) {
	due := dueEnd(b.Due)
	l.wanted += b.Wanted
	if due.After(l.due) {
		l.due = due
	}
	if len(b.Deliveries) == 0 && b.State == traveler.StateDone {
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
