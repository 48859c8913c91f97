package demo

import (
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// mishap is what may befall a job between two operations. It is true when the
// job is not carried on as usual.
func (s *Sim) mishap(j *job) bool {
	m := s.named[j.place]
	if m == nil {
		return false
	}
	switch x := s.rng.Float64(); {
	case x < 0.012:
		s.box(j, m)
	case x < 0.015:
		s.addOp(j)
	case x < 0.017:
		return s.cancel(j)
	case x < 0.022:
		s.hold(j, s.between(180, 1400))
	case x < 0.03:
		s.hurry(j)
	}
	return false
}

// officeSay is what the supervisor says at a desk.
func (s *Sim) officeSay(sc traveler.Scan) traveler.ScanID {
	sc.Station, sc.Operator = traveler.Office, "51"
	return s.say(sc, traveler.RoleSupervisor)
}

// addOp adds an operation before the next one.
func (s *Sim) addOp(j *job) {
	if j.op().Outside() || j.op().WorkCentre == wcBench || j.parent != nil || j.child != nil {
		return
	}
	before := traveler.Op(0)
	if j.k > 0 {
		before = j.ops[j.k-1].Number
	}
	n := before + 5
	if n >= j.op().Number {
		return
	}
	s.did("operation added")
	s.officeSay(traveler.Scan{Card: string(j.card), Action: traveler.ActOverride, For: story.OverrideAdd,
		Operation: n, To: wcBench, Note: "break the edges of the bore"})
	ops := append([]traveler.Operation(nil), j.ops[:j.k]...)
	ops = append(ops,
		traveler.Operation{Number: n, WorkCentre: wcBench, PiecesPerCycle: 1, AddedOnFloor: true})
	j.ops = append(ops, j.ops[j.k:]...)
}

// cancel ends a job half done; what is good goes to stock.
func (s *Sim) cancel(j *job) bool {
	if j.parent != nil || j.child != nil || j.aside > 0 || j.packed > 0 || j.hot() {
		return false
	}
	s.did("cancelled")
	stock := j.pieces
	s.at(s.hours[calDay].next(s.now.Add(s.between(20, 200))), func() {
		s.officeSay(traveler.Scan{Card: string(j.card), Action: traveler.ActCancel, Good: &stock,
			Reason: "other", Note: "order withdrawn, to stock"})
		s.leave(j)
	})
	return true
}

// hold bars a job until an inspector frees it.
func (s *Sim) hold(j *job, lasts time.Duration) {
	metro := s.named[atMetro]
	s.did("held")
	j.held = true
	s.say(traveler.Scan{Station: atMetro, Card: string(j.card), Action: traveler.ActHold,
		Operator: s.who(metro), Reason: s.choose(holds(j))}, traveler.RoleInspector)
	s.at(metro.hours.next(s.now.Add(lasts)), func() {
		if j.over {
			return
		}
		j.held = false
		s.say(traveler.Scan{Station: atMetro, Card: string(j.card), Action: traveler.ActFree,
			Operator: s.who(metro)}, traveler.RoleInspector)
		if m := s.waitsAt(j); m != nil {
			s.wake(m, s.now.Add(s.between(2, 15)))
		}
	})
}

// holds is why an inspector may bar a job.
func holds(j *job) []weighed {
	why := []weighed{{"gauge out of date", 2}, {"material certificate is missing", 2},
		{"size at the limit", 1}}
	for i := range j.ops[:j.k] {
		switch j.ops[i].WorkCentre {
		case wcHarden:
			why = append(why, weighed{"hardness to be checked", 4})
		case wcCoat:
			why = append(why, weighed{"coating thickness to be checked", 4})
		}
	}
	return why
}

// hurry makes a job hot: the customer rang.
func (s *Sim) hurry(j *job) {
	if j.hot() {
		return
	}
	j.prio = hotPrio
	s.officeSay(traveler.Scan{Card: string(j.card), Action: traveler.ActOverride, For: story.OverrideHot,
		Pieces: 1, Reason: "customer rang"})
}

// bar is a job whose drawing was superseded: the machine's people find out, and
// the supervisor decides.
func (s *Sim) bar(st *stay) {
	j, m := st.j, st.m
	s.did("superseded drawing")
	s.scanAt(st, traveler.ActSetup, nil)
	m.wait = append(m.wait, j)
	j.ready = s.now.Add(4 * 24 * time.Hour)
	s.at(s.hours[calDay].spend(s.now, s.minutes(120, 0.8)), func() { s.decideDrawing(j) })
	s.wake(m, s.now.Add(s.between(4, 9)))
}

// decideDrawing says whether a job of a superseded drawing goes on.
func (s *Sim) decideDrawing(j *job) {
	if j.over || !j.barred {
		return
	}
	j.barred = false
	if j.k == 0 && s.chance(0.5) {
		s.officeSay(traveler.Scan{Card: string(j.card), Action: traveler.ActDecide, For: story.ForDrawing,
			Reason: "stop", Note: "change note 118: not to be made any more"})
		none := 0
		s.after(s.between(1, 3), func() {
			s.officeSay(traveler.Scan{Card: string(j.card), Action: traveler.ActCancel, Good: &none,
				Note: "change note 118"})
			if m := s.waitsAt(j); m != nil {
				m.forget(j)
			}
			s.leave(j)
		})
		return
	}
	s.officeSay(traveler.Scan{Card: string(j.card), Action: traveler.ActDecide, For: story.ForDrawing,
		Reason: "use", Note: "change note 118: use up"})
	j.ready = s.now
	if m := s.waitsAt(j); m != nil {
		s.wake(m, s.now.Add(s.between(3, 20)))
	}
}
