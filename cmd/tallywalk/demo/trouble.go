package demo

import (
	"time"

	"tallywalk/traveler"
)

// worthBreaking is how much of a run must be left for a hot job to break into it, and
// breaksIn how often it then does: to set a machine twice costs more than it saves.
const worthBreaking, breaksIn = 2 * time.Hour, 0.3

// makeWay lets a hot job break into a run. It is true when it does.
func (s *Sim) makeWay(st *stay) bool {
	m := st.m
	left := st.cycle * time.Duration(st.total-st.made)
	if st.j.hot() || m.parked != nil || left < worthBreaking || !s.chance(breaksIn) {
		return false // it goes next
	}
	if next, _ := s.best(m); next == nil || !next.hot() || next.barred {
		return false
	}
	s.did("hot job")
	if st.good+len(st.lost) > 0 {
		s.tally(st, traveler.ActCount)
	}
	s.scanAt(st, traveler.ActStop, func(sc *traveler.Scan) { sc.Reason = "hot" })
	st.gen++
	m.parked, m.cur = st, nil
	s.wake(m, s.now.Add(s.between(1, 3)))
	return true
}

// unpark sets a machine for the job again that a hot one broke into.
func (s *Sim) unpark(m *simMachine) {
	st := m.parked
	m.parked, m.cur = nil, st
	s.scanAt(st, traveler.ActSetup, nil)
	d := minutes(s.around(max(4, st.op.SetupMin*0.6), trueSetupSpread))
	s.do(st, traveler.ActSetup, d, func() {
		s.scanAt(st, traveler.ActRun, func(sc *traveler.Scan) {
			if st.how == countReads {
				n := st.reads + st.made
				sc.Reads = &n
			}
		})
		s.goRun(st)
	})
}

// toTwin moves a job to the twin when its machine is broken for long. It is
// true when it does.
func (s *Sim) toTwin(st *stay, again time.Time) bool {
	m, twin := st.m, s.twin(st.m)
	left := st.cycle * time.Duration(st.total-st.made)
	if twin == nil || m.parked != nil || again.Sub(s.now) < 90*time.Minute || left < time.Hour ||
		twin.down.After(s.now) {
		return false
	}
	s.did("broken down, to the twin")
	m.down = again
	s.on(st, m.hours.spend(s.now, s.between(15, 50)), func() {
		if st.good+len(st.lost) > 0 {
			s.tally(st, traveler.ActCount)
		}
		j := st.j
		st.gen++
		m.cur, j.stay = nil, nil
		s.wake(m, again)
		j.place = twin.ID
		j.prio = max(j.prio, 1)
		twin.wait = append(twin.wait, j)
		s.wake(twin, s.now.Add(s.between(3, 8)))
	})
	return true
}

// slip counts a wrong number and takes it back at once.
func (s *Sim) slip(st *stay) {
	s.did("slip taken back")
	if !st.m.dev.alone {
		s.flush() // both go together: a slip is taken back within two minutes
	}
	wrong := st.good + min(3, st.j.left)
	if st.j.left == 0 {
		wrong = st.good - min(1, st.good)
	}
	id := s.scanAt(st, traveler.ActCount, func(sc *traveler.Scan) { sc.Good = &wrong })
	who := s.who(st.m)
	s.on(st, s.now.Add(25*time.Second), func() {
		s.scanAt(st, traveler.ActUndo,
			func(sc *traveler.Scan) { sc.For, sc.Operator, sc.Operation = string(id), who, 0 })
		s.on(st, s.now.Add(20*time.Second), func() { s.tally(st, traveler.ActCount) })
	})
}

// wrongCard counts on the card of the job at the twin; within the hour the
// supervisor says which card was meant.
func (s *Sim) wrongCard(st *stay) bool {
	twin := s.twin(st.m)
	if twin == nil || twin.cur == nil || len(st.lost) > 0 || st.good == 0 {
		return false
	}
	other := twin.cur
	if other.work.what != traveler.ActRun || other.j.left < st.good+2 || other.how == countReads {
		return false
	}
	s.did("wrong card")
	good := st.good
	id := s.scanAt(st, traveler.ActCount, func(sc *traveler.Scan) {
		sc.Card, sc.Operation, sc.Good = string(other.j.card), other.op.Number, &good
	})
	st.j.good += good
	st.said, st.good = st.made, 0
	right, n := st.j, st.op.Number
	s.after(s.between(20, 50), func() {
		s.officeSay(traveler.Scan{Card: string(right.card), Action: traveler.ActCorrect, For: string(id),
			Operation: n, Note: "cards swapped"})
	})
	return true
}
