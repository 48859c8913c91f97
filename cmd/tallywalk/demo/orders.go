package demo

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"tallywalk/traveler"
)

// busy scales all demand: it decides how full the shop is.
const busy = 1.12

var planner = traveler.Actor{Name: "planning", Role: traveler.RolePlanner}

// found opens the shop: its places, routes, reasons and hours, the batches that
// are on the floor already, and all that comes by the clock.
func (s *Sim) found() {
	c := &traveler.Change{
		From: s.from, Routes: s.known(), Reasons: reasons(), Layout: layout(),
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

// known are the routes of the parts that were made before the history begins.
func (s *Sim) known() []traveler.Route {
	var out []traveler.Route
	for _, p := range s.parts {
		if !p.from.After(s.from) {
			out = append(out, p.Route)
		}
	}
	return out
}

func (s *Sim) change(c *traveler.Change) {
	s.flush()
	s.clock.set(s.now)
	if err := s.desk.Change(s.ctx, importer, c); err != nil {
		s.fail(err)
	}
}

// workdays is how many days of a year something is released on, and calledOff how
// often an order has a second line of the same part for later.
const workdays, calledOff = 245, 0.07

// plan releases what is ordered, each working morning.
func (s *Sim) plan() {
	day := midnight(s.now.In(s.zone)).AddDate(0, 0, 1)
	next := s.hours[calDay].next(clockOn(day, 7, 10))
	s.at(next.Add(s.between(5, 40)), s.plan)
	var jobs []*job
	for _, p := range s.parts {
		if p.from.After(s.now) {
			continue
		}
		p.due += p.yearly / workdays * busy * s.demand() * s.season() * (0.5 + s.rng.Float64())
		for ; p.due >= 1; p.due-- {
			jobs = append(jobs, s.newJob(p))
			if s.chance(calledOff) {
				later := s.newJob(p)
				later.due = workday(later.due.AddDate(0, 0, 14))
				jobs, p.due = append(jobs, later), p.due-1
			}
		}
	}
	s.number(jobs)
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
	f := 1 + 0.05*math.Sin(2*math.Pi*weeks/17)
	if weeks > shutdownWeeks && weeks < shutdownWeeks+1.5 {
		f *= 0.4
	}
	return f
}

// number gives batches their works orders. Each is of one customer; what a customer
// orders on a day is often on one.
func (s *Sim) number(jobs []*job) {
	slices.SortStableFunc(jobs, func(a, b *job) int { return strings.Compare(a.buyer, b.buyer) })
	for i, j := range jobs {
		if i > 0 && jobs[i-1].buyer == j.buyer && s.chance(0.6) {
			j.order = jobs[i-1].order
			j.several, jobs[i-1].several = true, true
			continue
		}
		s.orders++
		j.order = fmt.Sprintf("W-%d", s.orders)
	}
}

// newJob makes a batch of a part, on the route that holds now.
func (s *Sim) newJob(p *simPart) *job {
	f := []float64{0.5, 0.7, 0.8, 1, 1, 1.2, 1.4}[s.rng.IntN(7)]
	n := max(fewest-2, int(math.Round(float64(p.wanted)*f)))
	if n >= 20 {
		n = n / 5 * 5
	}
	start := min(most, max(fewest, startOf(&p.Route, n)))
	lead := p.lead + s.rng.IntN(5) - 2
	j := &job{card: s.code(traveler.KindBatch), part: p.Part, buyer: p.customer, wanted: n, rev: p.Rev,
		ops: p.Operations, pieces: start, left: start}
	j.due = workday(time.Date(s.now.Year(), s.now.Month(), s.now.Day()+lead, 0, 0, 0, 0, time.UTC))
	if s.chance(hotShare) {
		j.prio = hotPrio
		j.due = workday(j.due.AddDate(0, 0, -lead/3))
	}
	return j
}

// fewest and most are the pieces of a batch; hotShare is how many are hot from the
// beginning: others become so.
const (
	fewest, most = 5, 500
	hotShare     = 0.1
)

// workday is a date, or the working day next to it.
func workday(d time.Time) time.Time {
	switch d.Weekday() {
	case time.Saturday:
		return d.AddDate(0, 0, -1)
	case time.Sunday:
		return d.AddDate(0, 0, 1)
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
	lot := 2300 + int(s.now.Sub(s.from).Hours()/(24*25))*16 +
		(int(p.Material[0])+int(p.Material[len(p.Material)-1])+len(p.Material))%16
	return traveler.Release{
		ID: s.id(), Part: j.part, RouteRev: j.rev, Pieces: j.pieces, Wanted: j.wanted,
		WorksOrder: j.order, OrderLine: fmt.Sprint(line), Customer: j.buyer,
		MaterialLots: []string{fmt.Sprintf("H%d", lot)}, Due: j.due, Hot: j.hot(),
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
			j.ready = s.hours[calTwo].spend(s.now, s.minutes(startAfter, 0.5))
		}
		s.carry(j)
	})
}

// onFloor is how many batches were on the floor before the first scan.
const onFloor = 45

// firstFloor is the first day: batches that are on the floor already, most of
// them part way.
func (s *Sim) firstFloor() {
	var jobs []*job
	var since []time.Time
	for i := range onFloor {
		p := s.anyPart()
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

// anyPart is one of the parts that were made before, those that come often more often.
func (s *Sim) anyPart() *simPart {
	for {
		if p := s.parts[s.rng.IntN(len(s.parts))]; !p.from.After(s.from) && s.rng.Float64()*85 < p.yearly {
			return p
		}
	}
}

// importer is who writes the shop of the demo down.
var importer = traveler.Actor{Name: traveler.Importer, Role: traveler.RoleAdministrator}
