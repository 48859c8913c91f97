package measure

import (
	"time"

	"tallywalk/traveler"
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
	e := Elements{APT: m.Run, AUST: m.Setup + m.FirstOff, ADET: m.Stop, PBT: m.Open, PQ: m.Pieces, GQ: m.Good, SQ: m.Scrap, RQ: m.Rework}
	if m.Pieces > 0 {
		e.PRI = m.Planned / time.Duration(m.Pieces)
	}
	return e
}

// stay is one visit as its machine sees it.
type stay struct {
	b *traveler.BatchFact
	v *traveler.VisitFact
}

// MachinesOf adds up what machines did between two moments.
func MachinesOf(shop *traveler.Shop, batches []traveler.BatchFact, from, to time.Time) []MachineHours {
	stays := map[traveler.MachineID][]stay{}
	for i := range batches {
		b := &batches[i]
		for k := range b.Visits {
			v := &b.Visits[k]
			if v.Begun.IsZero() || v.Parts.Outside > 0 || !v.Begun.Before(to) || !v.Ended.IsZero() && v.Ended.Before(from) {
				continue
			}
			stays[v.Machine] = append(stays[v.Machine], stay{b, v})
		}
	}
	var out []MachineHours
	for _, m := range shop.Machines(to) {
		h := MachineHours{Machine: m.ID}
		h.Open, h.Calendar = shop.OpenBetween(m.ID, from, to)
		h.spend(stays[m.ID], from, to)
		h.add(stays[m.ID], from, to)
		out = append(out, h)
	}
	return out
}

// spend adds up a machine's time. At each instant it is in one state, by the
// precedence run, set-up, first-off, stop, however many batches it holds: a
// batch that was stopped for a hot job takes nothing from that one's run.
func (h *MachineHours) spend(list []stay, from, to time.Time) {
	var edges []edge
	for i := range list {
		for _, x := range list[i].v.Busy {
			a, z := x.From, x.To
			if a.Before(from) {
				a = from
			}
			if z.After(to) {
				z = to
			}
			if z.After(a) {
				edges = append(edges, edge{a, partOf[x.Kind], 1}, edge{z, partOf[x.Kind], -1})
			}
		}
	}
	p := sweep(edges, from, to)
	h.Run, h.Setup, h.FirstOff, h.Stop = p.Run, p.Setup, p.FirstOff, p.Stop
}

// add counts the visits; a visit's pieces belong to the period in which it
// ended.
func (h *MachineHours) add(list []stay, from, to time.Time) {
	seen := map[traveler.Code]bool{}
	for i := range list {
		s := &list[i]
		h.Visits++
		if s.v.Inferred() {
			h.Inferred++
		}
		if !seen[s.b.Card] {
			seen[s.b.Card] = true
			h.Batches++
		}
		if s.v.Ended.IsZero() || s.v.Ended.Before(from) || !s.v.Ended.Before(to) {
			continue
		}
		n := s.v.Good + s.v.Scrap + s.v.Rework + s.v.Review
		h.Pieces += n
		h.Good += s.v.Good
		h.Scrap += s.v.Scrap
		h.Rework += s.v.Rework
		h.Planned += time.Duration(n) * planPiece(s.b, s.v.Operation)
	}
}

func planPiece(b *traveler.BatchFact, op traveler.Op) time.Duration {
	if o := opOf(b, op); o != nil {
		return o.PlanPiece
	}
	return 0
}
