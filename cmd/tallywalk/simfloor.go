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
			if s.chance(0.2) {
				s.then(s.minutes(12), s.firstOff(j))
				return s.scan(ctx, desk, j, traveler.ActFirstOff, func(sc *traveler.Scan) { sc.Rework = []traveler.Loss{{Reason: "thread", N: 1}} })
			}
			j.toDo--
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

func (s *sim) finish(ctx context.Context, desk traveler.Desk, j *job, count func(*traveler.Scan)) error {
	s.free[j.m] = s.clock.now()
	act := traveler.ActFinish
	if s.chance(0.06) {
		act = traveler.ActCount // forgot to finish
	}
	if err := s.scan(ctx, desk, j, act, count); err != nil {
		return err
	}
	s.onward(j)
	return nil
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
