package demo

import (
	"fmt"
	"time"

	"tallywalk/traveler"
)

// inspected is a job out of the measuring room: the good pieces go on to the
// dock, others back to the bench, others wait for a decision.
func (s *Sim) inspected(j *job, st *stay) {
	rework, review := st.rework, st.review
	j.aside += rework + review
	if rework > 0 {
		s.did("rework")
		s.reworkAt(j, rework)
	}
	if review > 0 {
		s.did("review")
		metro := s.named[atMetro]
		s.at(metro.hours.spend(s.now, s.minutes(420, 0.7)), func() { s.decide(j, review) })
	}
	if j.aside > 0 && s.chance(0.6) {
		return // all wait for the last ones
	}
	s.onward(j)
}

// settle takes pieces that were aside back among the good ones, or not.
func (s *Sim) settle(j *job, n, good int) {
	j.aside -= n
	j.good += good
	if j.aside == 0 {
		j.out[j.op().Number] += good
		if j.good > 0 || j.pieces == 0 {
			s.finalPack(j)
		}
	}
}

// finalPack sends what is good to the dock.
func (s *Sim) finalPack(j *job) {
	n := j.good
	j.good = 0
	if n == 0 {
		s.lost(j)
		return
	}
	s.toDock(j, n)
}

// reworkAt carries pieces back to the bench and to the measuring room again.
func (s *Sim) reworkAt(j *job, n int) {
	bench, metro := s.named[atBench], s.named[atMetro]
	q := j.op().Number
	at := q // no bench in the route: what it mends is good there
	if k := j.opAt(wcBench); k >= 0 {
		at = j.ops[k].Number
	}
	say := func(m *simMachine, op traveler.Op, act traveler.Action, role traveler.Role, good, scrap int) {
		sc := traveler.Scan{Station: string(m.ID), Card: string(j.card), Action: act, Operator: s.who(m),
			Operation: op, For: q.String()}
		if act == traveler.ActFinish {
			sc.Good = &good
			if scrap > 0 {
				sc.Scrap = []traveler.Loss{{Reason: "surface", N: scrap}}
			}
		}
		s.say(sc, role)
	}
	scrap := s.of(n, 0.15)
	s.at(bench.hours.spend(s.now, s.between(20, 150)), func() {
		say(bench, at, traveler.ActRun, traveler.RoleOperator, 0, 0)
		s.at(bench.hours.spend(s.now, s.between(6, 25)), func() {
			say(bench, at, traveler.ActFinish, traveler.RoleOperator, n-scrap, scrap)
			if n == scrap || at == q {
				s.settle(j, n, n-scrap)
				return
			}
			s.at(metro.hours.spend(s.now, s.between(15, 90)), func() {
				say(metro, q, traveler.ActRun, traveler.RoleInspector, 0, 0)
				s.at(metro.hours.spend(s.now, s.between(3, 10)), func() {
					say(metro, q, traveler.ActFinish, traveler.RoleInspector, n-scrap, 0)
					s.settle(j, n, n-scrap)
				})
			})
		})
	})
}

// decide says what becomes of reviewed pieces.
func (s *Sim) decide(j *job, n int) {
	metro := s.named[atMetro]
	sc := traveler.Scan{Station: atMetro, Card: string(j.card), Action: traveler.ActDecide,
		Operator: s.who(metro), Operation: j.op().Number}
	what := s.choose([]weighed{{"good", 35}, {"concession", 25}, {"rework", 15}, {"scrap", 25}})
	s.did("review: " + what)
	good := 0
	switch what {
	case "good":
		good, sc.Good = n, &n
	case "concession":
		s.notes++
		good, sc.Good, sc.Reason, sc.Note = n, &n, "concession", fmt.Sprintf("concession %d", s.notes)
	case "rework":
		sc.Rework = []traveler.Loss{{Reason: "burr", N: n}}
	case "scrap":
		sc.Scrap = []traveler.Loss{{Reason: "wear", N: n}}
	}
	s.say(sc, traveler.RoleInspector)
	if what == "rework" {
		s.after(time.Minute, func() { s.reworkAt(j, n) })
		return
	}
	s.settle(j, n, good)
}

// pack is a job whose operations are done.
func (s *Sim) pack(j *job) {
	j.out[j.op().Number] = j.pieces
	n := j.pieces
	j.pieces = 0
	s.toDock(j, n)
}

// toDock carries pieces to the dock, from where they go with the next van.
func (s *Sim) toDock(j *job, n int) {
	dock := s.named[atDock]
	j.packed += n
	s.at(dock.hours.next(s.now.Add(s.walk(j.place, atDock))), func() {
		if s.chance(0.85) {
			s.put(j, atDock)
		}
		if n > 40 && s.chance(0.05) {
			s.did("part delivery")
			part := n * 3 / 5
			s.at(s.van(s.now), func() { s.deliver(j, part) })
			s.at(s.van(s.now.AddDate(0, 0, 2)), func() { s.deliver(j, n-part) })
			return
		}
		s.at(s.van(s.now), func() { s.deliver(j, n) })
	})
}

// van is the next time the customers' van is loaded: each working day after
// two.
func (s *Sim) van(t time.Time) time.Time {
	day := midnight(t.In(s.zone))
	for range 60 {
		at := clockOn(day, 14, 10).Add(s.between(0, 50))
		if at.After(t) && s.hours[calDay].next(at).Equal(at) {
			return at
		}
		day = day.AddDate(0, 0, 1)
	}
	return t
}

func (s *Sim) deliver(j *job, n int) {
	if j.held {
		s.at(s.van(s.now.Add(time.Hour)), func() { s.deliver(j, n) })
		return
	}
	s.notes++
	s.say(traveler.Scan{Station: atDock, Card: string(j.card), Action: traveler.ActDeliver, Operator: "25",
		Pieces: n, Note: fmt.Sprintf("delivery note %d", 8000+s.notes)}, traveler.RoleOperator)
	j.packed -= n
	j.delivered += n
	if j.packed == 0 && j.aside == 0 && !j.over {
		s.leave(j)
	}
}
