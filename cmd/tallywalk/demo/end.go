package demo

import (
	"time"

	"tallywalk/traveler"
)

// ended is the last piece of a run made: in the dark someone finds it so in
// the morning.
func (s *Sim) ended(st *stay) {
	s.make(st, st.total)
	if s.minded(st) {
		notices := s.between(0.3, 2.5)
		if st.m.Kind != "" {
			notices = s.between(0.1, 0.6) // the last piece is in someone's hand
		}
		s.on(st, s.now.Add(notices), func() { s.finish(st, time.Time{}) })
		return
	}
	was := s.now
	sp, _ := st.m.hours.day(s.now)
	s.on(st, sp.From.Add(s.between(3, 14)), func() { s.finish(st, was) })
}

// finish ends a visit, mostly as one should.
func (s *Sim) finish(st *stay, was time.Time) {
	j := st.j
	when := func(sc *traveler.Scan) {
		if !was.IsZero() {
			s.did("ended in the night")
			sc.Happened = &was
		}
	}
	st.lost = sorted(st.lost)
	switch x := s.rng.Float64(); {
	case st.quiet:
		j.good += st.good
	case st.rework+st.review > 0:
		s.tallyOf(st, traveler.ActFinish, 0, when)
	case x < 0.025 && !j.last():
		s.forgotFinish(st)
	case x < 0.052 && st.good > 3:
		s.oneMissing(st, when)
	case x < 0.066 && st.good > 3 && j.k > 0:
		s.did("counted too many")
		s.tallyOf(st, traveler.ActFinish, 2, when)
	default:
		s.tallyOf(st, traveler.ActFinish, 0, when)
	}
	s.release(st)
	if j.last() {
		s.inspected(j, st)
		return
	}
	if n := j.mend; n > 0 {
		j.mend = 0
		s.mendPieces(st, n)
		return
	}
	s.onward(j)
}

// forgotFinish leaves a visit without its end: the card is read elsewhere next.
func (s *Sim) forgotFinish(st *stay) {
	s.did("forgotten finish")
	if s.chance(0.7) {
		s.tally(st, traveler.ActCount)
		return
	}
	st.j.good += st.good
	st.good, st.lost = 0, nil
}

// oneMissing is a piece that is nowhere: someone says so, or it is simply not
// counted.
func (s *Sim) oneMissing(st *stay, when func(*traveler.Scan)) {
	s.did("missing piece")
	st.good--
	says := s.chance(0.5) && st.how != countReads
	s.tallyOf(st, traveler.ActFinish, 0, func(sc *traveler.Scan) {
		when(sc)
		if says {
			one := 1
			sc.Missing = &one
		}
		if st.how == countReads {
			n := *sc.Reads - 1
			sc.Reads = &n
		}
	})
}

// release frees the machine of a stay.
func (s *Sim) release(st *stay) {
	st.gen++
	st.j.stay = nil
	if st.m.cur == st {
		st.m.cur = nil
		s.wake(st.m, s.now.Add(s.between(1, 6)))
	}
}

// mendPieces reworks set-up pieces on the same machine, then lets all go on.
func (s *Sim) mendPieces(st *stay, n int) {
	j, m := st.j, st.m
	fix := traveler.Scan{Station: string(m.ID), Card: j.ref(), Operation: st.op.Number,
		For: st.op.Number.String()}
	s.at(m.hours.spend(s.now, s.between(4, 15)), func() {
		run := fix
		run.Action, run.Operator = traveler.ActRun, s.who(m)
		s.say(run, traveler.RoleOperator)
		s.at(m.hours.spend(s.now, st.cycle*time.Duration(n)+s.between(2, 8)), func() {
			end := fix
			end.Action, end.Operator, end.Good = traveler.ActFinish, s.who(m), &n
			s.say(end, traveler.RoleOperator)
			j.good += n
			s.onward(j)
		})
	})
}
