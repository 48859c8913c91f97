package demo

import (
	"math/rand/v2"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
)

// simMachine is a machine, or another place, of the invented shop.
type simMachine struct {
	traveler.Machine
	hours  *simHours
	dev    *simDevice
	crew   [2]traveler.PersonID // who minds it in the two shifts; they change weekly
	cur    *stay                // what it is at
	parked *stay                // what a hot job broke into
	wait   []*job               // in the order they came
	down   time.Time            // broken until
	woken  time.Time            // when someone looks at it next
}

// simPart is a part, with how far its next batch is away.
type simPart struct {
	demoPart
	due  float64   // orders that are to be released
	from time.Time // when it comes for the first time; zero = it was made before
}

// tablets says which places share a tablet, and who minds them.
var tablets = []struct {
	name   string
	places []string
	crew   [2]traveler.PersonID
}{
	{office, nil, [2]traveler.PersonID{"51", "51"}},
	{"tablet lathes", []string{"T1", "T2"}, [2]traveler.PersonID{"11", "12"}},
	{"tablet bar lathe", []string{"T3"}, [2]traveler.PersonID{"23", "24"}},
	{"tablet mill-turn", []string{"TM"}, [2]traveler.PersonID{"13", "14"}},
	{"tablet mills", []string{"M1", "M2"}, [2]traveler.PersonID{"15", "16"}},
	{"tablet five axes", []string{"F5"}, [2]traveler.PersonID{"17", "18"}},
	{"tablet grinding", []string{"G1", "P1"}, [2]traveler.PersonID{"19", "20"}},
	{"tablet bench", []string{"D1", "W1"}, [2]traveler.PersonID{"21", "22"}},
	{"tablet measuring room", []string{"Q1"}, [2]traveler.PersonID{"31", "32"}},
	{"tablet dock", []string{"DK", "HT", "CO", "ST", "S1"}, [2]traveler.PersonID{"25", "25"}},
}

// equip makes the machines, the tablets and the parts.
func (s *Sim) equip() error {
	cals := map[string]*calendar.Hours{}
	for _, c := range calendars(s.from, s.open) {
		h, err := calendar.New(c)
		if err != nil {
			return err
		}
		cals[c.Name] = h
		s.hours[c.Name] = newSimHours(h, s.zone, s.from, 0, rand.New(rand.NewPCG(s.seed, 1)))
	}
	for i, m := range machines() {
		m.Code = s.code(traveler.KindMachine)
		cal := cals[m.Calendar]
		if cal == nil {
			cal = cals[calDay] // the dock's people look after what is outside
		}
		absent := 0.0
		if m.Kind == "" && m.WorkCentre != wcSaw {
			absent = absentShare
		}
		rng := rand.New(rand.NewPCG(s.seed, uint64(100+i)))
		x := &simMachine{Machine: m, hours: newSimHours(cal, s.zone, s.from, absent, rng)}
		s.machines = append(s.machines, x)
		s.named[m.ID] = x
	}
	for _, t := range tablets {
		d := &simDevice{id: traveler.DeviceID(s.code(traveler.KindDevice)), name: t.name,
			slow: s.between(-0.02, 0.02).Truncate(time.Millisecond), error: 40 * time.Millisecond}
		if t.name == office {
			d.slow = 0
		}
		s.devices = append(s.devices, d)
		for _, p := range t.places {
			s.named[traveler.MachineID(p)].dev, s.named[traveler.MachineID(p)].crew = d, t.crew
		}
	}
	for _, p := range parts() {
		x := &simPart{demoPart: p, due: s.rng.Float64()}
		if p.since > 0 {
			x.from = s.open.Add(-p.since)
		}
		s.parts = append(s.parts, x)
	}
	return nil
}

// absentShare is how often nobody comes to a machine for half a day.
const absentShare = 0.07

// who minds a machine now.
func (s *Sim) who(m *simMachine) traveler.PersonID {
	t := s.now.In(s.zone)
	_, week := t.ISOWeek()
	late := 0
	if t.Hour() >= 14 {
		late = 1
	}
	return m.crew[(week+late)%2]
}

// of lists the machines of a work centre.
func (s *Sim) centre(wc traveler.WorkCentre) []*simMachine {
	var out []*simMachine
	for _, m := range s.machines {
		if m.WorkCentre == wc {
			out = append(out, m)
		}
	}
	return out
}

// twin is the other machine of a work centre, or nil.
func (s *Sim) twin(m *simMachine) *simMachine {
	for _, o := range s.centre(m.WorkCentre) {
		if o != m {
			return o
		}
	}
	return nil
}

// wake lets someone look at a machine at a moment.
func (s *Sim) wake(m *simMachine, t time.Time) {
	if t.Before(s.now) {
		t = s.now
	}
	if m.woken.After(s.now) && !m.woken.After(t) {
		return // someone looks before that
	}
	m.woken = t
	s.at(t, func() {
		if m.woken.Equal(t) {
			m.woken = time.Time{}
			s.dispatch(m)
		}
	})
}

// dispatch lets a machine begin on the next job, if it can.
func (s *Sim) dispatch(m *simMachine) {
	if m.cur != nil || (len(m.wait) == 0 && m.parked == nil) {
		return
	}
	if m.down.After(s.now) {
		s.wake(m, m.down)
		return
	}
	sp, in := m.hours.minded(s.now)
	if !in {
		s.wake(m, sp.From.Add(s.between(2, 12)))
		return
	}
	if day, _ := m.hours.day(s.now); day.To.Sub(s.now) < 15*time.Minute && m.Kind == "" {
		s.wake(m, m.hours.next(day.To).Add(s.between(3, 10)))
		return // nothing is begun before closing
	}
	if s.crewSets(m) {
		s.wake(m, s.now.Add(s.between(8, 20)))
		return
	}
	j, ready := s.best(m)
	switch {
	case m.parked != nil && (j == nil || !j.hot()):
		s.unpark(m)
	case j != nil:
		s.start(m, j)
	case !ready.IsZero():
		s.wake(m, ready)
	}
}

// crewSets reports whether the people of a machine are setting another one.
func (s *Sim) crewSets(m *simMachine) bool {
	for _, o := range s.machines {
		if o.dev == m.dev && o != m && o.Kind == "" && o.cur != nil &&
			(o.cur.work.what == "" || o.cur.work.what == traveler.ActSetup) {
			return m.Kind == ""
		}
	}
	return false
}

// best is the job that goes first: hot ones, then by due date; now and then the
// one that lies on top. ready is when one that is kept back may go.
func (s *Sim) best(m *simMachine) (best *job, ready time.Time) {
	onTop := s.chance(0.15)
	for _, j := range m.wait {
		if j.held {
			continue
		}
		if j.ready.After(s.now) {
			if ready.IsZero() || j.ready.Before(ready) {
				ready = j.ready
			}
			continue
		}
		if best == nil || j.prio > best.prio || (j.prio == best.prio && j.due.Before(best.due) && !onTop) {
			best = j
		}
	}
	return best, ready
}
