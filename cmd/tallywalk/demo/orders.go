package demo

import (
	"fmt"
	"math"
	"time"

	"tallywalk/traveler"
)

// busy scales all demand: it decides how full the shop is.
const busy = 1.08

var planner = traveler.Actor{Name: "planning", Role: traveler.RolePlanner}

// found opens the shop: its places, routes, reasons and hours, the batches that
// are on the floor already, and all that comes by the clock.
func (s *Sim) found() {
	c := &traveler.Change{
		From: s.from, Routes: routes(), Reasons: reasons(), Layout: layout(),
		Calendars: calendars(s.from, s.open),
	}
	for _, m := range s.machines {
		c.Machines = append(c.Machines, m.Machine)
	}
	s.change(c)
	s.firstFloor()
	s.at(s.from.Add(time.Hour), s.plan)
	s.takeAway()
	s.changes()
	s.offices()
}

func (s *Sim) change(c *traveler.Change) {
	s.flush()
	s.clock.set(s.now)
	if err := s.desk.Change(s.ctx, importer, c); err != nil {
		s.fail(err)
	}
}

// plan releases what is ordered, each working morning.
func (s *Sim) plan() {
	day := midnight(s.now.In(s.zone)).AddDate(0, 0, 1)
	next := s.hours[calDay].next(clockOn(day, 7, 10))
	s.at(next.Add(s.between(5, 40)), s.plan)
	var jobs []*job
	for _, p := range s.parts {
		p.due += p.weekly / 5 * busy * s.demand() * s.season() * (0.5 + s.rng.Float64())
		for ; p.due >= 1; p.due-- {
			jobs = append(jobs, s.order(p)...)
		}
	}
	s.letOut(jobs)
}

// demand is how much more is ordered than usual; see Trial.
func (s *Sim) demand() float64 {
	if s.trial.Demand == 0 || s.now.Before(s.open.Add(-s.trial.Since)) {
		return 1
	}
	return s.trial.Demand
}

// season is how demand goes up and down, and stops before a shutdown.
func (s *Sim) season() float64 {
	weeks := s.open.Sub(s.now).Hours() / 168
	f := 1 + 0.18*math.Sin(2*math.Pi*weeks/17)
	if weeks > shutdownWeeks && weeks < shutdownWeeks+1.5 {
		f *= 0.4
	}
	return f
}

// order makes the batches of an order; one in nine has two lines.
func (s *Sim) order(p *simPart) []*job {
	s.orders++
	lines := 1
	if s.chance(0.11) {
		lines = 2
	}
	var out []*job
	for range lines {
		j := s.newJob(p)
		j.order, j.several = fmt.Sprintf("W-%d", s.orders), lines > 1
		out = append(out, j)
	}
	if lines > 1 {
		p.due -= float64(lines - 1)
	}
	return out
}

// newJob makes a batch of a part, on the route that holds now.
func (s *Sim) newJob(p *simPart) *job {
	f := []float64{0.4, 0.6, 0.8, 1, 1, 1.2, 1.5}[s.rng.IntN(7)]
	n := int(math.Round(float64(p.pieces)*f/5)) * 5
	n = min(150, max(10, n))
	lead := p.lead + s.rng.IntN(5) - 2
	j := &job{card: s.code(traveler.KindBatch), part: p.Part, rev: p.Rev, ops: p.Operations, pieces: n, left: n}
	j.due = workday(time.Date(s.now.Year(), s.now.Month(), s.now.Day()+lead, 0, 0, 0, 0, time.UTC))
	if s.chance(0.03) {
		j.prio = hotPrio
		j.due = workday(j.due.AddDate(0, 0, -lead/2))
	}
	return j
}

// workday is a date, or the Monday after it.
func workday(d time.Time) time.Time {
	for d.Weekday() == time.Saturday || d.Weekday() == time.Sunday {
		d = d.AddDate(0, 0, 1)
	}
	return d
}

