package demo

import (
	"time"

	"tallywalk/traveler"
)

// sendAhead carries the first trays to the bench while the rest still runs: the
// bench pulls from the tray all day.
func (s *Sim) sendAhead(st *stay) {
	j := st.j
	n := j.good
	if j.ahead > 0 || j.k+1 >= len(j.ops) || j.ops[j.k+1].WorkCentre != wcBench || n < 10 || !s.chance(0.15) {
		return
	}
	next, bench := &j.ops[j.k+1], s.named[atBench]
	takes := minutes(float64(n) * next.MinPerPiece() * TrueCycle)
	if st.cycle*time.Duration(st.total-st.made) < takes+time.Hour {
		return // the rest is soon there
	}
	s.did("sent ahead")
	j.ahead, j.aheadOp = n, next.Number
	scan := func(act traveler.Action) *traveler.Scan {
		return &traveler.Scan{Station: atBench, Card: string(j.card), Action: act, Operator: s.who(bench),
			Operation: next.Number}
	}
	s.at(bench.hours.spend(s.now, s.between(10, 25)), func() {
		s.say(*scan(traveler.ActRun), traveler.RoleOperator)
		j.ready = bench.hours.spend(s.now, takes)
		s.at(j.ready, func() {
			count := scan(traveler.ActCount)
			count.Good = &n
			s.say(*count, traveler.RoleOperator)
			stop := scan(traveler.ActStop)
			stop.Reason = "material"
			s.after(30*time.Second, func() {
				if j.k < len(j.ops) && j.op().Number < next.Number {
					stop.Operator = s.who(bench)
					s.say(*stop, traveler.RoleOperator)
				}
			})
		})
	})
}

// box splits some pieces off a job because they are urgent. They go on alone
// and are joined again in the measuring room.
func (s *Sim) box(j *job, m *simMachine) {
	if j.pieces < 30 || len(j.ops)-1-j.k < 2 || j.parent != nil || j.child != nil || len(j.hidden) > 0 ||
		s.device(string(m.ID)).alone {
		return
	}
	if j.op().Outside() || j.typed {
		return
	}
	n := j.pieces / 4
	id := s.say(traveler.Scan{Station: string(m.ID), Card: string(j.card), Action: traveler.ActSplit,
		Operator: s.who(m), Pieces: n, Operation: j.op().Number, Reason: "urgent"}, traveler.RoleOperator)
	s.flush()
	card := s.issued[id]
	if card == "" {
		return
	}
	s.did("split box")
	c := &job{
		card: card, order: j.order, part: j.part, rev: j.rev, ops: j.ops, k: j.k, pieces: n, left: n,
		due: j.due, prio: hotPrio - 1,
		place: j.place, parent: j,
	}
	s.enter(c)
	s.counts.batches--
	j.child = c
	j.pieces -= n
	j.left = j.pieces
	j.several = true
	s.carry(c)
}

// meet lets a job wait for its box, or a box for its job, before the last
// operation, and joins them when both are there.
func (s *Sim) meet(j *job) {
	metro := s.named[atMetro]
	s.at(metro.hours.next(s.now.Add(s.walk(j.place, atMetro))), func() {
		j.place = atMetro
		s.say(traveler.Scan{Station: atMetro, Card: string(j.card), Action: traveler.ActArrive,
			Operator: s.who(metro), Operation: j.op().Number}, traveler.RoleInspector)
		parent, child := j, j.child
		if j.parent != nil {
			parent, child = j.parent, j
		}
		j.met = true
		other := parent
		if j == parent {
			other = child
		}
		if other.over || !other.met {
			return // the other one will find this one here
		}
		s.at(metro.hours.spend(s.now, s.between(3, 12)), func() { s.join(parent, child, metro) })
	})
}

// joined reports whether a box is known to have been joined.
func (s *Sim) joined(child *job) bool {
	f, err := s.desk.Family(child.card)
	if err != nil {
		s.fail(err)
		return false
	}
	i := f.Index(child.card)
	return i >= 0 && f.Batches[i].Joined != ""
}

// join joins a box to its job again.
func (s *Sim) join(parent, child *job, metro *simMachine) {
	s.flush()
	s.say(traveler.Scan{Station: atMetro, Card: string(parent.card), Action: traveler.ActJoin,
		Operator: s.who(metro), For: string(child.card)}, traveler.RoleInspector)
	s.flush()
	parent.child, child.parent = nil, nil
	if !s.joined(child) {
		// They go on as two.
		parent.apart, child.apart = true, true
		s.arrive(child, metro)
	} else {
		s.did("box joined")
		parent.pieces += child.pieces
		parent.left = parent.pieces
		parent.hidden = append(parent.hidden, child.hidden...)
		s.leave(child)
	}
	s.arrive(parent, metro)
}
