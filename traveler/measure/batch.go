package measure

import (
	"cmp"
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Batch gives the facts of one batch, its visits in the order they were begun.
func (m *Meter) Batch(f *story.Family, batch int) story.BatchFact {
	b, sum := &f.Batches[batch], f.Sum(batch)
	out := story.BatchFact{
		Card: b.Card, Root: f.Root, Parent: b.Parent, Joined: b.Joined, Part: b.Part, Rev: b.Rev,
		Drawing: b.Drawing,
		Name:    b.Name, Order: b.Order, Line: b.Line, Customer: b.Customer, Lots: b.Lots,
		Priority: b.Priority, Hot: b.Hot,
		State: f.State(batch), Due: b.Due, Released: b.Released, Started: sum.Started, Wanted: b.Wanted,
		Good:  sum.Good,
		Scrap: sum.Scrap, Missing: sum.Missing, Concession: sum.Concession, Rework: sum.Rework,
		Review:     sum.ReviewOpen,
		ReworkOpen: sum.ReworkOpen, ToDo: sum.ToDo, JoinedIn: sum.In, SplitOff: sum.Out, Over: sum.Over,
		Delivered: b.Delivered(), Deliveries: b.Deliveries, Stock: b.Stock,
	}
	var ofLog bool
	out.As, out.Imported, ofLog = origin(f, batch)
	if out.State == story.StateDone || out.State == story.StateCancelled {
		// A visit that nobody ended waits no longer once its batch is over.
		over := *m
		over.Now = f.Last()
		m = &over
	}
	leftOn := map[traveler.ScanID]bool{}
	for _, q := range f.Questions() {
		if q.Card != b.Card || q.Settled != nil {
			continue
		}
		out.Asked++
		leftOn[q.Scan] = leftOn[q.Scan] || q.Kind == story.QuestionClosed
	}
	for j := range f.Visits {
		if f.Visits[j].Batch != batch {
			continue
		}
		v := m.Visit(f, j)
		out.Measured = out.Measured || len(f.Visits[j].Measured) > 0
		v.LeftOn = leftOn[v.Visit]
		if !v.Begun.IsZero() && (out.Begun.IsZero() || v.Begun.Before(out.Begun)) {
			out.Begun = v.Begun
		}
		// The rows of a log say how many pieces came out, even if none did.
		if v.Inferred() || v.NoCount && !ofLog {
			out.Inferred++
		}
		out.Visits = append(out.Visits, v)
	}
	out.Ended = ended(f, batch, out.State, out.Visits)
	out.Parts = m.parts(f, batch, out.Ended)
	out.Ops = m.ops(f, batch, out.Visits)
	m.walks(f, batch, &out)
	return out
}

// origin says how a batch was released, whether scans of it were imported, and
// whether they were made of the rows of a log.
// What an import of batches changed of its plan is no such scan.
func origin(f *story.Family, batch int) (as story.ReleasedAs, imported, ofLog bool) {
	for _, e := range f.Record() {
		switch {
		case e.Release != nil && e.Card == f.Batches[batch].Card:
			r := e.Release
			as = story.ReleasedAs{Pieces: r.Pieces, Wanted: cmp.Or(r.Wanted, r.Pieces), Priority: r.Priority,
				Due: r.Due, Hot: r.Hot}
		case e.Scan != nil && e.By.Name == traveler.Importer && e.Scan.Action != traveler.ActOverride:
			imported = true
			ofLog = ofLog || e.FromLog()
		}
	}
	return as, imported, ofLog
}

// Walked is how far a batch was carried, in metres.
func (m *Meter) Walked(f *story.Family, batch int) float64 {
	var b story.BatchFact
	m.walks(f, batch, &b)
	return b.Metres
}

// walks adds up how far a batch was carried. Its trips are one chain.
func (m *Meter) walks(f *story.Family, batch int, out *story.BatchFact) {
	for i := range f.Trips {
		if t := &f.Trips[i]; t.Batch == batch {
			metres, aisles := m.walk(t.From, t.To, t.At)
			out.Metres += metres
			out.Rectangular = out.Rectangular || !aisles
			x := story.TripFact{From: t.From, To: t.To, At: t.At, Metres: metres,
				Leg: LegOf(m.Shop, t.From, t.To, t.At)}
			if t.Visit >= 0 && f.Visits[t.Visit].ReworkFor == 0 {
				x.For = f.Visits[t.Visit].Operation
			}
			out.Trip = append(out.Trip, x)
		}
	}
}

// LegOf is what a trip joins.
func LegOf(shop *traveler.Shop, from, to traveler.MachineID, at time.Time) story.Leg {
	a, _ := shop.Machine(from, at)
	b, _ := shop.Machine(to, at)
	for _, leg := range []story.Leg{story.LegOutside, story.LegDock, story.LegStores} {
		if a.Kind == string(leg) || b.Kind == string(leg) {
			return leg
		}
	}
	return story.LegFloor
}

// ended is the end of a batch's lead time: the last delivery, where one was
// scanned, else the end of its last visit; zero while it is on the floor.
func ended(f *story.Family, batch int, state story.BatchState, visits []story.VisitFact) time.Time {
	b := &f.Batches[batch]
	switch state {
	case story.StateCancelled:
		return b.Cancelled
	case story.StateDone:
	default:
		return time.Time{}
	}
	if n := len(b.Deliveries); n > 0 {
		return b.Deliveries[n-1].At
	}
	end := b.Released
	for i := range visits {
		if e := visits[i].Ended; e.After(end) {
			end = e
		}
	}
	return end
}

// The parts of the lead time, the one that counts before the others first.
const (
	partRun = iota
	partSetup
	partFirstOff
	partStop
	partOutside
	partTransport
	partQueue
	partCount
)

var partOf = map[story.SpanKind]int{
	story.SpanRun: partRun, story.SpanSetup: partSetup, story.SpanFirstOff: partFirstOff,
	story.SpanStop: partStop, story.SpanOutside: partOutside,
}

// edge is the beginning (+1) or the end (-1) of a stretch.
type edge struct {
	at   time.Time
	part int
	d    int
}

// parts cuts the lead time of a batch into its parts: at each instant the one
// that counts before the others. What no scan says is between.
func (m *Meter) parts(f *story.Family, batch int, end time.Time) story.Parts {
	if end.IsZero() {
		end = m.Now
	}
	return sweep(m.edges(f, batch), f.Batches[batch].Released, end)
}

// sweep gives each instant between two moments to the part that counts before
// the others; what nothing shows is between.
func sweep(edges []edge, from, end time.Time) story.Parts {
	slices.SortFunc(edges, func(a, b edge) int { return a.at.Compare(b.at) })
	var out story.Parts
	var on [partCount]int
	last := from
	for _, e := range append(edges, edge{at: end}) {
		at := e.at
		if at.After(end) {
			at = end
		}
		if at.After(last) {
			addPart(&out, on[:], at.Sub(last))
			last = at
		}
		on[e.part] += e.d
	}
	return out
}

func addPart(p *story.Parts, on []int, d time.Duration) {
	to := []*time.Duration{&p.Run, &p.Setup, &p.FirstOff, &p.Stop, &p.Outside, &p.Transport, &p.Queue}
	for part, n := range on {
		if n > 0 {
			*to[part] += d
			return
		}
	}
	p.Between += d
}

// edges lists the stretches of a batch that something shows. Closed time is cut
// out of runs and set-ups, and counts as queue.
func (m *Meter) edges(f *story.Family, batch int) []edge {
	var out []edge
	add := func(part int, from, to time.Time) {
		if to.After(from) {
			out = append(out, edge{from, part, 1}, edge{to, part, -1})
		}
	}
	for j := range f.Visits {
		v := &f.Visits[j]
		if v.Batch != batch {
			continue
		}
		begun := time.Time{}
		for i := range f.Spans {
			s := &f.Spans[i]
			if s.Visit != j {
				continue
			}
			if begun.IsZero() {
				begun = s.From
			}
			add(partOf[s.Kind], s.From, m.until(s, v.Ended()))
		}
		for _, c := range m.Closed(f, j) {
			if c.To.After(c.From) {
				out = append(out, edge{c.From, partOf[c.Kind], -1}, edge{c.To, partOf[c.Kind], 1})
			}
			add(partQueue, c.From, c.To)
		}
		if v.ArrivalInferred {
			continue
		}
		if begun.IsZero() {
			begun = v.Ended()
		}
		if begun.IsZero() {
			begun = m.Now
		}
		add(partTransport, f.Before(j), v.Arrived)
		add(partQueue, v.Arrived, begun)
	}
	return out
}
