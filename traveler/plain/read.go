package plain

import (
	"slices"
	"strings"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// read lists what was said, by when it happened: without what was taken back or
// dropped, and as it was corrected.
func (p *pencil) read(record []*traveler.Entry) []said {
	gone, added := map[traveler.ScanID]bool{}, map[traveler.ScanID]bool{}
	fixed := map[traveler.ScanID][]*traveler.Scan{}
	card := map[traveler.ScanID]traveler.Code{} // whose they are, as corrected
	for _, e := range record {
		if e.Scan == nil || e.Outcome == traveler.Refused {
			continue
		}
		s := e.Scan
		about, id, _ := strings.Cut(s.For, ":")
		target := traveler.ScanID(id)
		switch {
		case s.Action == traveler.ActUndo:
			gone[traveler.ScanID(s.For)] = true
			gone[s.ID] = true
		case s.Action == traveler.ActCorrect:
			fixed[traveler.ScanID(s.For)] = append(fixed[traveler.ScanID(s.For)], s)
			card[traveler.ScanID(s.For)] = e.Card
			gone[s.ID] = true
			if e.Outcome == traveler.Questioned {
				p.tangle("a correction is in question")
			}
		case s.Action == traveler.ActDecide && (about == "scan" || about == "anyway"):
			gone[s.ID] = true
			gone[target] = gone[target] || s.Reason == story.ChoiceDrop
			added[target] = s.Reason == story.ChoiceAdd
		}
	}
	when := clocks(record, fixed)
	var out []said
	for _, e := range record {
		if e.Release != nil && e.Card == p.f.Card {
			p.release(e)
		}
		if e.Scan == nil || e.Outcome == traveler.Refused || gone[e.Scan.ID] {
			continue
		}
		if of, ok := card[e.Scan.ID]; ok && of != p.f.Card || !ok && e.Card != p.f.Card {
			continue // said of another batch
		}
		if e.Outcome == traveler.Questioned && !added[e.Scan.ID] {
			p.tangle("a scan is in question")
		}
		x := said{e, *e.Scan, when[e.Scan.ID], e.Machine}
		for _, c := range fixed[e.Scan.ID] {
			p.correct(&x, c)
		}
		out = append(out, x)
	}
	slices.SortStableFunc(out, func(a, b said) int { return a.when.Compare(b.when) })
	return out
}

// correct writes over a scan what a correction says of it; what it does not say
// stays.
func (p *pencil) correct(x *said, c *traveler.Scan) {
	s := &x.s
	if c.HasCounts() || c.Reads != nil {
		s.Good, s.Scrap, s.Rework = c.Good, c.Scrap, c.Rework
		s.Review, s.Missing, s.Reads = c.Review, c.Missing, c.Reads
	}
	if c.Operation != 0 {
		s.Operation = c.Operation
	}
	if c.Pieces != 0 {
		s.Pieces = c.Pieces
	}
	if c.Phase != "" {
		s.Phase = c.Phase
	}
	if c.Reason != "" {
		s.Reason = c.Reason
	}
	if c.To != "" {
		s.To = c.To
	}
	if m, ok := p.shop.FindMachine(c.Station); ok && c.Station != traveler.Office {
		x.machine = m
	}
	if c.Happened != nil {
		if x.when = *c.Happened; x.when.After(x.e.Arrived) {
			x.when = x.e.Arrived
		}
	}
}

func (p *pencil) release(e *traveler.Entry) {
	p.pieces, p.released = e.Release.Pieces, e.Arrived
	if !e.Release.Released.IsZero() && e.Release.Released.Before(e.Arrived) {
		p.released = e.Release.Released
	}
	p.f.Want = e.Release.Wanted
	if p.f.Want == 0 {
		p.f.Want = p.pieces
	}
	if !e.Release.Due.IsZero() {
		p.f.Due = e.Release.Due.Format(time.DateOnly)
	}
	if r, ok := p.shop.Route(e.Release.Part, e.Release.RouteRev); ok {
		p.ops = slices.Clone(r.Operations)
	}
}

// whenOf is when a scan says that it happened, never after it came and, by a
// clock, never before its device had spoken last.
func whenOf(e *traveler.Entry) time.Time {
	t := e.Scan.At.Add(time.Duration(e.Scan.OffsetMS) * time.Millisecond)
	switch {
	case e.Scan.Happened != nil:
		t = *e.Scan.Happened
	case t.Before(e.NotBefore):
		t = e.NotBefore
	}
	if t.After(e.Arrived) {
		return e.Arrived
	}
	return t
}
