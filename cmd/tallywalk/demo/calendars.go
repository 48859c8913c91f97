package demo

import (
	"time"

	"tallywalk/traveler/calendar"
)

// The calendars of the invented shop.
const (
	calTwo = "two shifts"
	calDay = "day shift"
)

// Zone is the zone of the shop, by its IANA name.
const Zone = "Europe/Berlin"

// How far the calendars' dates go, beyond the history.
const monthsAhead = 8

// The shutdown and the overtime, in weeks before the demo opens; minus is after.
const shutdownWeeks = 24

var overtimeWeeks = []int{46, 38, 33, 20, 19, 11, 5, 2, -1}

// worksHolidays are the same dates every year.
var worksHolidays = []string{"01-01", "05-01", "10-03", "12-24", "12-25", "12-26", "12-31"}

// calendars are the shop's hours: two shifts for machines, days for stores,
// saw and dock. From is the first day that counts, open the day when the demo
// opens.
func calendars(from, open time.Time) []calendar.Calendar {
	two := []calendar.Turn{
		{Kind: calendar.Shift, Days: "mon-fri", From: "06:00", To: "14:00"},
		{Kind: calendar.Shift, Days: "mon-thu", From: "14:00", To: "22:00"},
		{Kind: calendar.Shift, Days: "fri", From: "14:00", To: "20:00"},
		{Kind: calendar.Break, Days: "mon-fri", From: "09:00", To: "09:15"},
		{Kind: calendar.Break, Days: "mon-fri", From: "12:00", To: "12:30"},
		{Kind: calendar.Break, Days: "mon-fri", From: "18:00", To: "18:30"},
	}
	day := []calendar.Turn{
		{Kind: calendar.Shift, Days: "mon-fri", From: "07:00", To: "15:45"},
		{Kind: calendar.Break, Days: "mon-fri", From: "09:00", To: "09:15"},
		{Kind: calendar.Break, Days: "mon-fri", From: "12:00", To: "12:30"},
	}
	for _, date := range daysOff(from, open) {
		off := calendar.Turn{Kind: calendar.Off, Date: date.Format(time.DateOnly)}
		two, day = append(two, off), append(day, off)
	}
	for _, w := range overtimeWeeks {
		if sat := monday(open).AddDate(0, 0, -7*w+5); sat.After(from) && !isOff(sat, from, open) {
			two = append(two,
				calendar.Turn{Kind: calendar.Overtime, Date: sat.Format(time.DateOnly), From: "06:00",
					To: "12:00"})
		}
	}
	return []calendar.Calendar{{Name: calTwo, Zone: Zone, Turns: two}, {Name: calDay, Zone: Zone, Turns: day}}
}

// daysOff lists the works holidays and the shutdown, in order.
func daysOff(from, open time.Time) []time.Time {
	var out []time.Time
	shut := monday(open).AddDate(0, 0, -7*shutdownWeeks)
	for d := midnight(from); d.Before(open.AddDate(0, monthsAhead, 0)); d = d.AddDate(0, 0, 1) {
		if d.Weekday() == time.Saturday || d.Weekday() == time.Sunday {
			continue
		}
		if holiday(d) || (!d.Before(shut) && d.Before(shut.AddDate(0, 0, 12))) {
			out = append(out, d)
		}
	}
	return out
}

func isOff(d, from, open time.Time) bool {
	for _, o := range daysOff(from, open) {
		if o.Equal(midnight(d)) {
			return true
		}
	}
	return holiday(d)
}

func holiday(d time.Time) bool {
	for _, h := range worksHolidays {
		if d.Format("01-02") == h {
			return true
		}
	}
	return false
}

func midnight(t time.Time) time.Time {
	return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, t.Location())
}

func monday(t time.Time) time.Time {
	return midnight(t).AddDate(0, 0, -(int(t.Weekday())+6)%7)
}

// opening is when the demo opens: now, if the shop is well at work then; else
// the last working morning before, because a dark hall shows nothing.
func opening(now time.Time, zone *time.Location) time.Time {
	t := now.In(zone).Truncate(time.Second)
	for d := range 14 {
		day := midnight(t).AddDate(0, 0, -d)
		if day.Weekday() == time.Saturday || day.Weekday() == time.Sunday || holiday(day) {
			continue
		}
		from, to := clockOn(day, 8, 40), clockOn(day, 11, 30)
		switch {
		case t.Before(from):
		case d == 0 && !t.After(to):
			return t
		default:
			return clockOn(day, 10, 20)
		}
	}
	return t
}

func clockOn(day time.Time, hour, minute int) time.Time {
	return time.Date(day.Year(), day.Month(), day.Day(), hour, minute, 0, 0, day.Location())
}
