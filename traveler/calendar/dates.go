package calendar

import "time"

// WeekBegan is when the week of a moment began: on Monday, at midnight of its
// zone (ISO 8601).
func WeekBegan(t time.Time) time.Time {
	back := (int(t.Weekday()) + 6) % 7
	return time.Date(t.Year(), t.Month(), t.Day()-back, 0, 0, 0, 0, t.Location())
}

// EndOfDay is the end of a date, whatever zone it is written in, by the clocks of
// a zone.
func EndOfDay(date time.Time, zone *time.Location) time.Time {
	y, m, d := date.Date()
	return time.Date(y, m, d+1, 0, 0, 0, 0, zone)
}
