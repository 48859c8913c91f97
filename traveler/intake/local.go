package intake

import "time"

// localTimes gives the moments at which the clock of a zone shows a time: one
// as a rule, two in an hour that comes twice, the earlier first. In an hour that
// the clock leaves out it gives, with never, the moment that the time would be
// had nobody put the clock forward.
func localTimes(shown time.Time, zone *time.Location) (at []time.Time, never bool) {
	wall := time.Date(shown.Year(), shown.Month(), shown.Day(), shown.Hour(), shown.Minute(), shown.Second(),
		shown.Nanosecond(), time.UTC)
	before, after := offsetAt(wall.Add(-24*time.Hour), zone), offsetAt(wall.Add(24*time.Hour), zone)
	for _, offset := range []time.Duration{before, after} {
		t := wall.Add(-offset)
		if offsetAt(t, zone) == offset && (len(at) == 0 || !at[0].Equal(t)) {
			at = append(at, t)
		}
	}
	if len(at) == 0 {
		return []time.Time{wall.Add(-before)}, true
	}
	if len(at) == 2 && at[1].Before(at[0]) {
		at[0], at[1] = at[1], at[0]
	}
	return at, false
}

func offsetAt(t time.Time, zone *time.Location) time.Duration {
	_, s := t.In(zone).Zone()
	return time.Duration(s) * time.Second
}
