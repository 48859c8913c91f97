package ahead

import (
	"slices"
	"sort"
	"time"

	"tallywalk/traveler"
)

// crowd is how many batches must wait for a work centre, all of them past their
// first operation, for a machine that takes none of them to be the cause, and not
// the batches: someone is missing, or sets another machine.
const crowd = 3

// lineOf is when batches came to wait for a work centre, and when they were begun.
type lineOf struct{ ready, begun []time.Time }

func linesOf(all []sample) map[traveler.WorkCentre]*lineOf {
	out := map[traveler.WorkCentre]*lineOf{}
	for i := range all {
		s := &all[i]
		if s.first || s.outside {
			continue
		}
		l := out[s.wc]
		if l == nil {
			l = &lineOf{}
			out[s.wc] = l
		}
		l.ready, l.begun = append(l.ready, s.ready), append(l.begun, s.begun)
	}
	for _, l := range out {
		slices.SortFunc(l.ready, time.Time.Compare)
		slices.SortFunc(l.begun, time.Time.Compare)
	}
	return out
}

// waiting is how many waited at a moment.
func (l *lineOf) waiting(at time.Time) int {
	if l == nil {
		return 0
	}
	came := sort.Search(len(l.ready), func(i int) bool { return l.ready[i].After(at) })
	left := sort.Search(len(l.begun), func(i int) bool { return l.begun[i].After(at) })
	return came - left
}

// learnGaps learns how long a machine stands between two batches while others wait.
func (m *Model) learnGaps(gaps map[traveler.WorkCentre][]float64) {
	m.gaps = map[traveler.WorkCentre]resid{}
	for wc, g := range gaps {
		slices.Sort(g)
		m.allGaps = append(m.allGaps, g...)
		if len(g) >= 20 {
			m.gaps[wc] = g
		}
	}
	slices.Sort(m.allGaps)
	if len(m.allGaps) < 20 {
		m.allGaps = nil
	}
}

// gap is how long a machine of a work centre stands before it takes what waits, at a
// level.
func (m *Model) gap(wc traveler.WorkCentre, u float64) float64 {
	g := m.gaps[wc]
	if len(g) == 0 {
		g = m.allGaps
	}
	if len(g) == 0 {
		return 0
	}
	return g.draw(u)
}

// learnPicks learns how long batches lie before a machine that could take them.
// Where the machine was at something else until just before, all that is known is
// that the delay was no longer than the wait.
func (m *Model) learnPicks(all []sample) {
	picks, waits := map[pickKey][]seen{}, map[pickKey][]seen{}
	lines := linesOf(all)
	gaps := map[traveler.WorkCentre][]float64{}
	freeSince := map[traveler.MachineID]time.Time{}
	for i := range all {
		s := &all[i]
		h := m.shop.CentreHours(s.wc, s.begun)
		w := h.Open(s.ready, s.begun).Seconds()
		k := pickKey{s.wc, s.first}
		waits[k] = append(waits[k], seen{v: w})
		cut := false
		if free, ok := freeSince[s.machine]; ok && !s.outside && free.After(s.ready) {
			gap := m.shop.Hours(s.machine, s.begun).Open(free, s.begun)
			inLine := !s.first && lines[s.wc].waiting(free) >= crowd
			if cut = gap <= justBefore || inLine; inLine {
				gaps[s.wc] = append(gaps[s.wc], gap.Seconds())
			}
		}
		picks[k] = append(picks[k], seen{w, cut})
		end := s.ended
		if end.IsZero() {
			end = m.asOf
		}
		if end.After(freeSince[s.machine]) {
			freeSince[s.machine] = end
		}
	}
	m.learnGaps(gaps)
	var allPicks, allWaits []seen
	for k, v := range picks {
		allPicks = append(allPicks, v...)
		m.picks[k] = leftCut(v)
	}
	for k, v := range waits {
		allWaits = append(allWaits, v...)
		m.waits[k] = rightCut(v)
	}
	m.allPicks, m.allWaits = leftCut(allPicks), rightCut(allWaits)
}