// letOut releases batches and lets them begin.
func (s *Sim) letOut(jobs []*job) {
	s.releaseAll(jobs, nil)
	for _, j := range jobs {
		s.begins(j)
	}
}

// releaseAll releases batches; since are dates of release that have
// passed, if any.
func (s *Sim) releaseAll(jobs []*job, since []time.Time) {
	if len(jobs) == 0 || s.err != nil {
		return
	}
	s.flush()
	s.clock.set(s.now)
	rs := make([]traveler.Release, len(jobs))
	cards := make([]traveler.Code, len(jobs))
	line := 0
	for i, j := range jobs {
		line += 10
		if i == 0 || jobs[i-1].order != j.order {
			line = 10
		}
		rs[i], cards[i] = s.releaseOf(j, line), j.card
		if since != nil {
			rs[i].Released = since[i]
		}
	}
	if _, err := s.desk.Release(s.ctx, planner, rs, cards); err != nil {
		s.fail(err)
		return
	}
	for _, j := range jobs {
		s.enter(j)
	}
}

func (s *Sim) releaseOf(j *job, line int) traveler.Release {
	p := s.partOf(j.part)
	week := int(s.now.Sub(s.from).Hours()/(24*25)) + len(j.part) + int(j.part[len(j.part)-1])
	return traveler.Release{
		ID: s.id(), Part: j.part, RouteRev: j.rev, Pieces: j.pieces, Wanted: max(1, int(math.Floor(float64(j.pieces)/p.spare))),
		WorksOrder: j.order, OrderLine: fmt.Sprint(line), Customer: demoCustomers[(int(j.part[0])+int(j.part[len(j.part)-1])+s.rng.IntN(2))%len(demoCustomers)],
		MaterialLots: []string{fmt.Sprintf("H%d", 2300+week*7)}, Due: j.due, Priority: j.prio, Hot: j.hot(),
	}
}

func (s *Sim) partOf(part string) *simPart {
	for _, p := range s.parts {
		if p.Part == part {
			return p
		}
	}
	return nil
}

// startAfter is how long after its arrival at the first machine the supervisor
// wants a batch begun: median, in working minutes. Planning releases early.
const startAfter = 1400

// begins lets a released job begin: the stores pick its material, it is carried
// to its first machine, and lies there until its turn has come.
func (s *Sim) begins(j *job) {
	stores := s.named[atStores]
	picked := stores.hours.spend(s.now, s.minutes(110, 0.8))
	s.at(picked, func() {
		if s.chance(0.7) {
			s.put(j, atStores)
		}
		j.place = atStores
		if !j.hot() {
			j.ready = s.hours[calTwo].spend(s.now, s.minutes(startAfter, 0.6))
		}
		s.carry(j)
	})
}

// onFloor is how many batches were on the floor before the first scan.
const onFloor = 30

// firstFloor is the first day: batches that are on the floor already, most of
// them part way.
func (s *Sim) firstFloor() {
	var jobs []*job
	var since []time.Time
	for i := range onFloor {
		p := s.parts[i%len(s.parts)]
		s.orders++
		j := s.newJob(p)
		j.order = fmt.Sprintf("W-%d", s.orders)
		j.prio = 0
		days := 1 + s.rng.IntN(9)
		if i%6 == 0 {
			days += 8 // one that has lain for long
		}
		j.due = workday(j.due.AddDate(0, 0, -days))
		j.k = s.rng.IntN(len(j.ops))
		if j.op().Outside() {
			j.k++
		}
		jobs = append(jobs, j)
		since = append(since, s.from.AddDate(0, 0, -days))
	}
	s.releaseAll(jobs, since)
	for _, j := range jobs {
		s.did("on the floor before the first scan")
		s.at(s.from.Add(s.between(5, 300)), func() {
			m := s.choosePlace(j)
			s.arrive(j, m)
		})
	}
}

// importer is who writes the shop of the demo down.
var importer = traveler.Actor{Name: traveler.Importer, Role: traveler.RoleAdministrator}
