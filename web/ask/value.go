package ask

import "time"

func Date(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.DateOnly)
}

func Moment(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	return &t
}

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
