package demo

import (
	"time"

	"tallywalk/traveler"
)

// do spends time on a stay, as far as someone is there for it; then goes on.
func (s *Sim) do(st *stay, what traveler.Action, d time.Duration, then func()) {
	st.work = work{what: what, left: d, then: then}
	s.goOn(st)
}

// goOn goes on with the work of a stay until it is done or someone leaves.
func (s *Sim) goOn(st *stay) {
	w := &st.work
	if w.what == traveler.ActRun && st.m.Unattended {
		s.goOnAlone(st)
		return
	}
	sp, in := st.m.hours.minded(s.now)
	if !in {
		s.on(st, sp.From, func() { s.goOn(st) })
		return
	}
	w.from = s.now
	end := s.now.Add(w.left)
	if !end.After(sp.To) {
		s.on(st, end, func() { s.rest(st); w.then() })
		return
	}
	next, _ := st.m.hours.minded(sp.To)
	if next.From.Sub(sp.To) <= pauseMost {
		s.on(st, sp.To, func() {
			s.rest(st)
			s.on(st, next.From, func() { s.goOn(st) })
		})
		return
	}
	leave := sp.To.Add(-s.between(1, 5))
	if leave.Before(s.now) {
		leave = s.now
	}
	s.on(st, leave, func() {
		s.rest(st)
		s.goHome(st)
	})
}

// rest notes what was done of the work since it went on.
func (s *Sim) rest(st *stay) {
	w := &st.work
	if w.from.IsZero() {
		return
	}
	d := s.now.Sub(w.from)
	w.from = time.Time{}
	w.left -= d
	if w.what == traveler.ActRun {
		st.ran += d
		s.bank(st)
	}
}

// running reports whether a run goes on now.
func (s *Sim) running(st *stay) bool {
	return st.work.what == traveler.ActRun && !st.work.from.IsZero()
}

// goHome leaves a machine at the end of the shift, and comes back.
func (s *Sim) goHome(st *stay) {
	if st.how == countShifts && st.good+len(st.lost) > 0 {
		s.tally(st, traveler.ActCount)
	}
	why := "shift"
	if s.hours[calTwo].next(s.now.Add(10*time.Minute)).Sub(s.now) < 2*time.Hour {
		why = "person" // the others work on: nobody came here
	}
	forgot := st.quiet || why == "shift" && s.chance(0.2)
	switch {
	case st.quiet:
	case forgot:
		s.did("forgotten stop")
	default:
		s.scanAt(st, traveler.ActStop, func(sc *traveler.Scan) { sc.Reason = why })
	}
	back := st.m.hours.next(s.now.Add(10 * time.Minute)).Add(s.between(2, 8))
	s.on(st, back, func() {
		if !forgot {
			s.scanAt(st, st.work.what, nil)
		}
		s.goOn(st)
	})
}

// barLasts and palletsLast are how long a machine runs alone before its bars, or its
// pallets, are used up: median, in minutes.
const barLasts, palletsLast = 480, 280

// alone is how long a machine runs on alone, and why it stops then.
func (st *stay) alone() (lasts float64, why string) {
	if fromBar(st.op) {
		return barLasts, "bar"
	}
	return palletsLast, "material"
}

// goOnAlone runs a machine that needs nobody, until something is used up.
func (s *Sim) goOnAlone(st *stay) {
	w := &st.work
	w.from = s.now
	end := s.now.Add(w.left)
	done := func() { s.rest(st); w.then() }
	sp, in := st.m.hours.day(s.now)
	if in {
		st.until = time.Time{}
		if !end.After(sp.To) {
			s.on(st, end, done)
			return
		}
		s.on(st, sp.To, func() { s.rest(st); s.nightfall(st) })
		return
	}
	_, why := st.alone()
	switch {
	case !end.After(st.until) && !end.After(sp.From):
		s.on(st, end, done)
	case st.until.Before(sp.From):
		s.on(st, st.until, func() { s.rest(st); s.foundStopped(st, why) })
	default:
		s.on(st, sp.From, func() { s.rest(st); s.goOn(st) })
	}
}

// nightfall leaves a machine that runs on.
func (s *Sim) nightfall(st *stay) {
	s.did("night running")
	if st.how == countShifts && st.good+len(st.lost) > 0 {
		s.tally(st, traveler.ActCount)
	}
	lasts, _ := st.alone()
	st.until = s.now.Add(s.minutes(lasts, 0.4))
	s.goOn(st)
}

// foundStopped is a machine that stopped alone, and is found so when someone
// comes.
func (s *Sim) foundStopped(st *stay, why string) {
	stopped := s.now
	comes, in := st.m.hours.day(s.now)
	found := comes.From.Add(s.between(3, 15))
	if in {
		found = s.now.Add(s.between(2, 10))
	}
	s.on(st, found, func() {
		s.scanAt(st, traveler.ActStop, func(sc *traveler.Scan) {
			sc.Reason = why
			if found.Sub(stopped) > 20*time.Minute && !s.chance(0.04) {
				s.did("found stopped in the morning")
				sc.Happened = &stopped
			}
		})
		s.on(st, st.m.hours.spend(s.now, s.minutes(9, 0.5)), func() {
			s.scanAt(st, traveler.ActRun, nil)
			s.goRun(st)
		})
	})
}

// minded reports whether someone is at the machine of a stay.
func (s *Sim) minded(st *stay) bool {
	_, in := st.m.hours.day(s.now)
	return in
}
