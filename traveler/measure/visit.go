package measure

import (
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
	"tallywalk/traveler/ground"
	"tallywalk/traveler/story"
)

// Visit gives the facts of one visit. Spans that still last go up to now.
func (m *Meter) Visit(f *story.Family, visit int) story.VisitFact {
	v := &f.Visits[visit]
	out := story.VisitFact{
		Visit: v.ID, Operation: v.Operation, Machine: v.Machine, CameFrom: v.CameFrom, ReworkFor: v.ReworkFor,
		Arrived: v.Arrived, Ended: v.Ended(), Good: v.Good, Scrap: v.Scrap, Rework: v.Rework,
		Review:  v.Review,
		Missing: v.Missing, Aside: v.Review, SetupN: v.SetupPieces, Uncertain: v.TimeUncertain,
	}
	out.Metres, _ = m.walk(v.CameFrom, v.Machine, v.Arrived)
	for _, what := range v.Inferred() {
		out.NoArrival = out.NoArrival || what == story.InferredArrival
		out.NoStart = out.NoStart || what == story.InferredStart
		out.NoFinish = out.NoFinish || what == story.InferredFinish
		out.NoCount = out.NoCount || what == story.InferredCount
	}
	for _, l := range v.Losses {
		out.Losses = append(out.Losses, lossFact(v.Operation, l))
	}
	decided(f, visit, &out)
	m.spans(f, visit, &out)
	m.waits(f, visit, &out)
	return out
}

func lossFact(at traveler.Op, l story.LossAt) story.LossFact {
	out := story.LossFact{Outcome: l.Outcome, Reason: l.Reason, N: l.N, FoundAt: at, Caused: l.CausedAt}
	if out.Caused == 0 {
		out.Caused = at
	}
	return out
}

// walk is the length of a walk; false when it is rectangular distance.
func (m *Meter) walk(from, to traveler.MachineID, at time.Time) (metres float64, aisles bool) {
	if from == "" || from == to {
		return 0, true
	}
	metres, by := m.Floors.Metres(m.Shop, from, to, at)
	return metres, by == ground.Aisles
}

// until is when a span of a visit ended, or now.
func (m *Meter) until(s *story.Span, ended time.Time) time.Time {
	switch {
	case !s.To.IsZero():
		return s.To
	case !ended.IsZero():
		return ended
	}
	return m.Now
}

// spans adds up what a visit's time was spent on, without the time in which its
// machine was closed.
func (m *Meter) spans(f *story.Family, visit int, out *story.VisitFact) {
	id := f.Visits[visit].Machine
	closed := m.Closed(f, visit)
	for i := range f.Spans {
		s := &f.Spans[i]
		if s.Visit != visit {
			continue
		}
		if out.Begun.IsZero() {
			out.Begun = s.From
		}
		to := m.until(s, out.Ended)
		d := positive(to.Sub(s.From))
		addSpan(&out.Parts, s.Kind, d)
		if d == 0 {
			continue
		}
		m.busy(id, s.Kind, s.From, to, closed, out)
		switch s.Kind {
		case story.SpanStop:
			out.Stops = append(out.Stops,
				story.StopFact{Reason: s.Reason, Lasted: d, Open: m.open(id, s.From, to)})
		case story.SpanFirstOff:
			out.Shut += d - m.open(id, s.From, to)
		}
	}
	for _, c := range closed {
		d := c.To.Sub(c.From)
		addSpan(&out.Parts, c.Kind, -d)
		out.Closed += d
	}
}

// open is how much of a stretch a machine was open for.
func (m *Meter) open(id traveler.MachineID, from, to time.Time) time.Duration {
	d, _ := m.Shop.OpenBetween(id, from, to)
	return d
}

// busy notes a span as it kept its machine busy: a run or a set-up without what
// was cut out of it, a stop or a wait for a first-off while the machine was
// open.
func (m *Meter) busy(id traveler.MachineID, kind story.SpanKind, from, to time.Time, closed []story.Span,
	out *story.VisitFact) {
	add := func(a, b time.Time) {
		if b.After(a) {
			out.Busy = append(out.Busy, story.BusyFact{Kind: kind, From: a, To: b})
		}
	}
	switch kind {
	case story.SpanRun, story.SpanSetup:
		for i := range closed {
			if c := &closed[i]; c.Kind == kind && !c.From.Before(from) && !c.To.After(to) {
				add(from, c.From)
				from = c.To
			}
		}
		add(from, to)
	case story.SpanStop, story.SpanFirstOff:
		m.Shop.EachHours(id, from, to, func(h *calendar.Hours, a, b time.Time) {
			for _, x := range h.Spans(a, b) {
				add(x.From, x.To)
			}
		})
	}
}

// Closed lists what is cut out of the runs and set-ups of a visit because its
// machine was closed, what still lasts included.
func (m *Meter) Closed(f *story.Family, visit int) []story.Span {
	out := f.ClosedOf(visit)
	v := &f.Visits[visit]
	if !v.Open() {
		return out
	}
	for i := range f.Spans {
		if s := &f.Spans[i]; s.Visit == visit && s.To.IsZero() {
			for _, c := range f.ClosedWhile(m.Shop, visit, s.Kind, s.From, m.Now) {
				out = append(out,
					story.Span{Visit: visit, Kind: s.Kind, From: c.From, To: c.To, Inferred: true})
			}
		}
	}
	return out
}

func addSpan(p *story.Parts, kind story.SpanKind, d time.Duration) {
	switch kind {
	case story.SpanSetup:
		p.Setup += d
	case story.SpanFirstOff:
		p.FirstOff += d
	case story.SpanRun:
		p.Run += d
	case story.SpanStop:
		p.Stop += d
	case story.SpanOutside:
		p.Outside += d
	}
}

// waits is how long a batch took to come and then waited: in clock time,
// and in the working time of the work centre it waited for.
func (m *Meter) waits(f *story.Family, visit int, out *story.VisitFact) {
	begun := out.Begun
	if begun.IsZero() {
		begun = out.Ended
	}
	if begun.IsZero() {
		begun = m.Now
	}
	before := f.Before(visit)
	if out.NoArrival {
		out.Parts.Between = positive(begun.Sub(before))
	} else {
		out.Parts.Transport = positive(out.Arrived.Sub(before))
		out.Parts.Queue = positive(begun.Sub(out.Arrived))
	}
	out.Waited = m.Shop.CentreHours(m.centre(f, visit), begun).Open(before, begun)
}

// centre is the work centre that a visit's operation belongs to.
func (m *Meter) centre(f *story.Family, visit int) traveler.WorkCentre {
	v := &f.Visits[visit]
	b := &f.Batches[v.Batch]
	for i := range b.Ops {
		if b.Ops[i].Number == v.Operation {
			return b.Ops[i].WorkCentre
		}
	}
	return traveler.WorkCentre(v.Machine)
}
