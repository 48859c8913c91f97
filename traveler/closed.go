package traveler

import (
	"slices"
	"strings"
	"time"

	"tallywalk/traveler/calendar"
)

// askedFrom is how long a stretch of closed time must be for somebody to be
// asked about it. A run that was left on over a break is cut without a word.
const askedFrom = time.Hour

// ClosedIn lists the closed stretches of a machine between two moments that a
// span of some kind cannot have gone on in: none where no calendar holds, or
// for the run of a machine that may run unattended.
func (s *Shop) ClosedIn(id MachineID, kind SpanKind, from, to time.Time) []calendar.Span {
	if kind != SpanRun && kind != SpanSetup {
		return nil
	}
	hours := s.Hours(id, from)
	if hours == nil || kind == SpanRun && s.Unattended(id, from) {
		return nil
	}
	return hours.Closed(from, to)
}

// shut finds the closed time in the runs and set-ups of a visit. A closed
// stretch in which somebody scanned the end of the span is none: somebody was
// there.
func (f *Family) shut(shop *Shop, visit int) {
	v := &f.Visits[visit]
	if shop.Hours(v.Machine, v.Arrived) == nil {
		return
	}
	f.Closed = slices.DeleteFunc(f.Closed, func(s Span) bool { return s.Visit == visit })
	for i := range f.Spans {
		s := &f.Spans[i]
		if s.Visit != visit {
			continue
		}
		to, said := s.To, true
		if to.IsZero() {
			to, said = v.Ended(), v.State == VisitFinished
		}
		if to.IsZero() {
			continue
		}
		for _, c := range shop.ClosedIn(v.Machine, s.Kind, s.From, to) {
			if said && !c.To.Before(to) {
				continue
			}
			f.Closed = append(f.Closed, Span{Visit: visit, Kind: s.Kind, From: c.From, To: c.To, Inferred: true})
		}
	}
}

// shutAll finds the closed time of the visits that an event touched.
func (f *Family) shutAll(shop *Shop, ev *event, visit int) {
	for i := range f.Visits {
		if i == visit || f.Visits[i].PassedBy.Equal(ev.at) {
			f.shut(shop, i)
		}
	}
}

// ClosedOf lists the stretches that the runs and set-ups of a visit did not go
// on in, because the machine was closed. None when somebody said that it worked.
func (f *Family) ClosedOf(visit int) []Span {
	var out []Span
	var total time.Duration
	for _, s := range f.Closed {
		if s.Visit == visit {
			out = append(out, s)
			total += s.To.Sub(s.From)
		}
	}
	if total == 0 || f.Visits[visit].Worked == total {
		return nil
	}
	return out
}

// closedQuestions asks about visits that were left on when the machine closed.
func (f *Family) closedQuestions() []Question {
	var out []Question
	for i := 0; i < len(f.Closed); {
		visit, long := f.Closed[i].Visit, false
		var total time.Duration
		first := f.Closed[i].From
		for ; i < len(f.Closed) && f.Closed[i].Visit == visit; i++ {
			d := f.Closed[i].To.Sub(f.Closed[i].From)
			total, long = total+d, long || d > askedFrom
		}
		if long {
			out = append(out, f.closedQuestion(visit, first, total))
		}
	}
	return out
}

func (f *Family) closedQuestion(visit int, first time.Time, total time.Duration) Question {
	v := &f.Visits[visit]
	b := &f.Batches[v.Batch]
	minutes := num(int(total / time.Minute))
	return Question{
		ID:   strings.Join([]string{"closed", string(b.Card), string(v.ID), minutes}, ":"),
		Kind: QuestionClosed, Card: b.Card, Operation: v.Operation, Scan: v.ID, At: first,
		Known:   Msg{Key: "closed", Args: []string{v.Operation.String(), string(v.Machine), minutes}},
		Choices: []string{ChoiceStood, ChoiceWorked},
	}
}

// worked takes the answer that a visit went on while its machine was closed.
func (f *Family) worked(id ScanID) {
	visit := f.visitOf(id)
	if visit < 0 {
		return
	}
	v := &f.Visits[visit]
	v.Worked = 0
	for _, s := range f.Closed {
		if s.Visit == visit {
			v.Worked += s.To.Sub(s.From)
		}
	}
}
