package ahead

import "math"

// Kinds of events.
const (
	evReady  = iota // a job could be begun at its operation
	evEnd           // a job is done at a machine
	evBack          // a job is back from outside, or done where no machine is
	evLook          // a machine opens
	evWeek          // a week begins: what comes in it
	evComing        // a job comes to the floor
)

type simEvent struct {
	at   float64
	n    int32
	kind int8
	job  int32
	mach int32
}

// queue is a heap of events by time, then by when they were put.
type queue struct {
	all []simEvent
	n   int32
}

func (q *queue) less(a, b *simEvent) bool { return a.at < b.at || a.at == b.at && a.n < b.n }

func (q *queue) put(e simEvent) {
	q.n++
	e.n = q.n
	q.all = append(q.all, e)
	i := len(q.all) - 1
	for i > 0 {
		up := (i - 1) / 2
		if !q.less(&q.all[i], &q.all[up]) {
			break
		}
		q.all[i], q.all[up] = q.all[up], q.all[i]
		i = up
	}
}

func (q *queue) take() simEvent {
	e := q.all[0]
	n := len(q.all) - 1
	q.all[0] = q.all[n]
	q.all = q.all[:n]
	i := 0
	for {
		k := 2*i + 1
		if k >= n {
			break
		}
		if k+1 < n && q.less(&q.all[k+1], &q.all[k]) {
			k++
		}
		if !q.less(&q.all[k], &q.all[i]) {
			break
		}
		q.all[i], q.all[k] = q.all[k], q.all[i]
		i = k
	}
	return e
}

// run simulates the floor once: until all batches that are on it have left, and,
// where long is set, to the end of the weeks that loads are worked out for.
// Everything in it follows from the run's number and the seed.
func (s *sim) run(number int, long bool) {
	run := mix(s.seed+golden) + uint64(number)*golden
	s.reset()
	for i := range s.jobs {
		s.begin(run, int32(i))
	}
	if len(s.weeks) > 0 {
		s.week(run, 0)
	}
	end := 0.0
	if long {
		end = s.out.edges[weeksAhead]
	}
	for now := 0.0; ; {
		q := s.events.all
		if len(s.dirty) > 0 && (len(q) == 0 || q[0].at > now) {
			// All that happens at a moment has happened: free machines take now.
			s.take(run, now)
			continue
		}
		if len(q) == 0 || s.out.open == 0 && q[0].at >= end {
			return
		}
		e := s.events.take()
		now = e.at
		s.happen(run, &e)
	}
}

// happen lets an event happen.
func (s *sim) happen(run uint64, e *simEvent) {
	switch e.kind {
	case evReady:
		s.wait(run, e.job, e.at)
	case evEnd:
		s.machines[e.mach].busy, s.machines[e.mach].free = false, e.at
		s.look(s.machines[e.mach].centre)
		s.finished(run, e.job, e.at)
	case evBack:
		s.finished(run, e.job, e.at)
	case evLook:
		s.machines[e.mach].wake = 0
		s.look(s.machines[e.mach].centre)
	case evWeek:
		s.week(run, int(e.job))
	case evComing:
		s.ready(run, e.job, e.at)
	}
}

// look notes that something may be begun at a work centre.
func (s *sim) look(centre int) {
	if c := &s.centres[centre]; !c.dirty {
		c.dirty = true
		s.dirty = append(s.dirty, centre)
	}
}

// take lets free machines take from their lines.
func (s *sim) take(run uint64, now float64) {
	for i := 0; i < len(s.dirty); i++ {
		s.centres[s.dirty[i]].dirty = false
		s.dispatch(run, s.dirty[i], now)
	}
	s.dirty = s.dirty[:0]
}

func (s *sim) reset() {
	s.events.all, s.events.n = s.events.all[:0], 0
	s.live = append(s.live[:0], s.jobs...)
	for i := range s.machines {
		m := &s.machines[i]
		m.busy, m.wake, m.free, m.part, m.op, m.take = false, 0, -math.MaxFloat64, 0, 0, s.takes[i]
	}
	for c := range s.centres {
		s.centres[c].line, s.centres[c].dirty = s.centres[c].line[:0], false
	}
	s.dirty = s.dirty[:0]
	s.out.open = len(s.jobs)
}

