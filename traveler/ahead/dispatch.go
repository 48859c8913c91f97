package ahead

import "slices"

// wait lets a job stand in line.
func (s *sim) wait(run uint64, i int32, at float64) {
	j := &s.live[i]
	o := &j.ops[j.k]
	j.avail = at
	if o.centre < 0 || s.free {
		s.alone(run, i, at)
		return
	}
	c := &s.centres[o.centre]
	c.line = append(c.line, i)
	s.look(o.centre)
}

// alone does an operation that no machine is in the way of.
func (s *sim) alone(run uint64, i int32, at float64) {
	j := &s.live[i]
	o := &j.ops[j.k]
	end := s.hoursOf(o).after(at, o.setup*o.rs.draw(level(run, j.key, int(o.index), drawSetup))+
		o.run*o.rr.draw(level(run, j.key, int(o.index), drawRun)))
	s.note(o, at, end)
	s.events.put(simEvent{at: end, kind: evBack, job: i})
}

// dispatch lets the free machines of a work centre take from its line.
func (s *sim) dispatch(run uint64, centre int, at float64) {
	c := &s.centres[centre]
	for _, m := range c.machines {
		if len(c.line) == 0 {
			return
		}
		x := &s.machines[m]
		if x.busy {
			continue
		}
		if opens := x.hours.next(at); opens > at {
			if x.wake == 0 {
				x.wake = opens
				s.events.put(simEvent{at: opens, kind: evLook, mach: int32(m)})
			}
			continue
		}
		best := s.choose(c.line, x)
		i := c.line[best]
		c.line = append(c.line[:best], c.line[best+1:]...)
		s.start(run, i, m, at)
	}
}

// choose is the place in a line of what a machine takes, by the rule.
func (s *sim) choose(line []int32, x *simMachine) int {
	if x.take > 0 {
		if k := slices.Index(line, x.take-1); k >= 0 {
			x.take = 0
			return k
		}
	}
	best := 0
	for k := 1; k < len(line); k++ {
		if s.before(line[k], line[best], x) {
			best = k
		}
	}
	return best
}

func (s *sim) before(a, b int32, x *simMachine) bool {
	p, q := &s.live[a], &s.live[b]
	kp, kq := s.sortKey(p, x), s.sortKey(q, x)
	if kp != kq {
		return kp < kq
	}
	return a < b
}

// sortKey orders by the rule; hot ones go first in all of them.
func (s *sim) sortKey(j *simJob, x *simMachine) float64 {
	if j.rank < -1e10 {
		return j.rank
	}
	switch s.rule {
	case ByShortest:
		return j.ops[j.k].plan
	case ByWait:
		return j.avail
	case BySetup:
		if j.part == x.part {
			return j.rank - 1e10
		}
	}
	return j.rank
}

// start lets a machine take a job.
func (s *sim) start(run uint64, i int32, m int, at float64) {
	j, x := &s.live[i], &s.machines[m]
	o := &j.ops[j.k]
	setup := o.setup * o.rs.draw(level(run, j.key, int(o.index), drawSetup))
	if x.part == j.part && x.op == o.op {
		setup *= s.same
	}
	work := o.run * o.rr.draw(level(run, j.key, int(o.index), drawRun))
	if j.avail < x.free {
		// It waited for the machine: someone must come to it.
		at = x.hours.after(at, s.model.gap(s.centres[x.centre].wc, level(run, j.key, int(o.index), drawGap)))
	}
	end := x.hours.after(at, setup)
	if x.alone {
		end += work
	} else {
		end = x.hours.after(end, work)
	}
	x.busy, x.part, x.op = true, j.part, o.op
	if s.out.loading {
		s.out.delay[x.centre] += at - j.avail
	}
	s.out.setup += setup
	s.out.use(s, x, at, end)
	s.out.carry(s, x, j.avail, at, end)
	s.note(o, at, end)
	s.events.put(simEvent{at: end, kind: evEnd, job: i, mach: int32(m)})
}
