package traveler

import (
	"slices"
	"time"

	"tallywalk/traveler/calendar"
)

// hours is a calendar as written and as worked out.
type hours struct {
	written calendar.Calendar
	open    *calendar.Hours
}

// newHours works a calendar out. One that makes no sense, which no door lets
// in, counts as always open.
func newHours(c *calendar.Calendar) hours {
	open, err := calendar.New(*c)
	if err != nil {
		open = nil
	}
	return hours{*c, open}
}

// Calendars lists the calendars as they were at t, by name.
func (s *Shop) Calendars(t time.Time) []calendar.Calendar {
	var names []string
	for name := range s.hours {
		names = append(names, name)
	}
	slices.Sort(names)
	out := make([]calendar.Calendar, 0, len(names))
	for _, name := range names {
		h, _ := at(s.hours[name], t)
		out = append(out, h.written)
	}
	return out
}

// CalendarDates lists when each version of a calendar begins to hold, in order.
func (s *Shop) CalendarDates(name string) []time.Time { return starts(s.hours[name]) }

// MachineDates lists when each version of a machine begins to hold, in order.
func (s *Shop) MachineDates(id MachineID) []time.Time { return starts(s.machines[id]) }

func starts[T any](versions []dated[T]) []time.Time {
	var out []time.Time
	for i := range versions {
		if n := len(out); n == 0 || !out[n-1].Equal(versions[i].from) {
			out = append(out, versions[i].from)
		}
	}
	return out
}

// Hours is the working time of a machine as it held at t; nil = always open,
// as for a machine with no calendar, or one that nobody has written down.
func (s *Shop) Hours(id MachineID, t time.Time) *calendar.Hours {
	m, ok := s.Machine(id, t)
	if !ok || m.Calendar == "" {
		return nil
	}
	h, _ := at(s.hours[m.Calendar], t)
	return h.open
}

// EachHours hands on the working times of a machine between two moments, one
// after the other as they held; nil = always open.
func (s *Shop) EachHours(id MachineID, from, to time.Time,
	take func(hours *calendar.Hours, from, to time.Time)) {
	at := from
	for _, d := range s.hourDates(id) {
		if d.After(at) && d.Before(to) {
			take(s.Hours(id, at), at, d)
			at = d
		}
	}
	if at.Before(to) {
		take(s.Hours(id, at), at, to)
	}
}

// hourDates is when the working time of a machine changed, in order: when it
// was given another calendar, and when one of those changed.
func (s *Shop) hourDates(id MachineID) (out []time.Time) {
	versions := s.machines[id]
	for i := range versions {
		if i > 0 {
			out = append(out, versions[i].from)
		}
		for k, h := range s.hours[versions[i].val.Calendar] {
			if k > 0 {
				out = append(out, h.from)
			}
		}
	}
	slices.SortFunc(out, time.Time.Compare)
	return out
}

// OpenBetween is the open time of a machine between two moments; kept reports that
// it kept to a calendar at some time of it.
func (s *Shop) OpenBetween(id MachineID, from, to time.Time) (open time.Duration, kept bool) {
	s.EachHours(id, from, to, func(h *calendar.Hours, a, b time.Time) {
		open += h.Open(a, b)
		kept = kept || h != nil
	})
	return open, kept
}

// NoCalendar reports whether no calendar was ever written.
func (s *Shop) NoCalendar() bool { return len(s.hours) == 0 }

// CentreHours is the working time of a work centre: open when any of its
// machines is. nil = always open.
func (s *Shop) CentreHours(wc WorkCentre, t time.Time) *calendar.Hours {
	var all unionKey
	n := 0
	for _, id := range s.order {
		if !s.CanWork(id, wc, t) {
			continue
		}
		h := s.Hours(id, t)
		if h == nil {
			return nil
		}
		if slices.Contains(all[:n], h) {
			continue
		}
		if n == len(all) {
			return nil // more calendars than anybody can oversee: open
		}
		all[n] = h
		n++
	}
	switch n {
	case 0:
		return nil
	case 1:
		return all[0]
	}
	if u, ok := s.unions.Load(all); ok {
		return u.(*calendar.Hours)
	}
	u, _ := s.unions.LoadOrStore(all, calendar.Union(all[:n]...))
	return u.(*calendar.Hours)
}

// unionKey is the calendars that a work centre's machines keep, in the order of
// the machines.
type unionKey [8]*calendar.Hours

// Unattended reports whether a machine may run while nobody is there.
func (s *Shop) Unattended(id MachineID, t time.Time) bool {
	m, ok := s.Machine(id, t)
	return ok && m.Unattended
}
