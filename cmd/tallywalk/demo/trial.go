package demo

import (
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
)

// Trial is what is otherwise in the last part of the history: to see what becomes of
// forecasts then. The zero value changes nothing.
type Trial struct {
	Since  time.Duration // before the demo opens
	Demand float64       // times what is usually ordered; 0 = as usual
	// Lost is a machine that is lost from then on for some days, of which someone says
	// at once when it will be back.
	Lost     traveler.MachineID
	LostDays int
}

// Try makes a history with a trial in it. Call it before the history is made.
func (s *Sim) Try(t Trial) { s.trial = t }

// takeAway takes the trial's machine away, says so in its calendar, and brings it back.
func (s *Sim) takeAway() {
	m := s.named[s.trial.Lost]
	if m == nil {
		return
	}
	from := midnight(s.open.Add(-s.trial.Since).In(s.zone))
	back := from.AddDate(0, 0, s.trial.LostDays)
	s.at(clockOn(from, 5, 30), func() {
		m.down = clockOn(back, 6, 0)
		for _, c := range calendars(s.from, s.open) {
			if c.Name != m.Calendar {
				continue
			}
			c.Name = "under repair"
			for d := from; d.Before(back); d = d.AddDate(0, 0, 1) {
				if !isOff(d, s.from, s.open) {
					c.Turns = append(c.Turns,
						calendar.Turn{Kind: calendar.Off, Date: d.Format(time.DateOnly)})
				}
			}
			lost := m.Machine
			lost.Calendar = c.Name
			s.change(&traveler.Change{From: s.now, Calendars: []calendar.Calendar{c},
				Machines: []traveler.Machine{lost}})
		}
	})
}
