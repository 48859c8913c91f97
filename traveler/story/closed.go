package story

import (
	"slices"
	"strings"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
)

// askedFrom is how long a stretch of closed time must be for someone to be
// asked about it. A run that was left on over a break is cut without a word.
const askedFrom = time.Hour

// byHand is how long someone can have been at a machine in closed time between
// two scans: a long turn.
const byHand = 8 * time.Hour

// closedIn lists the closed stretches of a machine between two moments that a
// span of some kind may not have gone on in: none where no calendar holds, or
// for the run of a machine that may run unattended. Each calendar counts for as
// long as it held.
func closedIn(s *traveler.Shop, id traveler.MachineID, kind SpanKind,
	from, to time.Time) (out []calendar.Span) {
	if kind != SpanRun && kind != SpanSetup {
		return nil
	}
	s.EachHours(id, from, to, func(hours *calendar.Hours, a, b time.Time) {
		if hours == nil || kind == SpanRun && s.Unattended(id, a) {
			return
		}
		for _, c := range hours.Closed(a, b) {
			if n := len(out); n > 0 && out[n-1].To.Equal(c.From) {
				out[n-1].To = c.To
			} else {
				out = append(out, c)
			}
		}
	})
	return out
}

// ClosedWhile lists the closed stretches between two moments in which a visit
// did not go on. Scans made in closed time show that someone was there: between
// two of them the work went on for a turn at most; before the first and after
// the last, for an hour.
func (f *Family) ClosedWhile(shop *traveler.Shop, visit int, kind SpanKind,
	from, to time.Time) []calendar.Span {
	return f.closedWhile(shop, visit, kind, from, to, time.Time{})
}

// closedWhile does so while a scan of the visit is being folded; zero = none.
func (f *Family) closedWhile(shop *traveler.Shop, visit int, kind SpanKind,
	from, to, now time.Time) (out []calendar.Span) {
	var seen []time.Time
	for _, c := range closedIn(shop, f.Visits[visit].Machine, kind, from, to) {
		if seen == nil {
			seen = append(slices.Clip(f.Visits[visit].seen), now)
		}
		out = append(out, idle(c, seen)...)
	}
	return out
}

// idle cuts a closed stretch into what nobody can have worked in.
func idle(c calendar.Span, seen []time.Time) (out []calendar.Span) {
	at, there := c.From, false
	step := func(t time.Time, here bool) {
		most := time.Duration(0)
		switch {
		case there && here:
			most = byHand
		case there || here:
			most = askedFrom
		}
		if t.Sub(at) > most {
			out = append(out, calendar.Span{From: at, To: t})
		}
		at, there = t, here
	}
	for _, t := range seen {
		switch {
		case t.Before(c.From) || t.After(c.To):
		case t.Equal(c.From):
			there = true
		default:
			step(t, true)
		}
	}
	if at.Before(c.To) {
		step(c.To, false)
	}
	return out
}

// cutClosed finds the closed time in the runs and set-ups of a visit; now is the
// moment of its scan that is being folded.
func (f *Family) cutClosed(shop *traveler.Shop, visit int, now time.Time) {
	v := &f.Visits[visit]
	if shop.NoCalendar() {
		return
	}
	first := f.firstToCut(visit, now)
	if first == len(f.Spans) {
		return
	}
	f.reopen(visit, f.Spans[first].From)
	for i := first; i < len(f.Spans); i++ {
		s := &f.Spans[i]
		if s.Visit != visit {
			continue
		}
		to := s.To
		if to.IsZero() {
			to = v.Ended()
		}
		if to.IsZero() {
			continue
		}
		for _, c := range f.closedWhile(shop, visit, s.Kind, s.From, to, now) {
			f.Closed = append(f.Closed,
				Span{Visit: visit, Kind: s.Kind, From: c.From, To: c.To, Inferred: true})
		}
	}
}

// firstToCut is the first span of a visit whose closed time a scan at some
// moment can change: one far before it has ended, and nobody was seen in it. It
// is the number of spans when the visit has none.
func (f *Family) firstToCut(visit int, now time.Time) int {
	if now.IsZero() {
		now = f.Visits[visit].Ended()
	}
	first := len(f.Spans)
	for i := len(f.Spans) - 1; i >= 0; i-- {
		s := &f.Spans[i]
		if s.Visit != visit {
			continue
		}
		if !s.To.IsZero() && s.To.Before(now.Add(-2*maxError)) {
			break
		}
		first = i
	}
	return first
}

// reopen drops the closed stretches of a visit from some moment on. Those
// before it stay, together, as the last ones.
func (f *Family) reopen(visit int, from time.Time) {
	var before []Span
	f.Closed = slices.DeleteFunc(f.Closed, func(s Span) bool {
		if s.Visit == visit && s.From.Before(from) {
			before = append(before, s)
		}
		return s.Visit == visit
	})
	f.Closed = append(f.Closed, before...)
}

// cutAllClosed finds the closed time of the visits that an event touched.
func (f *Family) cutAllClosed(shop *traveler.Shop, ev *event, visit int) {
	for i := range f.Visits {
		switch {
		case i == visit:
			f.cutClosed(shop, i, ev.at)
		case f.Visits[i].PassedBy.Equal(ev.at):
			f.cutClosed(shop, i, time.Time{})
		}
	}
}

// ClosedOf lists the stretches that the runs and set-ups of a visit did not go
// on in, because the machine was closed. None when someone said that it worked.
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
		Known: traveler.Msg{Key: "closed",
			Args: []string{v.Operation.String(), string(v.Machine), hoursAndMinutes(total)}},
		Choices: []string{ChoiceStood, ChoiceWorked},
	}
}

// hoursAndMinutes says a span as a shop does: 8 h, 8 h 20 min, 20 min.
func hoursAndMinutes(d time.Duration) string {
	m := int(d.Round(time.Minute) / time.Minute)
	switch h := m / 60; {
	case h == 0:
		return num(m) + " min"
	case m%60 == 0:
		return num(h) + " h"
	default:
		return num(h) + " h " + num(m%60) + " min"
	}
}

// worked takes the answer that a visit went on while its machine was closed.
func (f *Family) worked(id traveler.ScanID) {
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
