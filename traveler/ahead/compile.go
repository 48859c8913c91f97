package ahead

import (
	"time"

	"tallywalk/traveler"
)

// sim is a floor made ready to be simulated: names are numbers, times are seconds
// from now. One is used by one goroutine.
type sim struct {
	model    *Model
	floor    *floor
	rule     Rule
	seed     uint64
	machines []simMachine
	centres  []simCentre
	byCentre map[traveler.WorkCentre]int
	byID     map[traveler.MachineID]int
	dock     *table
	jobs     []simJob // those on the floor, then those of the scenario
	weeks    [][]simJob
	weekFrom float64 // when this week began
	parts    map[string]int32
	free     bool // no machine is ever in the way: only waits
	same     float64
	days     []simDay
	takes    map[int]int32               // what machines take next, as simMachine.take
	atNow    map[traveler.MachineID]bool // machines that are at something now

	out    outcome
	events queue
	dirty  []int    // work centres where something may be begun
	live   []simJob // of this run: jobs, and those that came since
}

// simMachine is a machine in a run.
type simMachine struct {
	id     traveler.MachineID
	centre int
	hours  *table
	alone  bool

	busy bool
	wake float64 // it is looked at again then; 0 = not
	free float64 // it came free then
	part int32   // what it was set for last
	op   int32
	take int32 // the job that it takes next, once more than its number; 0 = by the rule
}

// simCentre is a work centre in a run.
type simCentre struct {
	wc       traveler.WorkCentre
	machines []int
	hours    *table
	line     []int32 // jobs that could be begun
	dirty    bool    // something may be begun
}

// simJob is a batch in a run.
type simJob struct {
	job   *job // nil for one that comes later
	key   uint64
	rank  float64
	part  int32
	from  float64 // ready for its first operation since
	ops   []simOp
	k     int
	avail float64 // free for its operation since
	n     int     // place among the jobs on the floor; -1
	// Of one that waits; see sim.since.
	waited, gone float64
	taken        bool // a machine takes it next: nothing else keeps it
}

// simOp is an operation in a run.
type simOp struct {
	centre     int // -1: no machine does it
	outside    bool
	setup, run float64 // seconds expected
	rs, rr     resid
	pick       *dist
	wc         traveler.WorkCentre
	days       float64
	index, op  int32
	plan       float64 // planned seconds, for rules
	left       float64 // planned seconds of it and all after it
	slot       int     // of what is noted of it
}

// compile makes a floor ready with what a model knows, changed by a scenario.
func (m *Model) compile(fl *floor, sc *Scenario, method Method) *sim {
	s := &sim{
		model: m, floor: fl, rule: sc.Rule, byCentre: map[traveler.WorkCentre]int{},
		byID:  map[traveler.MachineID]int{},
		parts: map[string]int32{}, free: method == Waits, same: m.sameSetup,
		atNow: map[traveler.MachineID]bool{}, takes: map[int]int32{},
	}
	if s.rule == "" {
		s.rule = ByDue
	}
	s.places(sc)
	s.makeDays()
	slot := 0
	for i := range fl.jobs {
		if fl.jobs[i].stage == atWork {
			s.atNow[fl.jobs[i].machine] = true
		}
		j := s.job(&fl.jobs[i], i)
		for k := range j.ops {
			j.ops[k].slot = slot
			slot++
		}
		s.jobs = append(s.jobs, j)
	}
	s.out.slots = slot
	for i := range s.jobs {
		s.since(&s.jobs[i])
	}
	for i, card := range sc.First {
		for k := range s.jobs {
			if s.jobs[k].job.card == card {
				s.jobs[k].rank = -1e15 + float64(i)
			}
		}
	}
	for _, x := range sc.Take {
		for k := range s.jobs {
			if m, ok := s.byID[x.Machine]; ok && s.jobs[k].job.card == x.Card {
				s.takes[m], s.jobs[k].taken = int32(k+1), true
			}
		}
	}
	if !s.free {
		s.comings()
	}
	return s
}

// places makes the machines and work centres.
func (s *sim) places(sc *Scenario) {
	now := s.floor.now
	for _, x := range s.floor.shop.Machines(now) {
		if x.Kind == "outside" {
			continue
		}
		c, ok := s.byCentre[x.WorkCentre]
		if !ok {
			c = len(s.centres)
			s.byCentre[x.WorkCentre] = c
			s.centres = append(s.centres, simCentre{wc: x.WorkCentre})
		}
		s.byID[x.ID] = len(s.machines)
		s.centres[c].machines = append(s.centres[c].machines, len(s.machines))
		s.machines = append(s.machines, simMachine{
			id: x.ID, centre: c, hours: tableOf(s.floor.shop, x.ID, now, sc), alone: x.Unattended,
		})
		if x.Kind == "dock" && s.dock == nil {
			s.dock = s.machines[len(s.machines)-1].hours
		}
	}
	for c := range s.centres {
		var all []*table
		for _, i := range s.centres[c].machines {
			all = append(all, s.machines[i].hours)
		}
		s.centres[c].hours = union(all)
	}
}

