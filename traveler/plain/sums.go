package plain

import (
	"slices"
	"time"

	"tallywalk/traveler"
)

// Sending is pieces that left the shop.
type Sending struct {
	At     time.Time
	Pieces int
}

// Step is what an operation made of pieces that came to it for the first time.
type Step struct {
	Presented int // good, scrap, sent to rework or set aside for review
	Good      int // at once, or when the review was decided
}

// InTime counts the pieces that had left by the end of the due date, by the
// clocks of a zone, up to those that were wanted. Where nobody scanned a
// delivery, the end of the last operation is the delivery.
func (f *Figures) InTime(zone *time.Location, ended time.Time) int {
	if f.Due == "" {
		return 0
	}
	sent := f.Sent
	if len(sent) == 0 {
		sent = []Sending{{ended, f.Good}}
	}
	n := 0
	for _, s := range sent {
		if s.At.In(zone).Format(time.DateOnly) <= f.Due {
			n += s.Pieces
		}
	}
	return min(n, f.Want)
}

// total adds up the paper.
func (p *pencil) total() {
	f := &p.f
	end := p.last
	last := p.lastOp()
	open := 0
	for _, st := range p.stays {
		if st.end.IsZero() {
			st.close(st.passed)
			st.end = st.passed
			if st.passed.IsZero() {
				open++
			}
		}
		f.Scrap += st.scrap
		for _, s := range st.spans {
			p.addSpan(st, s)
		}
		if p.last.IsZero() && st.end.After(end) {
			end = st.end
		}
	}
	for _, d := range p.decided {
		f.Scrap += d.scrap
	}
	f.Good = p.goodAt(last)
	p.steps()
	f.Ended = !p.cancel && (open == 0 || !p.last.IsZero()) && !end.IsZero()
	if p.cancel {
		p.tangle("it was cancelled")
	}
	if f.Ended {
		f.Lead = end.Sub(p.released)
		f.Rest = f.Lead - p.covered(p.released, end)
	}
}

func (p *pencil) lastOp() (last traveler.Op) {
	for _, o := range p.ops {
		last = max(last, o.Number)
	}
	return last
}

// fits gives up on a count that fitted when it came, and no longer does because
// one from before it was said again anyway: which of its pieces there are is asked.
func (p *pencil) fits(op traveler.Op, x *said) {
	switch {
	case x.s.Anyway:
		p.anyway[op] = max(p.anyway[op], x.e.Seq)
	case p.anyway[op] > x.e.Seq && p.tooMany(op):
		p.tangle("more pieces were counted than had come")
	}
}

// tooMany reports whether more pieces were noted at an operation than the one
// before it that the batch was at let go. Pieces that another batch brought have
// no such operation, so nothing is said of a batch that took some in.
func (p *pencil) tooMany(op traveler.Op) bool {
	before, n := traveler.Op(0), 0
	for _, st := range p.stays {
		switch {
		case st.rework != 0:
		case st.op < op:
			before = max(before, st.op)
		case st.op == op:
			n += st.good + st.scrap + st.aside
		}
	}
	return before != 0 && !p.joined && n > p.goodAt(before)
}

// goodAt is the good pieces that were noted at an operation so far, those of
// rework and of decisions with them.
func (p *pencil) goodAt(op traveler.Op) (n int) {
	for _, st := range p.stays {
		if st.op == op {
			n += st.good
		}
	}
	for _, d := range p.decided {
		if d.op == op {
			n += d.good
		}
	}
	return n
}

// send notes a delivery: so many pieces, or all that are there.
func (p *pencil) send(x *said) {
	n := x.s.Pieces
	if n == 0 {
		n = p.ready()
	}
	p.f.Sent = append(p.f.Sent, Sending{x.when, n})
}

// steps adds up what came to each operation for the first time.
func (p *pencil) steps() {
	p.f.Steps = map[traveler.Op]Step{}
	for _, st := range p.stays {
		if st.rework == 0 {
			s := p.f.Steps[st.op]
			s.Presented += st.good + st.scrap + st.aside
			s.Good += st.good
			p.f.Steps[st.op] = s
		}
	}
	for _, d := range p.decided {
		s, ok := p.f.Steps[d.op]
		if !ok {
			continue
		}
		s.Presented -= d.missing
		if !d.conceded {
			s.Good += d.good
		}
		p.f.Steps[d.op] = s
	}
}

