package demo

import (
	"math"
	"time"

	"tallywalk/traveler"
)

// How a visit is counted.
type counting int

const (
	countTrays  counting = iota // as the trays fill
	countAtEnd                  // with the finish
	countShifts                 // when the shift ends, and with the finish
	countReads                  // by the machine's counter
)

// stay is a job at a machine.
type stay struct {
	j   *job
	m   *simMachine
	op  *traveler.Operation
	gen int // what was planned for an earlier one does not happen any more

	how   counting
	reads int // what the machine's counter showed when the run began
	total int // pieces of the run
	made  int
	said  int           // of them, counted
	cycle time.Duration // true run time of one piece in this batch
	ran   time.Duration
	stop  time.Duration // run time after which something stops it
	count time.Duration // run time after which someone comes to count

	good  int // made and not counted yet
	lost  []lossAt
	fates map[int]lossAt // pieces of the run, by number, that are not good

	work  work
	until time.Time // running alone: when the bar is empty
	tried int       // first pieces
	quiet bool      // nobody scans it
	// stands: something stopped its run, and someone will start it again
	stands bool

	rework, review int // pieces of the run that were sent back or set aside
}

// lossAt is a loss with its outcome.
type lossAt struct {
	outcome string
	traveler.Loss
}

// work is what goes on at a stay: set-up or run.
type work struct {
	what traveler.Action
	left time.Duration
	from time.Time // since when it goes on; zero = it rests
	then func()
}

// on lets something happen at a stay, unless something else happens to it
// before.
func (s *Sim) on(st *stay, t time.Time, do func()) {
	gen := st.gen
	s.at(t, func() {
		if st.gen == gen {
			do()
		}
	})
}

// scanAt says something about a stay at its machine.
func (s *Sim) scanAt(st *stay, act traveler.Action, more func(*traveler.Scan)) traveler.ScanID {
	sc := traveler.Scan{Station: string(st.m.ID), Card: st.j.ref(), Action: act, Operator: s.who(st.m),
		Operation: st.op.Number}
	if more != nil {
		more(&sc)
	}
	return s.say(sc, traveler.RoleOperator)
}

// start takes a job from the queue of a machine.
func (s *Sim) start(m *simMachine, j *job) {
	m.forget(j)
	st := &stay{j: j, m: m, op: j.op()}
	if j.barred {
		s.bar(st)
		return
	}
	m.cur, j.stay = st, st
	s.prepare(st)
	s.on(st, m.hours.spend(s.now, s.minutes(4, 0.6)), func() { s.setUp(st) })
}

// prepare draws what will become of it.
func (s *Sim) prepare(st *stay) {
	o, j := st.op, st.j
	st.cycle = max(time.Second,
		minutes(s.around(o.MinPerPiece()*cycleFactor(j.part, o.Number), trueCycleSpread)))
	if o.AddedOnFloor {
		st.cycle = s.minutes(0.5, 0.2)
	}
	st.stop = s.minutes(stopEvery, 1)
	st.how = countAtEnd
	if o.WorkCentre == wcWash && s.chance(0.01) {
		s.did("not scanned at all")
		st.quiet, st.stop = true, math.MaxInt64
	}
	switch x := s.rng.Float64(); {
	case st.m.Kind != "":
		if x < 0.4 {
			st.how = countTrays
		}
	case x < 0.52:
		st.how = countTrays
	case x < 0.66:
		st.how = countShifts
		s.did("counted at shift end")
	case x < 0.74:
		st.how = countReads
		s.did("reads")
	}
}

// setUp sets the machine, if that takes any time worth a scan.
func (s *Sim) setUp(st *stay) {
	o := st.op
	if o.SetupMin < 5 || st.quiet {
		s.run(st)
		return
	}
	if s.chance(0.02) {
		s.did("forgotten set-up")
	} else {
		s.scanAt(st, traveler.ActSetup, nil)
	}
	d := minutes(s.around(o.SetupMin*TrueSetup, trueSetupSpread))
	s.do(st, traveler.ActSetup, d, func() {
		if o.FirstOff && st.j.left > 3 {
			s.firstPiece(st)
			return
		}
		s.run(st)
	})
}

// firstOffTakes is how long an inspector needs for a first piece: median, in minutes.
const firstOffTakes = 28

// firstPiece hands the first piece over and waits for the inspector.
func (s *Sim) firstPiece(st *stay) {
	s.scanAt(st, traveler.ActFirstOff, nil)
	st.work.what = traveler.ActFirstOff
	st.tried++
	if st.tried == 1 && s.chance(0.012) {
		s.did("ran before the first piece was accepted")
		s.on(st, s.now.Add(s.between(8, 20)), func() { s.run(st) })
		s.at(s.named[atMetro].hours.spend(s.now, s.between(20, 45)), func() { s.lateVerdict(st) })
		return
	}
	metro := s.named[atMetro]
	s.on(st, metro.hours.spend(s.now, s.minutes(firstOffTakes, 0.2)), func() { s.verdict(st, metro) })
}

// verdict is what the inspector says of the first piece.
func (s *Sim) verdict(st *stay, metro *simMachine) {
	one, refuse := 1, 0.07
	if st.tried == 2 {
		refuse = 0.2
	}
	sc := traveler.Scan{Station: string(st.m.ID), Card: st.j.ref(), Action: traveler.ActFirstOff,
		Operator: s.who(metro), Operation: st.op.Number}
	if s.chance(0.3) {
		sc.Station = atMetro
	}
	st.j.left--
	if st.tried < 3 && st.j.left > 4 && s.chance(refuse) {
		s.did("first piece refused")
		if st.tried == 2 {
			s.did("first piece refused twice")
		}
		if s.chance(0.7) {
			sc.Scrap = []traveler.Loss{{Reason: "setting", N: 1}}
		} else {
			sc.Rework = []traveler.Loss{{Reason: "setting", N: 1}}
			st.j.mend++
		}
		sc.Measured = s.measured(st.op)
		s.say(sc, traveler.RoleInspector)
		s.do(st, traveler.ActSetup, s.minutes(14, 0.4), func() { s.firstPiece(st) })
		return
	}
	st.j.good++
	sc.Good = &one
	if st.tried == 1 && st.j.left > 3 && s.chance(setupPieces(st.j.pieces)) {
		s.did("set-up piece")
		st.j.left--
		sc.Scrap = []traveler.Loss{{Reason: "setting", N: 1}}
	}
	s.say(sc, traveler.RoleInspector)
	s.on(st, st.m.hours.spend(s.now, s.between(1, 4)), func() { s.run(st) })
}

// lateVerdict accepts the first piece of a run that began without it.
func (s *Sim) lateVerdict(st *stay) {
	if st.j.stay != st || st.how == countReads {
		return
	}
	if !s.running(st) {
		s.after(s.between(15, 30), func() { s.lateVerdict(st) })
		return
	}
	s.rest(st)
	st.gen++
	defer s.goRun(st)
	if st.good == 0 {
		return
	}
	one := 1
	st.good--
	st.j.good++
	s.say(traveler.Scan{
		Station: string(st.m.ID), Card: st.j.ref(), Action: traveler.ActFirstOff,
		Operator: s.who(s.named[atMetro]), Operation: st.op.Number, Good: &one,
	}, traveler.RoleInspector)
}
