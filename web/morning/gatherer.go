package morning

import (
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
)

// gatherer gathers what happened since a moment, family by family.
type gatherer struct {
	shop  *traveler.Shop
	from  time.Time
	now   time.Time
	today string
	open  map[traveler.Code]morningLine // batches that are not done
	v     morningView
}

// lineOf is a line about a batch.
func lineOf(b *story.Batch) morningLine {
	return morningLine{
		Card: b.Card, Order: b.Order, Part: b.Part, Customer: b.Customer, Due: ask.Date(b.Due), Hot: b.Hot,
	}
}

// add gathers what became of a family.
func (m *gatherer) add(f *story.Family) {
	for i := range f.Batches {
		m.standing(f, i)
	}
	for i := range f.Visits {
		m.visit(f, &f.Visits[i], i)
	}
	if f.Last().Before(m.from) {
		return
	}
	for i := range f.Batches {
		m.left(f, i)
	}
	m.said(f)
}

// standing is how a batch stands now: held, late, short.
func (m *gatherer) standing(f *story.Family, i int) {
	b, state := &f.Batches[i], f.State(i)
	if short := f.Short(i); short > 0 {
		l := lineOf(b)
		l.Pieces = short
		m.v.Short.put(l)
	}
	if state == story.StateDone || state == story.StateCancelled {
		return
	}
	l := lineOf(b)
	if m.open == nil {
		m.open = map[traveler.Code]morningLine{}
	}
	m.open[b.Card] = l
	if l.Due != "" && l.Due < m.today {
		l.At = ask.Moment(b.Due)
		m.v.Late.put(l)
		l.At = nil
	}
	if b.Held {
		at := heldSince(f, i)
		l.At, l.Reason, l.New = ask.Moment(at), b.HeldReason, !at.Before(m.from)
		m.v.Held.put(l)
	}
}

// heldSince is when a batch that is held was put on hold; zero where that can't be known.
func heldSince(f *story.Family, batch int) time.Time {
	for _, l := range f.Lines.Backward() {
		scan := l.Entry.Scan
		if l.Batch == batch && l.Fate == story.FateStands && scan != nil && scan.Action == traveler.ActHold {
			return l.At
		}
	}
	return time.Time{}
}

// visit is what a visit adds: an operation that ended, a stop that goes on, a run in closed
// time.
func (m *gatherer) visit(f *story.Family, v *story.Visit, n int) {
	end := v.Ended()
	if !end.IsZero() && end.Before(m.from) {
		return
	}
	if !end.IsZero() && v.ReworkFor == 0 {
		m.v.Operations++
	}
	stopped := v.Open() && v.State == story.VisitStopped
	alone := m.shop.Unattended(v.Machine, m.now)
	if !stopped && !alone {
		return
	}
	spans := f.SpansOf(n)
	for k := range spans {
		s := &spans[k]
		switch {
		case stopped && s.Kind == story.SpanStop && s.To.IsZero():
			l := m.at(f, v)
			l.At, l.Reason, l.New = ask.Moment(s.From), s.Reason, !s.From.Before(m.from)
			m.v.Stopped.put(l)
		case alone && s.Kind == story.SpanRun:
			m.ranAlone(f, v, s, spans[k+1:])
		}
	}
}

// at is a line about a visit.
func (m *gatherer) at(f *story.Family, v *story.Visit) morningLine {
	l := lineOf(&f.Batches[v.Batch])
	l.Operation, l.Machine = v.Operation, v.Machine
	return l
}

// longBreak is how long the shop is closed at least for a machine to have run unattended
// rather than through a break.
const longBreak = time.Hour

// ranAlone notes a run that went on while its machine's hours were over, and what ended it.
func (m *gatherer) ranAlone(f *story.Family, v *story.Visit, run *story.Span, after []story.Span) {
	to := run.To
	if to.IsZero() {
		to = m.now
	}
	from := run.From
	if from.Before(m.from) {
		from = m.from
	}
	if !to.After(from) || !m.shut(v.Machine, from, to) {
		return
	}
	l := m.at(f, v)
	l.At, l.Until = ask.Moment(run.From), ask.Moment(run.To)
	if len(after) > 0 && after[0].Kind == story.SpanStop && !run.To.IsZero() {
		l.Reason = after[0].Reason
	}
	m.v.Unattended.put(l)
}

