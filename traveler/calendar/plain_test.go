package calendar_test

import (
	"time"

	. "tallywalk/traveler/calendar"
)

// plainTurn is a turn in minutes of the clock; to may lie on the next day.
type plainTurn struct {
	kind     Kind
	days     [7]bool
	date     int // days since 1970
	from, to int
}

// leadDays are how long the plain account watches the clock before it is asked.
const leadDays = 3

// plain is working time without the package, minute by minute: someone
// watches the clock on the wall, notes how far it has ever come, and looks up
// what the calendar says of that time. Who goes into a break sets a timer.
func (d *drawn) plain(from time.Time, days int) []bool {
	begin := from.AddDate(0, 0, -leadDays)
	reached, furthest := make([]int, (leadDays+days)*24*60), 0
	firstSeen := map[int]int{} // minute of the clock: when it had been reached first
	for i := range reached {
		furthest = max(furthest, wall(begin.Add(time.Duration(i)*time.Minute).In(d.zone)))
		reached[i] = furthest
		if i == 0 {
			continue
		}
		for m := reached[i-1] + 1; m <= furthest; m++ {
			firstSeen[m] = i
		}
	}
	open := make([]bool, days*24*60)
	for i := range open {
		now := i + leadDays*24*60
		open[i] = d.openAt(reached[now], now, firstSeen)
	}
	return open
}

// wall is what the clock on the wall shows, in minutes since 1970.
func wall(t time.Time) int {
	y, m, day := t.Date()
	return int(time.Date(y, m, day, 0, 0, 0, 0, time.UTC).Unix()/60) + t.Hour()*60 + t.Minute()
}

func (d *drawn) openAt(shown, now int, firstSeen map[int]int) bool {
	for date := shown/1440 - 2; date <= shown/1440; date++ {
		for i := range d.turns {
			t := &d.turns[i]
			on := t.kind == Overtime && t.date == date ||
				t.kind == Shift && t.days[(date+4)%7] && !d.isOff(date)
			if on && date*1440+t.from <= shown && shown < date*1440+t.to &&
				!(t.kind == Shift && d.resting(t, date, now, firstSeen)) {
				return true
			}
		}
	}
	return false
}

func (d *drawn) isOff(date int) bool {
	for _, t := range d.turns {
		if t.kind == Off && t.date == date {
			return true
		}
	}
	return false
}

// resting reports whether a break of the shift is on: one that lies in the shift as
// written, and whose timer runs.
func (d *drawn) resting(shift *plainTurn, date, now int, firstSeen map[int]int) bool {
	for _, b := range d.turns {
		if b.kind != Break || !b.days[(date+4)%7] {
			continue
		}
		for _, later := range []int{0, 1440} {
			if b.from+later < shift.from || b.to+later > shift.to {
				continue
			}
			began, ok := firstSeen[date*1440+b.from+later]
			if ok && began <= now && now < began+b.to-b.from {
				return true
			}
		}
	}
	return false
}
