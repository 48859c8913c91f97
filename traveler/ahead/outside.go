package ahead

import (
	"slices"
	"sort"
	"time"

	"tallywalk/traveler"
)

// departures is when things leave through the dock: on which days of the week, at
// what time, and how many departures a batch that is ready lets go by.
type departures struct {
	share [7]float64   // of the dock's open days of a weekday, those on which something left
	clock [7][]float64 // seconds from midnight, sorted
	lets  *dist        // departures that it lets go by; nil: too little is known
}

// trip is one thing that left.
type trip struct{ ready, left time.Time }

// few is how many departures, or returns, must be known before they say something.
const few = 5

// learnDepartures learns from what left. waiting are those that have not, by when
// they were ready: they let at least so many go by.
func (m *Model) learnDepartures(trips []trip, waiting []time.Time) (d departures) {
	if len(trips) < few {
		return d
	}
	went := map[time.Time]bool{}
	for _, t := range trips {
		at := t.left.In(m.zone)
		went[midnight(at)] = true
		d.clock[at.Weekday()] = append(d.clock[at.Weekday()], at.Sub(midnight(at)).Seconds())
	}
	h := dockHours(m.shop, m.asOf)
	var open, sent [7]float64
	for x := midnight(trips[0].left.In(m.zone)); x.Before(m.asOf); x = x.AddDate(0, 0, 1) {
		if h.Open(x, x.AddDate(0, 0, 1)) > 0 {
			open[x.Weekday()]++
		}
		if went[x] {
			sent[x.Weekday()]++
		}
	}
	for day := range 7 {
		slices.Sort(d.clock[day])
		if open[day] > 0 {
			d.share[day] = min(1, sent[day]/open[day])
		}
	}
	passed := func(from, to time.Time) (n float64) {
		for x := midnight(from.In(m.zone)); x.Before(midnight(to.In(m.zone))); x = x.AddDate(0, 0, 1) {
			if went[x] && x.Add(d.at(x.Weekday(), 0.5)).After(from) {
				n++
			}
		}
		return n
	}
	var lets []seen
	for _, t := range trips {
		lets = append(lets, seen{v: passed(t.ready, t.left)})
	}
	for _, ready := range waiting {
		lets = append(lets, seen{passed(ready, m.asOf), true})
	}
	d.lets = rightCut(lets)
	return d
}

// at is the time of the day at which things leave, at a level from 0 to 1.
func (d *departures) at(day time.Weekday, u float64) time.Duration {
	if n := len(d.clock[day]); n > 0 {
		return seconds(d.clock[day][min(int(u*float64(n)), n-1)])
	}
	return 0
}

// awayKey is a work centre and the day of the week of sending; -1 = any.
type awayKey struct {
	wc  traveler.WorkCentre
	day int
}

// learnOutside learns when things are sent and how long they are away: of what is
// out still, only that it is longer.
func (m *Model) learnOutside(all []sample) {
	m.away = map[awayKey]*dist{}
	away := map[awayKey][]seen{}
	var sent []trip
	for i := range all {
		s := &all[i]
		if !s.outside {
			continue
		}
		sent = append(sent, trip{s.ready, s.begun})
		x := seen{v: s.ended.Sub(s.begun).Seconds()}
		if s.ended.IsZero() {
			x = seen{m.asOf.Sub(s.begun).Seconds(), true}
		}
		for _, k := range []awayKey{{s.wc, int(s.begun.In(m.zone).Weekday())}, {s.wc, -1}} {
			away[k] = append(away[k], x)
		}
	}
	m.sends = m.learnDepartures(sent, nil)
	for k, v := range away {
		if known(v) >= few {
			m.away[k] = rightCut(v)
		}
	}
}

func midnight(t time.Time) time.Time {
	return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, t.Location())
}

// awayFor is how long what is sent on a day of the week stays away; nil where too
// little is known.
func (m *Model) awayFor(wc traveler.WorkCentre, day int) *dist {
	if d := m.away[awayKey{wc, day}]; d != nil {
		return d
	}
	return m.away[awayKey{wc, -1}]
}

// learnDeliveries learns how long finished batches lie until they leave.
func (m *Model) learnDeliveries(all []sample) {
	var left []trip
	ended := 0.0
	for i := range all {
		s := &all[i]
		if !s.last {
			continue
		}
		ended++
		if !s.delivered.IsZero() {
			left = append(left, trip{s.ended, s.delivered})
		}
	}
	if ended > 0 {
		m.scanned = float64(len(left)) / ended
	}
	m.delivers = m.learnDepartures(left, nil)
}

// simDay is a day ahead.
type simDay struct {
	from float64 // midnight, seconds from now
	day  int
}

// makeDays lists the days ahead, in the shop's zone.
func (s *sim) makeDays() {
	d := midnight(s.floor.now.In(s.floor.zone))
	for range int(horizon.Hours()/24) / 2 {
		s.days = append(s.days, simDay{s.secs(d), int(d.Weekday())})
		d = d.AddDate(0, 0, 1)
	}
}

// dayOf is the number of the day that a moment lies in; 0 before now.
func (s *sim) dayOf(at float64) int {
	return max(0, sort.Search(len(s.days), func(i int) bool { return s.days[i].from > at })-1)
}

// leaves is when a batch that is ready at a moment leaves; gone is how many
// departures it has let go by already. Nothing leaves while the dock is closed.
func (s *sim) leaves(run uint64, d *departures, kind int, u, at, gone float64) float64 {
	lets := d.lets.draw(u)
	if gone > 0 {
		lets = d.lets.drawAbove(u, gone-1) - gone
	}
	for i := s.dayOf(at); i < len(s.days); i++ {
		x := &s.days[i]
		goes := x.from + d.at(time.Weekday(x.day), level(run, 3, i, kind)).Seconds()
		if goes <= at || d.share[x.day] == 0 || s.dock.next(goes) > goes+3600 ||
			level(run, 2, i, kind) >= d.share[x.day] {
			continue
		}
		if lets--; lets < 0 {
			return goes
		}
	}
	return s.dock.next(max(at, s.days[len(s.days)-1].from))
}

// letGo is how many departures went by since a moment before now.
func (m *Model) letGo(d *departures, since time.Time) (n float64) {
	h := dockHours(m.shop, m.asOf)
	for x := midnight(since.In(m.zone)); x.Before(m.asOf); x = x.AddDate(0, 0, 1) {
		goes := x.Add(d.at(x.Weekday(), 0.5))
		if goes.After(since) && goes.Before(m.asOf) && h.Open(x, x.AddDate(0, 0, 1)) > 0 {
			n += d.share[x.Weekday()]
		}
	}
	return n
}

// goesOut is when a batch that is ready at a moment goes outside.
func (s *sim) goesOut(run uint64, j *simJob, o *simOp, at, gone float64) float64 {
	u := level(run, j.key, int(o.index), drawPick)
	if s.model.sends.lets == nil {
		return s.dock.next(s.dock.after(at, o.pick.draw(u)))
	}
	return s.leaves(run, &s.model.sends, drawLorry, u, at, gone)
}

// weekday is the day of the week of a moment, in the shop's zone.
func (s *sim) weekday(at float64) int {
	if at < 0 {
		return int(s.floor.now.Add(seconds(at)).In(s.floor.zone).Weekday())
	}
	return s.days[s.dayOf(at)].day
}
