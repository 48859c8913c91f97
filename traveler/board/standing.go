package board

import (
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Standing keeps what the rows of the waits board come to at each place, while
// families come, change and go: only the places where something changed are
// worked out. It is used by one goroutine.
type Standing struct {
	spots   []*spot // in the order of the shop's machines
	at      map[traveler.MachineID]*spot
	stores  traveler.MachineID
	of      map[traveler.Code][]Row
	nowhere int // rows that wait, nobody can say where
	total   Totals
	dirty   []*spot
}

// spot is a place with the rows that stand there. What waits is added up as it
// comes and goes; the first moments are looked for where the first went.
type spot struct {
	sum          Place
	waits, works map[*Row]bool
	old, dirty   bool // the first moments are not known; something changed
}

// NewStanding gives the places of the shop as they are now, with nothing there.
func NewStanding(shop *traveler.Shop, now time.Time) *Standing {
	s := &Standing{at: map[traveler.MachineID]*spot{}, of: map[traveler.Code][]Row{}}
	for _, m := range shop.Machines(now) {
		p := &spot{waits: map[*Row]bool{}, works: map[*Row]bool{}, sum: Place{
			Key: "place/" + string(m.ID), Machine: m.ID, Name: m.Name, WorkCentre: m.WorkCentre,
			PlaceKind: m.Kind, X: m.X, Y: m.Y, State: StateFree,
		}}
		s.spots, s.at[m.ID] = append(s.spots, p), p
		if m.Kind == "stores" && s.stores == "" {
			s.stores = m.ID
		}
	}
	return s
}

// Put takes the rows of a family in place of those it had of it; none takes it
// away. The rows stay as they are.
func (s *Standing) Put(root traveler.Code, rows []Row) {
	old := s.of[root]
	s.each(old, -1)
	s.each(rows, 1)
	was, is := Total(old), Total(rows)
	x := &s.total
	x.Waits, x.Late, x.Held = x.Waits+is.Waits-was.Waits, x.Late+is.Late-was.Late, x.Held+is.Held-was.Held
	x.Works, x.Away = x.Works+is.Works-was.Works, x.Away+is.Away-was.Away
	if s.of[root] = rows; len(rows) == 0 {
		delete(s.of, root)
	}
}

// each lets rows come (1) or go (-1).
func (s *Standing) each(rows []Row, n int) {
	for i := range rows {
		p := s.where(&rows[i])
		if p == nil {
			if rows[i].Kind != "work" {
				s.nowhere += n
			}
			continue
		}
		p.take(&rows[i], n)
		if !p.dirty {
			p.dirty, s.dirty = true, append(s.dirty, p)
		}
	}
}

// where is the place where something is worked on, or lies: one that was never
// carried lies in the stores, if there are any.
func (s *Standing) where(r *Row) *spot {
	lies := r.Place
	if r.Kind == "work" || r.Arrived && r.Machine != "" {
		lies = r.Machine
	}
	if lies == "" && r.Kind != "work" {
		lies = s.stores
	}
	return s.at[lies]
}

// All gives the row of every place.
func (s *Standing) All() []Place {
	out := make([]Place, len(s.spots))
	for i, p := range s.spots {
		out[i] = p.place()
	}
	s.settle()
	return out
}

// Changed gives the rows of the places where something changed since the last
// time.
func (s *Standing) Changed() []Place {
	out := make([]Place, len(s.dirty))
	for i, p := range s.dirty {
		out[i] = p.place()
	}
	s.settle()
	return out
}

func (s *Standing) settle() {
	for _, p := range s.dirty {
		p.dirty = false
	}
	s.dirty = s.dirty[:0]
}

// Unplaced counts what waits nobody can say where.
func (s *Standing) Unplaced() int { return s.nowhere }

// Totals is what all places say together.
func (s *Standing) Totals() Totals { return s.total }

// Waiting lists what waits before a work centre, in the order of Rule.
func (s *Standing) Waiting(wc traveler.WorkCentre) []Row {
	out := []Row{}
	for _, rows := range s.of {
		for i := range rows {
			if rows[i].Kind == "wait" && rows[i].WorkCentre == wc {
				out = append(out, rows[i])
			}
		}
	}
	Sort(out)
	return out
}

// take lets a row come or go.
func (p *spot) take(r *Row, n int) {
	if r.Kind == "work" {
		p.sum.Works += n
		set(p.works, r, n)
		return
	}
	set(p.waits, r, n)
	p.sum.Waits, p.sum.Pieces = p.sum.Waits+n, p.sum.Pieces+n*r.Pieces
	if r.Late {
		p.sum.Late += n
	}
	if r.State == "held" {
		p.sum.Held += n
	}
	if r.State == string(story.WaitReview) {
		p.sum.Asks += n
	}
	if n > 0 {
		p.first(r)
		return
	}
	gone := func(t, first time.Time) bool { return !t.IsZero() && !t.After(first) }
	p.old = p.old || gone(r.Since, p.sum.Oldest) || gone(r.LateFrom, p.sum.LateFrom) ||
		gone(r.LongFrom, p.sum.LongFrom)
}

// first keeps the first moments of what waits.
func (p *spot) first(r *Row) {
	first(&p.sum.Oldest, r.Since)
	first(&p.sum.LateFrom, r.LateFrom)
	first(&p.sum.LongFrom, r.LongFrom)
}

func set(rows map[*Row]bool, r *Row, n int) {
	if n > 0 {
		rows[r] = true
	} else {
		delete(rows, r)
	}
}

// place is the row of a place. Of several works the one that says most stands
// there; of two alike, the one that has gone on longer.
func (p *spot) place() Place {
	if p.old {
		p.old, p.sum.Oldest, p.sum.LateFrom, p.sum.LongFrom = false, time.Time{}, time.Time{}, time.Time{}
		for r := range p.waits {
			p.first(r)
		}
	}
	out := p.sum
	var most *Row
	for r := range p.works {
		out.WorkLate = out.WorkLate || r.Late
		first(&out.LateFrom, r.LateFrom)
		first(&out.OverFrom, r.OverFrom)
		if stateRank[r.State] > 0 && (most == nil || saysMore(r, most)) {
			most = r
		}
	}
	if r := most; r != nil {
		out.State, out.Card, out.WorksOrder = r.State, r.Card, r.WorksOrder
		out.Part, out.Operation, out.Since = r.Part, r.Operation, r.Since
		out.Reason = r.Reason
	}
	return out
}

// first keeps the earlier of two moments; zero is none.
func first(t *time.Time, other time.Time) {
	if !other.IsZero() && (t.IsZero() || other.Before(*t)) {
		*t = other
	}
}

func saysMore(a, b *Row) bool {
	if x, y := stateRank[a.State], stateRank[b.State]; x != y {
		return x > y
	}
	if c := a.Since.Compare(b.Since); c != 0 {
		return c < 0
	}
	return a.Key < b.Key
}
