package demo

import (
	"strings"
	"time"

	"tallywalk/traveler"
)

// stopEvery is the median run time between two stops, in minutes.
const stopEvery = 480

// run begins the run.
func (s *Sim) run(st *stay) {
	if j := st.j; j.ahead > 0 && j.aheadOp == st.op.Number {
		j.good, j.left, j.ahead = j.good+j.ahead, j.left-j.ahead, 0
	}
	s.bear(st)
	st.total = st.j.left
	if st.how == countReads {
		st.reads = 200 + s.rng.IntN(9000)
	}
	if !st.quiet {
		if st.how != countReads && s.chance(0.025) {
			s.did("forgotten start")
		} else {
			s.scanAt(st, traveler.ActRun, func(sc *traveler.Scan) {
				if st.how == countReads {
					n := st.reads
					sc.Reads = &n
				}
			})
		}
	}
	st.count = s.every(st)
	s.goRun(st)
}

// every is the run time between two visits of someone who counts.
func (s *Sim) every(st *stay) time.Duration {
	n := max(5, st.total/6)
	if st.how != countTrays && st.how != countReads {
		n = st.total
	}
	return min(150*time.Minute, st.cycle*time.Duration(n)) + time.Second
}

// goRun runs until the next thing: the last piece, a count, a stop.
func (s *Sim) goRun(st *stay) {
	all := st.cycle * time.Duration(st.total)
	next := min(all, st.count, st.stop)
	s.do(st, traveler.ActRun, max(0, next-st.ran), func() { s.milestone(st) })
}

// milestone is the last piece, a count or a stop.
func (s *Sim) milestone(st *stay) {
	switch {
	case st.ran >= st.cycle*time.Duration(st.total):
		st.made = max(st.made, st.total)
		s.ended(st)
	case st.ran >= st.stop:
		st.stop = st.ran + s.minutes(stopEvery, 1)
		s.halts(st)
	default:
		st.count = st.ran + s.every(st)
		if s.minded(st) && s.lookIn(st) {
			return
		}
		s.goRun(st)
	}
}

// lookIn is someone at a running machine: counts, sends pieces ahead, makes
// way for a hot job. It is true when the run does not go on.
func (s *Sim) lookIn(st *stay) bool {
	counts := (st.how == countTrays || st.how == countReads) && !st.quiet
	if counts && st.good+len(st.lost) > 0 {
		s.countTray(st)
	}
	if s.sendAhead(st); s.makeWay(st) {
		return true
	}
	return false
}

// countTray counts what is made; now and then a slip is taken back, or the
// wrong card is read.
func (s *Sim) countTray(st *stay) {
	if st.how == countTrays && s.chance(0.006) {
		s.slip(st)
		return
	}
	if st.how == countTrays && s.chance(0.007) && s.wrongCard(st) {
		return
	}
	s.tally(st, traveler.ActCount)
}

// tally says what was made since the last count.
func (s *Sim) tally(st *stay, act traveler.Action) traveler.ScanID {
	return s.tallyOf(st, act, 0, nil)
}

// tallyOf says what was made since the last count, more or less some good
// pieces that were not.
func (s *Sim) tallyOf(st *stay, act traveler.Action, off int, more func(*traveler.Scan)) traveler.ScanID {
	good := max(0, st.good+off)
	lost := st.lost
	id := s.scanAt(st, act, func(sc *traveler.Scan) {
		addLosses(sc, lost)
		switch {
		case st.how == countReads && st.good+len(lost) > 0:
			if st.made > st.said && st.said > 0 && s.chance(0.04) {
				s.did("counter reset")
				st.reads = -st.said
			}
			n := st.reads + st.made
			sc.Reads = &n
		case act == traveler.ActCount || good+len(lost) > 0:
			sc.Good = &good
		}
		if more != nil {
			more(sc)
		}
	})
	st.j.good += st.good
	st.said, st.good, st.lost = st.made, 0, nil
	return id
}

func addLosses(sc *traveler.Scan, lost []lossAt) {
	for _, l := range lost {
		switch l.outcome {
		case "scrap":
			sc.Scrap = merge(sc.Scrap, l.Loss)
		case "rework":
			sc.Rework = merge(sc.Rework, l.Loss)
		case "review":
			sc.Review = merge(sc.Review, l.Loss)
		}
	}
}

func merge(list []traveler.Loss, l traveler.Loss) []traveler.Loss {
	for i := range list {
		if list[i].Reason == l.Reason && list[i].CausedAt == l.CausedAt {
			list[i].N += l.N
			return list
		}
	}
	return append(list, l)
}

// stopsOf is what stops a machine, and how often.
func stopsOf(m *simMachine, o *traveler.Operation) []weighed {
	switch {
	case m.Kind != "" || m.WorkCentre == wcSaw:
		return []weighed{{"other", 1}}
	case m.WorkCentre == wcGrind:
		return []weighed{{"dress", 45}, {"gauge", 20}, {"inspector", 18}, {"setter", 6}, {"breakdown", 8},
			{"other", 3}}
	}
	out := []weighed{{"tool", 36}, {"swarf", 16}, {"inspector", 14}, {"setter", 8}, {"gauge", 8},
		{"program", 7}, {"breakdown", 8}, {"other", 3}}
	if fromBar(o) {
		out = append(out, weighed{"bar", 40})
	}
	return out
}

// fromBar reports whether an operation turns from the bar.
func fromBar(o *traveler.Operation) bool { return strings.Contains(o.Instruction, "from the bar") }

// halts stops a run for something.
func (s *Sim) halts(st *stay) {
	why := s.choose(stopsOf(st.m, st.op))
	if !s.minded(st) {
		s.foundStopped(st, "tool")
		return
	}
	lasts := s.minutes(16, 0.6)
	if why == "breakdown" {
		s.did("breakdown")
		lasts = s.minutes(190, 0.8)
	}
	s.halt(st, why, lasts)
}

// halt stops a run, and lets it go on after some minded time.
func (s *Sim) halt(st *stay, why string, lasts time.Duration) {
	s.scanAt(st, traveler.ActStop, func(sc *traveler.Scan) { sc.Reason = why })
	again := st.m.hours.spend(s.now, lasts)
	if why == "breakdown" && s.toTwin(st, again) {
		return
	}
	s.goesOnAt(st, again)
}

// goesOnAt lets a run that stands go on at a moment.
func (s *Sim) goesOnAt(st *stay, again time.Time) {
	st.stands = true
	s.on(st, again, func() {
		st.stands = false
		if s.chance(0.03) {
			s.did("forgotten restart")
		} else {
			s.scanAt(st, traveler.ActRun, nil)
		}
		s.goRun(st)
	})
}