// shut reports whether a machine's hours were over at some time between two moments, breaks
// apart.
func (m *gatherer) shut(id traveler.MachineID, from, to time.Time) (shut bool) {
	m.shop.EachHours(id, from, to, func(h *calendar.Hours, a, b time.Time) {
		if h == nil {
			return
		}
		for _, c := range h.Closed(a.Add(-longBreak), b.Add(longBreak)) {
			shut = shut || c.To.Sub(c.From) > longBreak && c.From.Before(b) && c.To.After(a)
		}
	})
	return shut
}

// left is what left since: a batch that was finished, and deliveries.
func (m *gatherer) left(f *story.Family, i int) {
	b := &f.Batches[i]
	for _, d := range b.Deliveries {
		if !d.At.Before(m.from) {
			l := lineOf(b)
			l.At, l.Pieces, l.Reason = ask.Moment(d.At), d.Pieces, d.Note
			m.v.Shipped.put(l)
		}
	}
	if f.State(i) != story.StateDone || b.Joined != "" {
		return
	}
	var end time.Time
	for k := range f.Visits {
		if v := &f.Visits[k]; v.Batch == i && v.Ended().After(end) {
			end = v.Ended()
		}
	}
	if !end.IsZero() && !end.Before(m.from) {
		l := lineOf(b)
		l.At, l.Pieces = ask.Moment(end), f.Sum(i).Good
		m.v.Finished.put(l)
	}
}

// loss is one kind of scrap of a batch.
type loss struct {
	batch  int
	op     traveler.Op
	at     traveler.MachineID
	reason string
}

// said is what was said since: first-offs that were refused, and scrap.
func (m *gatherer) said(f *story.Family) {
	since := map[traveler.ScanID]time.Time{}
	for _, l := range f.Lines.Backward() {
		if l.At.Before(m.from) {
			break
		}
		scan := l.Entry.Scan
		if scan == nil || l.Batch < 0 {
			continue
		}
		since[scan.ID] = l.At
		if scan.Action == traveler.ActFirstOff && l.Fate == story.FateStands && l.Visit >= 0 {
			m.verdict(f, scan, l)
		}
	}
	m.scrap(f, since)
}

// verdict notes a first-off that did not pass. One that passed may say of a set-up piece,
// too, that it is scrap.
func (m *gatherer) verdict(f *story.Family, scan *traveler.Scan, at *story.Line) {
	if scan.GoodPieces() > 0 {
		return
	}
	for _, losses := range [][]traveler.Loss{scan.Scrap, scan.Rework, scan.Review} {
		if len(losses) > 0 {
			l := m.at(f, &f.Visits[at.Visit])
			l.At, l.Reason = ask.Moment(at.At), losses[0].Reason
			m.v.Refused.put(l)
			return
		}
	}
}

// scrap adds up the pieces that became scrap by what was said since, for each operation,
// machine and reason.
func (m *gatherer) scrap(f *story.Family, since map[traveler.ScanID]time.Time) {
	var order []loss
	sums := map[loss]*morningLine{}
	put := func(k loss, x *story.LossAt, scan traveler.ScanID) {
		at, recent := since[scan]
		if x.Outcome != "scrap" || !recent {
			return
		}
		l := sums[k]
		if l == nil {
			of := lineOf(&f.Batches[k.batch])
			of.Operation, of.Machine, of.Reason = k.op, k.at, k.reason
			l, order = &of, append(order, k)
			sums[k] = l
		}
		l.Pieces += x.N
		if l.At == nil || at.After(*l.At) {
			l.At = ask.Moment(at)
		}
	}
	for i := range f.Visits {
		v := &f.Visits[i]
		for k := range v.Losses {
			x := &v.Losses[k]
			put(loss{v.Batch, v.Operation, v.Machine, x.Reason}, x, x.Scan)
		}
	}
	for i := range f.Batches {
		for _, d := range f.Batches[i].Decisions {
			for k := range d.Losses {
				x := &d.Losses[k]
				put(loss{i, d.Operation, "", x.Reason}, x, d.Scan)
			}
		}
	}
	for _, k := range order {
		m.v.Scrapped.put(*sums[k])
	}
}
