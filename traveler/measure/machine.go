package measure

import (
	"cmp"
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// MachineHours is what a machine did with a period, in clock time. A machine
// that held several batches at once is busy once: its hours are never more than
// there were.
type MachineHours struct {
	Machine  traveler.MachineID
	Open     time.Duration // by its calendar (ISO 22400 PBT); the whole period without one
	Calendar bool
	Run      time.Duration
	Setup    time.Duration
	FirstOff time.Duration
	Stop     time.Duration
	Visits   int
	Batches  int
	Pieces   int // counted, first pass and rework
	Good     int
	Scrap    int
	Rework   int
	Planned  time.Duration // planned run time of the pieces made
	Inferred int           // visits with a bound inferred
}

// Busy is run, set-up, wait for a first-off and stop together.
func (m *MachineHours) Busy() time.Duration { return m.Run + m.Setup + m.FirstOff + m.Stop }

// Elements are the elements of ISO 22400-2 of the machine in the period. Waits
// belong to batches, so that queue and transport are nothing here.
func (m *MachineHours) Elements() Elements {
	e := Elements{APT: m.Run, AUST: m.Setup + m.FirstOff, ADET: m.Stop, PBT: m.Open, PQ: m.Pieces, GQ: m.Good,
		SQ: m.Scrap, RQ: m.Rework}
	if m.Pieces > 0 {
		e.PRI = m.Planned / time.Duration(m.Pieces)
	}
	return e
}

// MachinesOf adds up what machines did between two moments.
func MachinesOf(shop *traveler.Shop, batches []story.BatchFact, from, to time.Time) []MachineHours {
	s := Machines{From: from, To: to}
	for i := range batches {
		s.Add(&batches[i])
	}
	return s.Result(shop, from)
}

// Machines adds up what machines did between two moments, batch by batch.
type Machines struct {
	From, To time.Time

	n     int // batches added
	first time.Time
	at    map[traveler.MachineID]*machineSum
}

// machineSum is one machine. Of many years little is kept of each stretch.
type machineSum struct {
	MachineHours
	last  int // the batch that was counted last
	edges []busyEdge
}

// busyEdge is the beginning (+1) or the end (-1) of a busy stretch.
type busyEdge struct {
	at   int64 // Unix nanoseconds
	part int8
	d    int8
}

// First is when the first work began that was added, in the period or not; zero
// when none did.
func (s *Machines) First() time.Time { return s.first }

// Add counts a batch. Each is added once.
func (s *Machines) Add(b *story.BatchFact) {
	s.n++
	if !b.Begun.IsZero() && (s.first.IsZero() || b.Begun.Before(s.first)) {
		s.first = b.Begun
	}
	for k := range b.Visits {
		v := &b.Visits[k]
		if v.Parts.Outside > 0 || !s.Holds(v) {
			continue
		}
		m := s.at[v.Machine]
		if m == nil {
			if s.at == nil {
				s.at = map[traveler.MachineID]*machineSum{}
			}
			m = &machineSum{}
			s.at[v.Machine] = m
		}
		m.spent(v, s.From, s.To)
		s.count(m, b, v)
	}
}

// Holds reports whether a visit had begun, and was not over, at some time of the
// period.
func (s *Machines) Holds(v *story.VisitFact) bool {
	return !v.Begun.IsZero() && v.Begun.Before(s.To) && (v.Ended.IsZero() || !v.Ended.Before(s.From))
}

// count counts a visit; its pieces belong to the period in which it ended.
func (s *Machines) count(m *machineSum, b *story.BatchFact, v *story.VisitFact) {
	m.Visits++
	if v.Inferred() {
		m.Inferred++
	}
	if m.last != s.n {
		m.last = s.n
		m.Batches++
	}
	if v.Ended.IsZero() || v.Ended.Before(s.From) || !v.Ended.Before(s.To) {
		return
	}
	n := v.Good + v.Scrap + v.Rework + v.Review
	m.Pieces += n
	m.Good += v.Good
	m.Scrap += v.Scrap
	m.Rework += v.Rework
	m.Planned += time.Duration(n) * planPiece(b, v.Operation)
}

// spent notes when a visit kept its machine busy.
func (m *machineSum) spent(v *story.VisitFact, from, to time.Time) {
	for i := range v.Busy {
		x := &v.Busy[i]
		a, z := later(x.From, from), x.To
		if z.After(to) {
			z = to
		}
		if z.After(a) {
			part := int8(partOf[x.Kind])
			m.edges = append(m.edges, busyEdge{a.UnixNano(), part, 1}, busyEdge{z.UnixNano(), part, -1})
		}
	}
}

// Result is what the machines of a shop did. Since is when the period counts
// from: its beginning, or a later moment before which no work was done.
func (s *Machines) Result(shop *traveler.Shop, since time.Time) []MachineHours {
	var out []MachineHours
	for _, m := range shop.Machines(s.To) {
		h := MachineHours{}
		if sum := s.at[m.ID]; sum != nil {
			sum.spend()
			h = sum.MachineHours
		}
		h.Machine = m.ID
		h.Open, h.Calendar = shop.OpenBetween(m.ID, since, s.To)
		out = append(out, h)
	}
	return out
}

// spend adds up a machine's time. At each instant it is in one state, by the
// precedence run, set-up, first-off, stop, however many batches it holds: a
// batch that was stopped for a hot job takes nothing from that one's run.
func (m *machineSum) spend() {
	slices.SortFunc(m.edges, func(a, b busyEdge) int { return cmp.Compare(a.at, b.at) })
	var p story.Parts
	var on [partCount]int
	for i, e := range m.edges {
		if i > 0 && e.at > m.edges[i-1].at {
			addPart(&p, on[:], time.Duration(e.at-m.edges[i-1].at))
		}
		on[e.part] += int(e.d)
	}
	m.Run, m.Setup, m.FirstOff, m.Stop = p.Run, p.Setup, p.FirstOff, p.Stop
}

func planPiece(b *story.BatchFact, op traveler.Op) time.Duration {
	if o := opOf(b, op); o != nil {
		return o.PlanPiece
	}
	return 0
}
