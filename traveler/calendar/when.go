package calendar

import "time"

const (
	aheadYears = 2
	backDays   = 14
)

// around is the stretch that t lies in, or else the next one, if it begins
// within two years.
func (h *Hours) around(t time.Time) (from, to time.Time, ok bool) {
	for a, b := range h.stretches(t.Unix(), t.AddDate(aheadYears, 0, 0).Unix()) {
		from, to = time.Unix(a, 0).UTC(), time.Unix(b, 0).UTC()
		return from, to, !from.After(t.AddDate(aheadYears, 0, 0))
	}
	return from, to, false
}

// IsOpen reports whether it is open at t.
func (h *Hours) IsOpen(t time.Time) bool {
	if h == nil {
		return true
	}
	if t.Unix() < 0 || t.Unix() >= known {
		return false
	}
	i, into := place(t)
	s, ok := h.chunk(i).last(into)
	return ok && into < seconds(s.to)
}

// Next is when it is next open: t itself if it is. False means not within two
// years.
func (h *Hours) Next(t time.Time) (time.Time, bool) {
	if h == nil {
		return t, true
	}
	from, _, ok := h.around(t)
	if !ok {
		return time.Time{}, false
	}
	if !from.After(t) {
		return t, true
	}
	return from, true
}

// End is when the open stretch that t lies in ends: at a break, or at the end of
// a shift that no other follows at once. False means that it is closed at t, or
// stays open for more than two years.
func (h *Hours) End(t time.Time) (time.Time, bool) {
	if h == nil {
		return time.Time{}, false
	}
	from, to, ok := h.around(t)
	if !ok || from.After(t) || to.After(t.AddDate(aheadYears, 0, 0)) {
		return time.Time{}, false
	}
	return to, true
}

// LastBreak is the beginning of the last break that began at t or before. It
// looks back 14 days; a union takes the latest of its calendars.
func (h *Hours) LastBreak(t time.Time) (time.Time, bool) {
	return h.last(t, func(c clock, midnight int64, s *shift, note func(int64)) {
		from, to := s.bounds(c, midnight)
		for _, p := range s.pauses {
			if at := c.first(midnight + p.from); from <= at && at < to {
				note(at)
			}
		}
	})
}

// LastEnd is the end of the last shift or overtime that ended at t or before,
// even if another followed at once. It looks back 14 days; a union takes the
// latest of its calendars.
func (h *Hours) LastEnd(t time.Time) (time.Time, bool) {
	return h.last(t, func(c clock, midnight int64, s *shift, note func(int64)) {
		if from, to := s.bounds(c, midnight); from < to {
			note(to)
		}
	})
}

// NextEnd is the end of the first shift or overtime that ends after t, even if another
// follows at once. False means that none ends within 14 days, or that no calendar is
// kept; a union takes the earliest of its calendars.
func (h *Hours) NextEnd(t time.Time) (time.Time, bool) {
	if h == nil {
		return time.Time{}, false
	}
	var best time.Time
	found := false
	take := func(at time.Time) {
		if at.After(t) && (!found || at.Before(best)) {
			best, found = at, true
		}
	}
	for _, p := range h.parts {
		if at, ok := p.NextEnd(t); ok {
			take(at)
		}
	}
	if h.rules != nil {
		h.rules.each(t.Unix()-2*day, t.Unix()+backDays*day, func(c clock, midnight int64, s *shift) {
			if from, to := s.bounds(c, midnight); from < to {
				take(time.Unix(to, 0).UTC())
			}
		})
	}
	return best, found
}

// last is the latest moment noted that is not after t.
func (h *Hours) last(t time.Time, marks func(c clock, midnight int64, s *shift, note func(int64))) (time.Time,
	bool) {
	if h == nil {
		return time.Time{}, false
	}
	var best time.Time
	found := false
	take := func(at time.Time) {
		if !at.After(t) && !at.Before(t.AddDate(0, 0, -backDays)) && (!found || at.After(best)) {
			best, found = at, true
		}
	}
	for _, p := range h.parts {
		if at, ok := p.last(t, marks); ok {
			take(at)
		}
	}
	if h.rules != nil {
		h.rules.each(t.Unix()-backDays*day, t.Unix(), func(c clock, midnight int64, s *shift) {
			marks(c, midnight, s, func(at int64) { take(time.Unix(at, 0).UTC()) })
		})
	}
	return best, found
}
