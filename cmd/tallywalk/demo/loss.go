package demo

import (
	"cmp"
	"slices"

	"tallywalk/traveler"
)

// bear draws which pieces of a run will not be good, and why: those that this
// operation spoils, and those that an earlier one spoiled and that are found
// here.
func (s *Sim) bear(st *stay) {
	j, o := st.j, st.op
	st.fates = map[int]lossAt{}
	n := j.left
	s.spoil(st, n)
	s.discover(st, n)
	if j.last() {
		s.judge(st, n)
	}
	if j.k == 0 && n > 5 && fromBar(o) && s.chance(0.12) {
		s.did("one more from the bar")
		j.left++
	}
}

// spoil draws the pieces that this operation spoils.
func (s *Sim) spoil(st *stay, n int) {
	o := st.op
	if o.Clampings == 0 || o.AddedOnFloor {
		return
	}
	s.shift(st, n, "position", lossPerClamping(o)*float64(o.Clampings))
	for range s.of(n, trueLossOther) {
		why := s.choose([]weighed{{"wear", 5}, {"offset", 3}, {"surface", 2}, {"fallen", 2}, {"material", 1}})
		s.lose(st, n, "scrap", traveler.Loss{Reason: why, N: 1})
	}
	if st.j.part == partBadFixture && o.Number == OpBadFixture && s.now.Before(s.mended) {
		s.did("bad fixture")
		s.shift(st, n, "fixture", trueLossFixture)
	}
}

// shift draws the pieces whose features lie wrong to each other: some are found here.
func (s *Sim) shift(st *stay, n int, why string, chance float64) {
	for range s.of(n, chance) {
		if s.chance(trueFoundHere) {
			s.lose(st, n, "scrap", traveler.Loss{Reason: why, N: 1})
		} else {
			st.j.hide(st.op.Number, why)
		}
	}
}

// hide notes a piece whose fault nobody has found yet.
func (j *job) hide(by traveler.Op, reason string) {
	for i := range j.hidden {
		if j.hidden[i].by == by && j.hidden[i].reason == reason {
			j.hidden[i].n++
			return
		}
	}
	j.hidden = append(j.hidden, flaw{by, reason, 1})
}

// discover finds faults of earlier operations: some at each machine, all that
// are left in the measuring room.
func (s *Sim) discover(st *stay, n int) {
	j := st.j
	chance := 0.0
	switch {
	case st.op.WorkCentre == wcInspect:
		chance = 1
	case st.op.Clampings > 0:
		chance = trueFoundLater
	}
	for i := range j.hidden {
		f := &j.hidden[i]
		if f.by == st.op.Number {
			continue
		}
		found := s.of(f.n, chance)
		f.n -= found
		for range found {
			s.did("caused earlier")
			s.lose(st, n, "scrap", traveler.Loss{Reason: f.reason, N: 1, CausedAt: f.by})
		}
	}
	j.hidden = slices.DeleteFunc(j.hidden, func(f flaw) bool { return f.n == 0 })
}

// judge draws what the measuring room sends back or sets aside.
func (s *Sim) judge(st *stay, n int) {
	j := st.j
	if k := j.opAt(wcBench); k >= 0 {
		for range s.of(n, trueBurrs) {
			s.lose(st, n, "rework", traveler.Loss{Reason: "burr", N: 1, CausedAt: j.ops[k].Number})
		}
	}
	for range s.of(n, trueReview) {
		why := s.choose([]weighed{{"size", 2}, {"mark", 1}})
		s.lose(st, n, "review", traveler.Loss{Reason: why, N: 1})
	}
}

// opAt is the first operation at a work centre, or -1.
func (j *job) opAt(wc traveler.WorkCentre) int {
	return slices.IndexFunc(j.ops, func(o traveler.Operation) bool { return o.WorkCentre == wc })
}

// lose says that one of the pieces of a run, no matter which, is lost.
func (s *Sim) lose(st *stay, n int, outcome string, l traveler.Loss) {
	if len(st.fates) >= n {
		return
	}
	for {
		i := s.rng.IntN(n)
		if _, taken := st.fates[i]; !taken {
			st.fates[i] = lossAt{outcome, l}
			return
		}
	}
}

// bank takes the pieces that were made into account.
func (s *Sim) bank(st *stay) {
	made := min(st.total, int((st.ran+1)/st.cycle))
	s.make(st, made)
}

// make makes pieces up to a number of the run.
func (s *Sim) make(st *stay, upTo int) {
	for ; st.made < upTo; st.made++ {
		st.j.left--
		if l, lost := st.fates[st.made]; lost {
			st.lost = append(st.lost, l)
			switch l.outcome {
			case "rework":
				st.rework += l.N
			case "review":
				st.review += l.N
			}
			continue
		}
		st.good++
	}
}

// sorted puts losses in an order that does not depend on when they were found.
func sorted(lost []lossAt) []lossAt {
	slices.SortStableFunc(lost, func(a, b lossAt) int {
		return cmp.Or(cmp.Compare(a.outcome, b.outcome), cmp.Compare(a.Reason, b.Reason),
			cmp.Compare(a.CausedAt, b.CausedAt))
	})
	return lost
}