// begin puts a job where it stands now.
func (s *sim) begin(run uint64, i int32) {
	j := &s.live[i]
	b := j.job
	switch {
	case len(j.ops) == 0:
		s.deliver(run, i, j.from, true)
	case b.stage == atWork:
		s.atWork(run, i)
	case b.stage == away:
		s.outside(run, i, j.from, -j.from)
	case b.isNew:
		s.events.put(simEvent{at: max(0, j.from), kind: evComing, job: i})
	default:
		s.waits(run, i)
	}
}

// atWork lets a job go on at its machine for what is left, given how long it has
// been there.
func (s *sim) atWork(run uint64, i int32) {
	j := &s.live[i]
	b, o := j.job, &j.ops[0]
	us, ur := level(run, j.key, int(o.index), drawSetup), level(run, j.key, int(o.index), drawRun)
	setup, work := 0.0, 0.0
	switch {
	case b.settled && o.run > 0:
		work = o.run*o.rr.drawAbove(ur, b.spentRun/o.run) - b.spentRun
	case b.settled:
		work = b.spentRun * ur / 4
	case o.setup > 0:
		setup = o.setup*o.rs.drawAbove(us, b.spentSetup/o.setup) - b.spentSetup
		work = o.run * o.rr.draw(ur)
	default:
		work = o.run * o.rr.draw(ur)
	}
	m, ok := s.byID[b.machine]
	if !ok {
		s.note(o, 0, setup+work)
		s.events.put(simEvent{at: setup + work, kind: evBack, job: i})
		return
	}
	x := &s.machines[m]
	end := x.hours.after(0, setup)
	if x.alone {
		end += work
	} else {
		end = x.hours.after(end, work)
	}
	s.out.use(s, x, 0, end)
	s.note(o, 0, end)
	x.part, x.op = j.part, o.op
	if x.busy {
		// Two go on at once: the machine is free when both are.
		s.events.put(simEvent{at: end, kind: evBack, job: i})
		return
	}
	x.busy = true
	s.events.put(simEvent{at: end, kind: evEnd, job: i, mach: int32(m)})
}

// waits lets a job that waits go on waiting, given how long it has.
func (s *sim) waits(run uint64, i int32) {
	j := &s.live[i]
	o := &j.ops[0]
	if j.job.held {
		// Nobody knows until when; a day or two of the shop's time.
		at := s.dock.after(0, s.model.hold(level(run, j.key, int(o.index), drawHold)))
		s.events.put(simEvent{at: at, kind: evReady, job: i})
		return
	}
	if o.outside {
		s.outside(run, i, s.goesOut(run, j, o, 0, j.gone), 0)
		return
	}
	if j.taken {
		s.events.put(simEvent{at: 0, kind: evReady, job: i})
		return
	}
	left := o.pick.drawAbove(level(run, j.key, int(o.index), drawPick), j.gone) - j.waited
	s.events.put(simEvent{at: s.hoursOf(o).after(0, max(0, left)), kind: evReady, job: i})
}

// since works out for how long a job that waits has waited, in working time, and for
// how long it is sure that it could not be begun: up to when another that goes after
// it was begun; up to now if a machine is free for it.
func (s *sim) since(j *simJob) {
	b := j.job
	if b.stage != waiting || len(j.ops) == 0 || b.isNew {
		return
	}
	h := s.floor.shop.CentreHours(b.todo[0].wc, s.floor.now)
	j.waited = h.Open(b.since, s.floor.now).Seconds()
	switch o := &j.ops[0]; {
	case o.outside:
		j.gone = s.model.letGo(&s.model.sends, b.since)
	case s.free || o.centre < 0 || s.isFree(o.centre):
		j.gone = j.waited
	case b.passedOver.After(b.since):
		j.gone = h.Open(b.since, b.passedOver).Seconds()
	}
}

