package main

import (
	"context"
	"time"

	"tallywalk/traveler"
)

// scan makes a scan of the invented floor as of now. What the floor refuses is
// let be, as people do.
func (s *sim) scan(ctx context.Context, desk traveler.Desk, j *job, act traveler.Action, more func(*traveler.Scan)) error {
	sc := traveler.Scan{ID: s.id(), At: s.clock.now(), Station: string(j.m), Card: string(j.card), Action: act, Operator: j.who, Operation: j.ops[j.k].Number}
	if more != nil {
		more(&sc)
	}
	role := traveler.RoleOperator
	if act == traveler.ActFirstOff || act == traveler.ActDecide || act == traveler.ActHold || act == traveler.ActFree {
		role = traveler.RoleInspector
	}
	answers, err := desk.Scans(ctx, []traveler.Said{{By: traveler.Actor{Name: "station " + string(j.m), Role: role}, Scan: sc}})
	if err != nil {
		return err
	}
	return answers[0].Err
}

func (s *sim) then(d time.Duration, do func(context.Context, traveler.Desk) error) {
	s.at(s.clock.now().Add(d), do)
}

// arrive brings a batch to the machine of its work centre that is free first.
func (s *sim) arrive(j *job) func(context.Context, traveler.Desk) error {
	return func(ctx context.Context, desk traveler.Desk) error {
		now := s.clock.now()
		o := &j.ops[j.k]
		j.m = ""
		for _, m := range desk.Shop().Machines(now) {
			if m.WorkCentre == o.WorkCentre && (j.m == "" || s.free[m.ID].Before(s.free[j.m])) {
				j.m = m.ID
			}
		}
		j.who = []traveler.PersonID{"11", "12", "13", "14"}[s.rng.IntN(4)]
		if s.chance(0.6) {
			if err := s.scan(ctx, desk, j, traveler.ActArrive, nil); err != nil {
				return err
			}
		}
		if s.chance(0.15) {
			why := []string{"tool", "program", "gauge", "material", "person"}[s.rng.IntN(5)]
			if err := s.scan(ctx, desk, j, traveler.ActStop, func(sc *traveler.Scan) { sc.Reason = why }); err != nil {
				return err
			}
		}
		start := now.Add(s.minutes(6))
		if s.free[j.m].After(start) {
			start = s.free[j.m].Add(s.minutes(5))
		}
		s.free[j.m] = start.Add(time.Duration((o.SetupMin + o.MinPerPiece()*float64(j.pieces)) * float64(time.Minute)))
		if o.Outside() {
			s.at(start, s.send(j))
			return nil
		}
		s.at(start, s.setup(j))
		return nil
	}
}

func (s *sim) send(j *job) func(context.Context, traveler.Desk) error {
	return func(ctx context.Context, desk traveler.Desk) error {
		o := &j.ops[j.k]
		s.then(s.minutes(o.OutsideDays*24*60), func(ctx context.Context, desk traveler.Desk) error {
			if err := s.scan(ctx, desk, j, traveler.ActReceive, func(sc *traveler.Scan) { sc.Good, sc.Note = &j.pieces, "certificate" }); err != nil {
				return err
			}
			s.onward(j)
			return nil
		})
		return s.scan(ctx, desk, j, traveler.ActSend, func(sc *traveler.Scan) { sc.Pieces = j.pieces })
	}
}

func (s *sim) setup(j *job) func(context.Context, traveler.Desk) error {
	return func(ctx context.Context, desk traveler.Desk) error {
		if s.busy[j.m] {
			s.then(s.minutes(12), s.setup(j))
			return nil
		}
		s.busy[j.m] = true
		o := &j.ops[j.k]
		j.toDo, j.count = j.pieces, s.chance(0.7)
		d := s.minutes(max(1, o.SetupMin*1.2))
		if o.FirstOff {
			s.then(d, s.firstOff(j))
		} else {
			s.then(d, s.begin(j))
		}
		if o.SetupMin < 3 && s.chance(0.7) {
			return nil
		}
		return s.scan(ctx, desk, j, traveler.ActSetup, nil)
	}
}

func (s *sim) firstOff(j *job) func(context.Context, traveler.Desk) error {
	return func(ctx context.Context, desk traveler.Desk) error {
		s.then(s.minutes(9), func(ctx context.Context, desk traveler.Desk) error {
			one := 1
			who := j.who
			j.who = "31"
			defer func() { j.who = who }()
			j.toDo--
			if s.chance(0.2) && j.toDo > 2 {
				j.rework++
				s.then(s.minutes(12), s.firstOff(j))
				return s.scan(ctx, desk, j, traveler.ActFirstOff, func(sc *traveler.Scan) { sc.Rework = []traveler.Loss{{Reason: "thread", N: 1}} })
			}
			s.then(s.minutes(2), s.begin(j))
			return s.scan(ctx, desk, j, traveler.ActFirstOff, func(sc *traveler.Scan) { sc.Good = &one })
		})
		return s.scan(ctx, desk, j, traveler.ActFirstOff, nil)
	}
}

func (s *sim) begin(j *job) func(context.Context, traveler.Desk) error {
	return func(ctx context.Context, desk traveler.Desk) error {
		s.then(s.tray(j), s.work(j))
		if s.chance(0.05) {
			return nil // forgot to start
		}
		return s.scan(ctx, desk, j, traveler.ActRun, nil)
	}
}

// tray is how long the next tray of pieces takes.
func (s *sim) tray(j *job) time.Duration {
	return s.minutes(max(1, j.ops[j.k].MinPerPiece()*1.08*float64(s.trayOf(j))))
}

