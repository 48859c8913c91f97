package demo

import (
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// stageLate sees to it that something is late when the demo opens: a batch that
// an inspector has kept back for some days, with a date that the customer has
// brought forward if need be.
func (s *Sim) stageLate() {
	var worst *job
	for _, j := range s.floor {
		if s.waitsAt(j) == nil || j.held || j.barred || j.parent != nil || j.child != nil {
			continue
		}
		if worst == nil || j.due.Before(worst.due) {
			worst = j
		}
	}
	if worst == nil {
		return
	}
	s.hold(worst, s.open.Add(5*time.Hour).Sub(s.now))
	if late := workday(s.open.AddDate(0, 0, -5)); worst.due.After(late) {
		y, m, d := s.open.AddDate(0, 0, -2).Date()
		worst.due = time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
		s.officeSay(traveler.Scan{Card: string(worst.card), Action: traveler.ActOverride,
			For: story.OverrideDue, To: worst.due.Format(time.DateOnly), Note: "customer needs it sooner"})
	}
}

// stageHold sees to it that something is held when the demo opens.
func (s *Sim) stageHold() {
	for _, j := range s.floor {
		if j.held {
			return
		}
	}
	for _, m := range s.machines {
		for _, j := range m.wait {
			if m.Kind == "" && !j.hot() && len(m.wait) > 1 {
				s.hold(j, 9*time.Hour)
				return
			}
		}
	}
}

// stageStop sees to it that a machine stands when the demo opens: one that stands
// already, else one of those that run.
func (s *Sim) stageStop() {
	const lasts = 75 * time.Minute
	for _, m := range s.machines {
		if st := m.cur; st != nil && st.stands && m.Kind == "" && !m.dev.alone {
			st.gen++
			s.goesOnAt(st, m.hours.spend(s.now, lasts))
			return
		}
	}
	for _, m := range s.machines {
		st := m.cur
		if st == nil || m.Kind != "" || !s.running(st) || m.dev.alone {
			continue
		}
		s.rest(st)
		st.gen++
		s.halt(st, "tool", lasts)
		return
	}
}
