package measure

import (
	"slices"
	"time"

	"tallywalk/traveler"
)

// MachineHours is what a machine did with a period, in clock time. A machine
// that held several batches at once shares the time among them by their planned
// content, so that the hours of a machine are never more than there were. A
// visit across the period's edge counts in proportion. Stops and waits for a
// first-off count while the machine was open: over a night nobody misses it.
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
	b        *traveler.BatchFact
	v        *traveler.VisitFact
	from, to time.Time
	content  float64 // planned seconds
	share    float64 // of the machine's time while it was there
}

// MachinesOf adds up what machines did between two moments.
func MachinesOf(shop *traveler.Shop, batches []traveler.BatchFact, from, to time.Time) []MachineHours {
	stays := map[traveler.MachineID][]stay{}
	for i := range batches {
		b := &batches[i]
		for k := range b.Visits {
			v := &b.Visits[k]
			s := stay{b: b, v: v, from: v.Begun, to: v.Ended}
			if s.to.IsZero() {
				s.to = to
			}
			if v.Begun.IsZero() || v.Parts.Outside > 0 || !s.from.Before(to) || s.to.Before(from) {
				continue
			}
			s.content = content(b, v)
			stays[v.Machine] = append(stays[v.Machine], s)
		}
	}
	var out []MachineHours
	for _, m := range shop.Machines(to) {
		h := MachineHours{Machine: m.ID, Open: to.Sub(from)}
		if hours := shop.Hours(m.ID, to); hours != nil {
			h.Open, h.Calendar = hours.Open(from, to), true
		}
		list := stays[m.ID]
		share(list)
		h.add(list, from, to)
		out = append(out, h)
	}
	return out
}

// content is the planned time of a visit: its set-up and the pieces it made.
func content(b *traveler.BatchFact, v *traveler.VisitFact) float64 {
	o := opOf(b, v.Operation)
	if o == nil {
		return 1
	}
	n := max(1, v.Good+v.Scrap+v.Rework+v.Review)
	return max(1, o.PlanSetup.Seconds()+float64(n)*o.PlanPiece.Seconds())
}

// share divides the time of a machine among the visits that were there at once,
// by their planned content.
func share(list []stay) {
	var cuts []time.Time
	for i := range list {
		cuts = append(cuts, list[i].from, list[i].to)
		list[i].share = 1
	}
	slices.SortFunc(cuts, time.Time.Compare)
	slices.SortFunc(list, func(a, b stay) int { return a.from.Compare(b.from) })
	own := make([]float64, len(list))
	first := 0
	for c := 1; c < len(cuts); c++ {
		a, z := cuts[c-1], cuts[c]
		if !a.Before(z) {
			continue
		}
		for first < len(list) && !list[first].to.After(a) {
			first++
		}
		total := 0.0
		for i := first; i < len(list) && !list[i].from.After(a); i++ {
			if list[i].to.After(a) {
				total += list[i].content
			}
		}
		for i := first; i < len(list) && !list[i].from.After(a); i++ {
			if list[i].to.After(a) {
				own[i] += z.Sub(a).Seconds() * list[i].content / total
			}
		}
	}
	for i := range list {
		if d := list[i].to.Sub(list[i].from).Seconds(); d > 0 {
			list[i].share = own[i] / d
		}
	}
}

func (h *MachineHours) add(list []stay, from, to time.Time) {
	var seen []traveler.Code
	for i := range list {
		s := &list[i]
		part := 1.0
		if d := s.to.Sub(s.from); d > 0 {
			a, z := s.from, s.to
			if a.Before(from) {
				a = from
			}
			if z.After(to) {
				z = to
			}
			part = float64(z.Sub(a)) / float64(d)
		}
		scale := func(d time.Duration) time.Duration { return time.Duration(float64(d) * part * s.share) }
		p := &s.v.Parts
		h.Run += scale(p.Run)
		h.Setup += scale(p.Setup)
		h.FirstOff += scale(p.FirstOff - s.v.Shut)
		for _, x := range s.v.Stops {
			h.Stop += scale(x.Open)
		}
		h.Visits++
		if s.v.Inferred() {
			h.Inferred++
		}
		if !slices.Contains(seen, s.b.Card) {
			seen = append(seen, s.b.Card)
			h.Batches++
		}
		if s.v.Ended.IsZero() || s.v.Ended.Before(from) || !s.v.Ended.Before(to) {
			continue // its pieces belong to the period in which it ended
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