// covered is how much of the time between two moments something was noted in:
// the stretches are laid end to end, and what overlaps counts once.
func (p *pencil) covered(from, to time.Time) (d time.Duration) {
	slices.SortFunc(p.noted, func(a, b span) int { return a.from.Compare(b.from) })
	at := from
	for _, s := range p.noted {
		if s.from.After(at) {
			at = s.from
		}
		end := s.to
		if end.After(to) {
			end = to
		}
		if end.After(at) {
			d += end.Sub(at)
			at = end
		}
	}
	return d
}

// addSpan adds a stretch, without the closed time in it.
func (p *pencil) addSpan(st *stay, s span) {
	if s.to.IsZero() {
		return
	}
	d, at := s.to.Sub(s.from), s.from
	if s.kind == traveler.ActRun && !p.shop.Unattended(st.machine, s.from) || s.kind == traveler.ActSetup {
		for _, c := range p.shut(st, s.from, s.to) {
			p.noted = append(p.noted, span{s.kind, at, c.from})
			d, at = d-c.to.Sub(c.from), c.to
		}
	}
	p.noted = append(p.noted, span{s.kind, at, s.to})
	switch s.kind {
	case traveler.ActRun:
		p.f.Run += d
	case traveler.ActSetup:
		p.f.SetUp += d
	case traveler.ActStop:
		p.f.Stop += d
	}
}

// shut is the closed time inside a stretch in which nobody can have been there:
// the stretch is walked from one moment at which something is known to the next
// (an opening, a closing, a scan), and of each step it is asked who was seen at
// its two ends. Seen at both: eight hours are a long turn. Seen at one: an hour.
// Seen at none: nobody was there.
func (p *pencil) shut(st *stay, from, to time.Time) (out []span) {
	hours := p.shop.Hours(st.machine, from)
	if hours == nil || st.worked {
		return nil
	}
	for t := from; t.Before(to); {
		if hours.IsOpen(t) {
			end, ok := hours.End(t)
			if !ok {
				return out
			}
			t = end
			continue
		}
		next, ok := hours.Next(t)
		if !ok || next.After(to) {
			next = to
		}
		for _, seen := range st.seen {
			if seen.After(t) && seen.Before(next) {
				next = seen
			}
		}
		allowed := time.Duration(0)
		switch at, then := st.sawAt(t), st.sawAt(next); {
		case at && then:
			allowed = 8 * time.Hour
		case at || then:
			allowed = time.Hour
		}
		if next.Sub(t) > allowed {
			out = append(out, span{from: t, to: next})
		}
		t = next
	}
	return out
}

func (st *stay) sawAt(t time.Time) bool { return slices.ContainsFunc(st.seen, t.Equal) }

// Rolled is the share of pieces that would come through all operations at once:
// the product of good by presented of each. Operations that fewer than half as
// many batches were at as at the busiest are no part of the route.
func Rolled(list []Figures) float64 {
	sums, at, most := map[traveler.Op]Step{}, map[traveler.Op]int{}, 0
	for i := range list {
		for op, s := range list[i].Steps {
			if s.Presented > 0 {
				sums[op] = Step{sums[op].Presented + s.Presented, sums[op].Good + s.Good}
				at[op]++
				most = max(most, at[op])
			}
		}
	}
	y := 1.0
	for op, s := range sums {
		if 2*at[op] >= most {
			y *= float64(s.Good) / float64(s.Presented)
		}
	}
	return y
}

// Percentile is the p-th (0 to 100) of a list by the rule of spreadsheets'
// PERCENTILE.INC, worked out by counting places.
func Percentile(list []float64, p float64) float64 {
	if len(list) == 0 {
		return 0
	}
	xs := slices.Sorted(slices.Values(list))
	place := p / 100 * float64(len(xs)-1)
	below := int(place)
	if below+1 >= len(xs) {
		return xs[len(xs)-1]
	}
	return xs[below] + (place-float64(below))*(xs[below+1]-xs[below])
}