// centre is the number of a work centre; a route may name a machine itself, which
// then is one of its own.
func (s *sim) centre(wc traveler.WorkCentre) int {
	if c, ok := s.byCentre[wc]; ok {
		return c
	}
	i, ok := s.byID[traveler.MachineID(wc)]
	if !ok {
		return -1
	}
	return s.machines[i].centre
}

func (s *sim) partNo(part string) int32 {
	n, ok := s.parts[part]
	if !ok {
		n = int32(len(s.parts) + 1)
		s.parts[part] = n
	}
	return n
}

func (s *sim) job(j *job, n int) simJob {
	out := simJob{job: j, key: j.key, part: s.partNo(j.part), n: n,
		rank: rank(j.hot, j.prio, j.due, s.floor.now), from: s.secs(j.since)}
	if j.isNew {
		out.from = max(0, s.secs(j.from))
	}
	out.ops = s.ops(j.part, j.todo)
	if s.rule == BySlack && !j.due.IsZero() && len(out.ops) > 0 {
		out.rank -= out.ops[0].left
	}
	return out
}

func (s *sim) secs(t time.Time) float64 { return t.Sub(s.floor.now).Seconds() }

func (s *sim) ops(part string, all []todo) []simOp {
	out := make([]simOp, len(all))
	left := 0.0
	for k := len(all) - 1; k >= 0; k-- {
		x := &all[k]
		o := simOp{centre: s.centre(x.wc), outside: x.outside, days: x.days, index: int32(x.index),
			op: int32(x.op), plan: x.setup + x.run, slot: -1}
		fs, rs := s.model.setups.of(part, x.op, x.wc)
		fr, rr := s.model.runs.of(part, x.op, x.wc)
		o.setup, o.run, o.rs, o.rr = x.setup*fs, x.run*fr, rs, rr
		if x.run == 0 && !x.outside && len(s.model.ownPieces.all) > 0 {
			fr, rr := s.model.ownPieces.of(part, x.op, x.wc)
			o.run, o.rr = fr*float64(x.pieces), rr
			if len(s.model.ownSetups.all) > 0 {
				o.setup, o.rs = s.model.ownSetups.of(part, x.op, x.wc)
			}
			o.plan = o.setup + o.run
		}
		o.pick, o.wc = s.model.pick(x.wc, x.first, s.free), x.wc
		if !x.outside {
			left += o.plan
		}
		o.left = left
		out[k] = o
	}
	return out
}

// pick is the delay before an operation, of the first ones apart; where too little
// is known of those, of the others.
func (m *Model) pick(wc traveler.WorkCentre, first, whole bool) *dist {
	from := m.picks
	if whole {
		from = m.waits
	}
	if d := from[pickKey{wc, first}]; d != nil && d.n >= few {
		return d
	}
	if d := from[pickKey{wc, !first}]; d != nil && d.n >= few {
		return d
	}
	if whole {
		return m.allWaits
	}
	return m.allPicks
}

// comings makes the batches ready that may yet come to the floor: past weeks.
func (s *sim) comings() {
	zone := s.floor.zone
	s.weekFrom = s.secs(weekOf(s.floor.now.In(zone)))
	for _, w := range s.model.weeks {
		var jobs []simJob
		for i := range w {
			r := &w[i].batch
			route, ok := s.floor.shop.Route(r.Part, r.RouteRev)
			if !ok {
				continue
			}
			todos := make([]todo, len(route.Operations))
			for k := range route.Operations {
				todos[k] = todoOf(&route.Operations[k], r.Pieces, k)
			}
			j := simJob{key: keyOf(string(r.ID)), part: s.partNo(r.Part), n: -1, from: w[i].at.Seconds(),
				ops: s.ops(r.Part, todos), rank: noDue}
			if !r.Due.IsZero() {
				j.rank = r.Due.Add(24 * time.Hour).Sub(w[i].week).Seconds() // from the beginning of its week on
			}
			j.rank -= hotBy(r.Hot, r.Priority)
			if s.rule == BySlack && len(j.ops) > 0 {
				j.rank -= j.ops[0].left
			}
			jobs = append(jobs, j)
		}
		s.weeks = append(s.weeks, jobs)
	}
}