// isFree reports whether a machine of a work centre is at nothing now, and open.
func (s *sim) isFree(centre int) bool {
	for _, m := range s.centres[centre].machines {
		x := &s.machines[m]
		if s.atNow[x.id] || x.hours.next(0) > 0 {
			continue
		}
		return true
	}
	return false
}

func (s *sim) hoursOf(o *simOp) *table {
	if o.centre < 0 {
		return s.dock
	}
	return s.centres[o.centre].hours
}

// ready lets a job come free for its next operation.
func (s *sim) ready(run uint64, i int32, at float64) {
	j := &s.live[i]
	o := &j.ops[j.k]
	if o.outside {
		s.outside(run, i, s.goesOut(run, j, o, at, 0), 0)
		return
	}
	d := o.pick.draw(level(run, j.key, int(o.index), drawPick))
	s.events.put(simEvent{at: s.hoursOf(o).after(at, d), kind: evReady, job: i})
}

// outside lets a job that was sent at a moment come back; gone is for how long it
// has been out already. Nothing comes back while the dock is closed.
func (s *sim) outside(run uint64, i int32, at, gone float64) {
	j := &s.live[i]
	o := &j.ops[j.k]
	u := level(run, j.key, int(o.index), drawAway)
	d := o.days * 86400 * (0.8 + 0.6*u)
	if s.model.exact {
		d = o.days * 86400
	}
	lasts := s.model.awayFor(o.wc, s.weekday(at))
	switch {
	case lasts != nil:
		d = lasts.drawAbove(u, gone)
	case d < gone:
		d = gone * (1 + u/4)
	}
	back := s.dock.next(max(0, at+d))
	s.note(o, max(0, at), back)
	s.events.put(simEvent{at: back, kind: evBack, job: i})
}

// finished lets a job go on from an operation.
func (s *sim) finished(run uint64, i int32, at float64) {
	j := &s.live[i]
	if j.k++; j.k < len(j.ops) {
		s.ready(run, i, at)
		return
	}
	s.deliver(run, i, at, false)
}

// deliver ends a job; done says that its operations were over before now already.
func (s *sim) deliver(run uint64, i int32, at float64, done bool) {
	j := &s.live[i]
	if j.n < 0 {
		return
	}
	s.out.open--
	left := at
	d := &s.model.delivers
	if d.lets != nil && (done || level(run, j.key, 0, drawScanned) < s.model.scanned) {
		gone := 0.0
		if done {
			gone = s.model.letGo(d, j.job.since)
		}
		left = s.leaves(run, d, drawVan, level(run, j.key, 0, drawDeliver), max(0, at), gone)
	}
	s.out.done[j.n], s.out.delivered[j.n] = at, max(left, 0)
	if done {
		s.out.done[j.n] = min(at, 0)
	}
}

// note keeps when an operation of a batch on the floor begins and ends.
func (s *sim) note(o *simOp, from, to float64) {
	if o.slot >= 0 && s.out.noting {
		s.out.begins[o.slot], s.out.ends[o.slot] = from, to
	}
}

// mostWeeks is how many weeks of what may yet come are drawn.
const mostWeeks = 26

// week lets a past week come again.
func (s *sim) week(run uint64, n int) {
	if n >= mostWeeks {
		return
	}
	from := s.weekFrom + float64(n)*7*86400
	w := s.weeks[int(level(run, 1, n, drawWeek)*float64(len(s.weeks)))]
	for k := range w {
		at := from + w[k].from
		if at <= 0 {
			continue
		}
		j := w[k]
		j.key = mix(j.key + uint64(n))
		j.rank += from
		s.live = append(s.live, j)
		s.events.put(simEvent{at: at, kind: evComing, job: int32(len(s.live) - 1)})
	}
	s.events.put(simEvent{at: from + 7*86400, kind: evWeek, job: int32(n + 1)})
}
