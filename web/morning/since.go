package morning

import (
	"strconv"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
)

// From what a morning begins.
const (
	sinceShift     = "shift"     // the end of the reader's last shift
	sinceChosen    = "chosen"    // what was asked for
	sinceYesterday = "yesterday" // the beginning of the day before: no calendar is kept
)

// mostDays is how far back a morning reaches.
const mostDays = 31

// localTime is a time as a field of a page gives it.
const localTime = "2006-01-02T15:04"

// since reads from when on things are wanted; empty is the reader's last shift. It fails
// with KindInvalid where that is no time, is ahead, or is too far back.
func (s *room) since(text string, now time.Time) (from time.Time, is string, err error) {
	oldest := now.AddDate(0, 0, -mostDays)
	if text != "" {
		from, err = time.ParseInLocation(localTime, text, s.Zone)
		if err != nil || from.After(now) || from.Before(oldest) {
			return from, "", traveler.Invalid("since", "morning.since", strconv.Itoa(mostDays))
		}
		return from, sinceChosen, nil
	}
	if end, ok := lastShift(usualHours(s.Desk.Shop(), now), now, s.Zone); ok {
		return end, sinceShift, nil
	}
	y, m, d := now.In(s.Zone).Date()
	return time.Date(y, m, d-1, 0, 0, 0, 0, s.Zone), sinceYesterday, nil
}

// usualHours is the working time that most machines keep, the first of those that as many
// do; nil where none keeps any.
func usualHours(shop *traveler.Shop, now time.Time) (usual *calendar.Hours) {
	n := map[*calendar.Hours]int{}
	for _, m := range shop.Machines(now) {
		if h := shop.Hours(m.ID, now); h != nil {
			if n[h]++; usual == nil || n[h] > n[usual] {
				usual = h
			}
		}
	}
	return usual
}

// mostShifts is how many ends of shifts are looked at: more than a fortnight has.
const mostShifts = 60

// lastShift is the end of the latest shift of those who are there at t, or come next: the
// latest that ended at the hour at which theirs ends. Where there was none, it is the
// latest end of any.
func lastShift(h *calendar.Hours, t time.Time, zone *time.Location) (end time.Time, ok bool) {
	last, ok := h.LastEnd(t)
	if !ok {
		return last, false
	}
	own, ok := h.NextEnd(t)
	if !ok {
		return last, true
	}
	hour := own.In(zone).Format("15:04")
	for at, n := last, 0; n < mostShifts && t.Sub(at) < mostDays*24*time.Hour; n++ {
		if at.In(zone).Format("15:04") == hour {
			return at, true
		}
		if at, ok = h.LastEnd(at.Add(-time.Second)); !ok {
			break
		}
	}
	return last, true
}