func (s *sim) trayOf(j *job) int {
	if !j.count {
		return j.toDo
	}
	return min(j.toDo, max(4, j.pieces/4))
}

// work counts a tray; now and then the machine stops.
func (s *sim) work(j *job) func(context.Context, traveler.Desk) error {
	return func(ctx context.Context, desk traveler.Desk) error {
		n := s.trayOf(j)
		scrap := 0
		for range n {
			if s.chance(0.012) {
				scrap++
			}
		}
		good := n - scrap
		last := n >= j.toDo
		count := func(sc *traveler.Scan) {
			sc.Good = &good
			if scrap > 0 {
				sc.Scrap = []traveler.Loss{{Reason: []string{"size", "surface", "position", "material"}[s.rng.IntN(4)], N: scrap}}
			}
		}
		j.toDo -= n
		j.pieces -= scrap
		if last {
			return s.finish(ctx, desk, j, count)
		}
		if err := s.scan(ctx, desk, j, traveler.ActCount, count); err != nil {
			return err
		}
		if s.chance(0.12) {
			s.then(time.Minute, s.halt(j))
			return nil
		}
		s.then(s.tray(j), s.work(j))
		return nil
	}
}

func (s *sim) halt(j *job) func(context.Context, traveler.Desk) error {
	return func(ctx context.Context, desk traveler.Desk) error {
		s.then(s.minutes(18), s.begin(j))
		why := []string{"tool", "gauge", "breakdown", "material"}[s.rng.IntN(4)]
		return s.scan(ctx, desk, j, traveler.ActStop, func(sc *traveler.Scan) { sc.Reason = why })
	}
}

// finish ends a visit, mostly as one should.
func (s *sim) finish(ctx context.Context, desk traveler.Desk, j *job, count func(*traveler.Scan)) error {
	s.free[j.m], s.busy[j.m] = s.clock.now(), false
	was := *j
	said := func(more func(*traveler.Scan)) func(context.Context, traveler.Desk) error {
		return func(ctx context.Context, desk traveler.Desk) error {
			return s.scan(ctx, desk, &was, traveler.ActFinish, more)
		}
	}
	do := said(count)
	switch {
	case s.chance(0.05): // the station was alone: the scan comes an hour late
		at, late := s.clock.now(), false
		s.then(s.minutes(60), said(func(sc *traveler.Scan) { count(sc); sc.At, sc.Present = at, &late }))
		do = nil
	case s.chance(0.05): // forgot to finish
		do = func(ctx context.Context, desk traveler.Desk) error {
			return s.scan(ctx, desk, &was, traveler.ActCount, count)
		}
	case s.chance(0.04): // one piece is nowhere
		j.pieces--
		do = said(func(sc *traveler.Scan) { count(sc); n := max(0, *sc.Good-1); sc.Good = &n })
	case s.chance(0.05) && j.k > 0: // counted twice, and sure of it
		do = said(func(sc *traveler.Scan) {
			count(sc)
			n := *sc.Good + 2
			sc.Good, sc.Anyway, sc.Reason = &n, true, "sure"
		})
	}
	if do != nil {
		if err := do(ctx, desk); err != nil {
			return err
		}
	}
	if j.rework > 0 {
		s.then(s.minutes(10), s.redo(j, was.k, j.rework))
		j.rework = 0
		return nil
	}
	s.onward(j)
	return nil
}

// redo reworks pieces where they were made, and then carries all on.
func (s *sim) redo(j *job, k, n int) func(context.Context, traveler.Desk) error {
	return func(ctx context.Context, desk traveler.Desk) error {
		again := func(sc *traveler.Scan) { sc.For = j.ops[k].Number.String() }
		s.then(s.minutes(12), func(ctx context.Context, desk traveler.Desk) error {
			s.onward(j)
			was := *j
			was.k = k
			return s.scan(ctx, desk, &was, traveler.ActFinish, func(sc *traveler.Scan) { again(sc); sc.Good = &n })
		})
		return s.scan(ctx, desk, j, traveler.ActRun, again)
	}
}

// morning is when the supervisor settles what he can.
func (s *sim) morning(ctx context.Context, desk traveler.Desk) error {
	s.then(9*time.Hour, s.morning)
	var scans []traveler.Said
	desk.Open(func(f *traveler.Family) bool {
		for _, q := range f.Questions() {
			if q.Settled == nil && s.clock.now().Sub(q.At) > 14*time.Hour && s.chance(0.6) {
				scans = append(scans, traveler.Said{By: traveler.Actor{Name: "S. Supervisor", Role: traveler.RoleSupervisor}, Scan: traveler.Scan{
					ID: s.id(), At: s.clock.now(), Station: traveler.Office, Card: string(q.Card), Action: traveler.ActDecide, Operator: "51",
					For: q.ID, Reason: q.Choices[s.rng.IntN(len(q.Choices))],
				}})
			}
		}
		return true
	})
	if len(scans) == 0 {
		return nil
	}
	_, err := desk.Scans(ctx, scans)
	return err
}

// onward carries the batch to its next operation, or out of the shop.
func (s *sim) onward(j *job) {
	j.k++
	if j.k < len(j.ops) && j.pieces > 0 {
		s.then(s.minutes(35), s.arrive(j))
		return
	}
	j.k = len(j.ops) - 1
	s.then(s.minutes(120), func(ctx context.Context, desk traveler.Desk) error {
		return s.scan(ctx, desk, j, traveler.ActDeliver, nil)
	})
}
