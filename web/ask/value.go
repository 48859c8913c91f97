package ask

import "time"

// Date writes a date such as 2026-11-25; none is empty.
func Date(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.DateOnly)
}

// Moment is a time in an answer; null for none.
func Moment(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	return &t
}

// Seconds is a time span in an answer.
func Seconds(d time.Duration) *float64 {
	s := d.Seconds()
	return &s
}

// Some is a list that is never null in JSON.
func Some[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}
