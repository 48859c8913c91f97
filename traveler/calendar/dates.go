package calendar

import "time"

// WeekBegan is when the week of a moment began: on Monday, at midnight of its
// zone (ISO 8601).
func WeekBegan(t time.Time) time.Time {
	back := (int(t.Weekday()) + 6) % 7
	return time.Date(t.Year(), t.Month(), t.Day()-back, 0, 0, 0, 0, t.Location())
}

// lastMoment is the last one that RFC 3339, and so JSON, can say.
var lastMoment = time.Date(9999, 12, 31, 23, 59, 59, 0, time.UTC)

// EndOfDay is the end of a date, whatever zone it is written in, by the clocks of
// a zone; at most the last moment that JSON can say.
func EndOfDay(date time.Time, zone *time.Location) time.Time {
	y, m, d := date.Date()
	if end := time.Date(y, m, d+1, 0, 0, 0, 0, zone); end.Before(lastMoment) {
		return end
	}
	return lastMoment.In(zone)
}
