package calendar

import "time"

// clock is what the clocks of a zone showed during some time. Times by the clock
// are counted in seconds as though the zone were UTC.
type clock []stint

// stint is a time during which nobody changed the clock, in Unix seconds.
type stint struct{ from, to, offset int64 }

// clockOf reads the clock from one moment to another.
func clockOf(zone *time.Location, from, to int64) clock {
	var c clock
	for at := from; at < to; {
		t := time.Unix(at, 0).In(zone)
		_, offset := t.Zone()
		until := to
		if _, end := t.ZoneBounds(); !end.IsZero() {
			// On 31 December of leap years beyond a zone's table the standard
			// library gives an end that is past; an hour leads on from there.
			if until = min(to, end.Unix()); until <= at {
				until = min(to, at+hour)
			}
		}
		c = append(c, stint{at, until, int64(offset)})
		at = until
	}
	return c
}

// first is the first moment at which the clock shows a time or a later one.
func (c clock) first(shown int64) int64 {
	for _, s := range c {
		if shown < s.to+s.offset {
			return max(s.from, shown-s.offset)
		}
	}
	return c[len(c)-1].to
}

// each calls do for the shifts and the overtime that may touch a time, in Unix
// seconds, with the clock and the midnight, by that clock, of their day.
func (r *rules) each(from, to int64, do func(c clock, midnight int64, s *shift)) {
	// A clock is up to 14 h off UTC, a shift up to two days after its midnight,
	// and one island left out a whole day.
	c := clockOf(r.zone, from-6*day, to+6*day)
	for date := from/day - 4; date <= to/day+2; date++ {
		for _, shifts := range r.of(date) {
			for i := range shifts {
				do(c, date*day, &shifts[i])
			}
		}
	}
}

// bounds are the moments at which a shift begins and ends. Where its time by
// the clock was skipped they are the same.
func (s *shift) bounds(c clock, midnight int64) (from, to int64) {
	return c.first(midnight + s.from), c.first(midnight + s.to)
}

// work calls do for the stretches of a shift that no pause takes.
func (s *shift) work(c clock, midnight int64, do func(from, to int64)) {
	at, end := s.bounds(c, midnight)
	for _, p := range s.pauses {
		begin := c.first(midnight + p.from)
		if at < min(begin, end) {
			do(at, min(begin, end))
		}
		at = max(at, begin+p.length)
	}
	if at < end {
		do(at, end)
	}
}
