package demo

import (
	"math"
	"slices"
	"time"

	"tallywalk/traveler"
)

// job is a batch on its way, as it truly is; the record knows what people say
// of it.
type job struct {
	card    traveler.Code
	order   string
	part    string
	buyer   string // the customer
	wanted  int
	rev     string
	ops     []traveler.Operation
	k       int                 // the operation it is at or waits for
	pieces  int                 // that came to it
	left    int                 // of them, not made yet
	good    int                 // of them, made and good
	out     map[traveler.Op]int // pieces that went on from an operation
	hidden  []flaw              // pieces that are lost and that nobody has found yet
	due     time.Time
	prio    int
	place   traveler.MachineID
	ready   time.Time // when it may be begun at the earliest
	held    bool
	mend    int  // set-up pieces that must be reworked
	typed   bool // its card is away: the works order number is typed
	several bool // its works order has other cards
	barred  bool // its drawing is superseded and nobody has decided
	ahead   int  // pieces that operation aheadOp has done already
	aheadOp traveler.Op
	stay    *stay

	parent, child *job
	apart         bool // they cannot be joined again
	met           bool // it waits for the other one
	aside         int  // pieces in review or rework
	packed        int  // pieces at the dock
	delivered     int
	over          bool
}

// flaw is pieces whose fault nobody has found yet.
type flaw struct {
	by     traveler.Op
	reason string
	n      int
}

// gone is a batch that left, and how many pieces of it truly were delivered.
type gone struct {
	card      traveler.Code
	delivered int
}

// hotPrio is the priority of a job that breaks into others.
const hotPrio = 5

func (j *job) hot() bool { return j.prio >= hotPrio }

func (j *job) op() *traveler.Operation { return &j.ops[j.k] }

func (j *job) last() bool { return j.k == len(j.ops)-1 }

// ref is what is read or typed for its card.
func (j *job) ref() string {
	if j.typed {
		return j.order
	}
	return string(j.card)
}

// enter puts a job on the floor.
func (s *Sim) enter(j *job) {
	j.out = map[traveler.Op]int{}
	s.jobs[j.card] = j
	s.floor = append(s.floor, j)
	s.counts.batches++
}

// leave takes a job off the floor.
func (s *Sim) leave(j *job) {
	j.over = true
	s.gone = append(s.gone, gone{j.card, j.delivered})
	delete(s.jobs, j.card)
	s.floor = slices.DeleteFunc(s.floor, func(o *job) bool { return o == j })
}

// onward lets a job go on from the operation that it was at.
func (s *Sim) onward(j *job) {
	j.out[j.op().Number] = j.good
	j.pieces, j.good = j.good, 0
	if j.typed = s.chance(0.02) && !j.several && j.parent == nil; j.typed {
		s.did("works order typed")
	}
	if j.pieces <= 0 {
		s.lost(j)
		return
	}
	if j.last() {
		s.pack(j)
		return
	}
	j.k++
	j.left = j.pieces
	if s.mishap(j) {
		return
	}
	s.carry(j)
}

// lost ends a job of which nothing is left.
func (s *Sim) lost(j *job) {
	if p := j.parent; p != nil && !j.apart {
		// Nobody need wait for this box.
		p.child, j.parent = nil, nil
		if p.met {
			s.arrive(p, s.named[atMetro])
		}
	}
	if c := j.child; c != nil && !j.apart {
		c.parent, j.child = nil, nil
		if c.met {
			s.arrive(c, s.named[atMetro])
		}
	}
	if j.aside == 0 && j.packed == 0 {
		s.leave(j)
	}
}

// carry brings a job to where its next operation is done.
func (s *Sim) carry(j *job) {
	if j.last() && (j.child != nil || j.parent != nil) && !j.apart {
		s.meet(j)
		return
	}
	to := s.choosePlace(j)
	s.after(s.walk(j.place, to.ID), func() { s.arrive(j, to) })
}

// choosePlace is the machine of the work centre where least waits.
func (s *Sim) choosePlace(j *job) *simMachine {
	if j.op().Outside() {
		return s.named[atDock]
	}
	var best *simMachine
	least := math.Inf(1)
	for _, m := range s.centre(j.op().WorkCentre) {
		n := float64(len(m.wait))
		if m.cur != nil {
			n += 0.5
		}
		if m.down.After(s.now.Add(4 * time.Hour)) {
			n += 4
		}
		if n < least {
			best, least = m, n
		}
	}
	return best
}

// walk is how long it takes until a batch is somewhere else: until someone has
// a hand free, and the way itself, at an easy pace with a trolley.
func (s *Sim) walk(from, to traveler.MachineID) time.Duration {
	const metresAMinute = 45
	a, b := s.named[from], s.named[to]
	if a == nil || b == nil {
		return s.minutes(20, 0.5)
	}
	metres := math.Abs(a.X-b.X) + math.Abs(a.Y-b.Y) + 6
	return s.minutes(11, 0.8) + minutes(metres/metresAMinute)
}

// arrive puts a job before a machine.
func (s *Sim) arrive(j *job, m *simMachine) {
	if _, in := m.hours.day(s.now); !in {
		s.at(m.hours.next(s.now).Add(s.between(1, 20)), func() { s.arrive(j, m) })
		return
	}
	j.place = m.ID
	if j.op().Outside() {
		s.put(j, atDock)
		s.ship(j)
		return
	}
	if s.chance(0.75) {
		s.say(traveler.Scan{Station: string(m.ID), Card: j.ref(), Action: traveler.ActArrive,
			Operator: s.who(m), Operation: j.op().Number}, traveler.RoleOperator)
	}
	if m.Kind == "" && s.chance(0.05) {
		s.keepBack(j, m)
	}
	m.wait = append(m.wait, j)
	s.wake(m, s.now.Add(s.between(2, 9)))
}

// put says that a batch lies in a place.
func (s *Sim) put(j *job, place traveler.MachineID) {
	m := s.named[place]
	j.place = place
	s.say(traveler.Scan{Station: string(place), Card: j.ref(), Action: traveler.ActMove, Operator: s.who(m),
		To: string(place)}, traveler.RoleOperator)
}

// keepBack lets a job wait for something, and says for what.
func (s *Sim) keepBack(j *job, m *simMachine) {
	lacks := weighed{"fixture", 2}
	if j.k == 0 {
		lacks.what = "material"
	}
	why := s.choose([]weighed{{"tool", 4}, {"program", 2}, lacks, {"gauge", 1}, {"person", 1}})
	j.ready = m.hours.spend(s.now, s.minutes(300, 0.7))
	s.did("waits for a reason")
	s.after(s.between(1, 4), func() {
		s.say(traveler.Scan{Station: string(m.ID), Card: j.ref(), Action: traveler.ActStop,
			Operator: s.who(m), Operation: j.op().Number, Reason: why}, traveler.RoleOperator)
	})
}

// forget takes a job out of the queue before a machine.
func (m *simMachine) forget(j *job) {
	m.wait = slices.DeleteFunc(m.wait, func(o *job) bool { return o == j })
}

// waitsAt is the machine before which a job waits, or nil.
func (s *Sim) waitsAt(j *job) *simMachine {
	for _, m := range s.machines {
		if slices.Contains(m.wait, j) {
			return m
		}
	}
	return nil
}
