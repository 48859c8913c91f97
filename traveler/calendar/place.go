package calendar

import (
	"slices"
	"time"
)

// place puts the shifts on their days and the breaks into their shifts.
func (r *reader) place(c *Calendar) *Fault {
	if f := r.overlap(c); f != nil {
		return f
	}
	for i := range r.shifts {
		for d, on := range r.shifts[i].days {
			if on {
				r.rules.week[d] = append(r.rules.week[d], shift{from: r.shifts[i].from, to: r.shifts[i].to})
			}
		}
	}
	for i := range r.breaks {
		if f := r.pause(c, &r.breaks[i]); f != nil {
			return f
		}
	}
	r.rules.sortShifts()
	return nil
}

// overlap finds two shifts that would be on at once, of one day or of two that
// follow each other.
func (r *reader) overlap(c *Calendar) *Fault {
	type begun struct {
		from, to int64 // seconds since Sunday's midnight
		of       *weekly
		day      time.Weekday
	}
	var all []begun
	for i := range r.shifts {
		s := &r.shifts[i]
		for d, on := range s.days {
			if on {
				midnight := int64(d) * day
				all = append(all, begun{midnight + s.from, midnight + s.to, s, time.Weekday(d)})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b begun) int { return int(a.from - b.from) })
	for i := range all {
		a, b := all[i], all[(i+1)%len(all)]
		if i == len(all)-1 {
			b.from += week
		}
		if a.to <= b.from {
			continue
		}
		if a.of.turn > b.of.turn {
			a, b = b, a
		}
		return &Fault{b.of.turn, "from", c.Turns[b.of.turn].From,
			"makes the shift of " + short(b.day) + " overlap the shift " +
				a.of.text(c) + " of " + short(a.day) + "; let one end before the other begins"}
	}
	return nil
}

// pause puts a break into each shift that it lies in, on each of its days. On a
// day that has no such shift there is nothing to pause; but there must be one
// day, and the edge of a shift may not cut it.
func (r *reader) pause(c *Calendar, b *weekly) *Fault {
	placed := false
	for d, on := range b.days {
		if !on {
			continue
		}
		in, cut := r.pauseOn(time.Weekday(d), b)
		if !in && cut != nil {
			return &Fault{b.turn, "from", c.Turns[b.turn].From,
				"makes the break lie only partly in the shift " + cut.text(c) + " of " +
					short(time.Weekday(d)) + "; give each shift a break of its own"}
		}
		placed = placed || in
	}
	if !placed {
		return &Fault{b.turn, "from", c.Turns[b.turn].From,
			"makes the break lie outside every shift of its days; a break belongs to the day on which its shift began"}
	}
	return nil
}

// pauseOn puts a break into the shifts of a day. It returns whether there was
// one, or else a shift whose edge cuts the break.
func (r *reader) pauseOn(d time.Weekday, b *weekly) (in bool, cut *weekly) {
	length := b.to - b.from
	for i := range r.shifts {
		s := &r.shifts[i]
		if !s.days[d] {
			continue
		}
		for _, from := range [2]int64{b.from, b.from + day} {
			to := from + length
			switch {
			case s.from <= from && to <= s.to:
				of := r.rules.find(d, s.from)
				of.pauses = append(of.pauses, pause{from, length})
				in = true
			case from < s.to && s.from < to:
				cut = s
			}
		}
	}
	return in, cut
}

// find is the shift of a day that begins at a time; no two do.
func (r *rules) find(d time.Weekday, from int64) *shift {
	i := slices.IndexFunc(r.week[d], func(s shift) bool { return s.from == from })
	return &r.week[d][i]
}
