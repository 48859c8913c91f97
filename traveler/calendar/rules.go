package calendar

import (
	"path"
	"slices"
	"strings"
	"time"
)

// mostTurns bounds what one calendar may hold: forty years of days off.
const mostTurns = 5000

const hour, day, week = 3600, 24 * 3600, 7 * 24 * 3600 // seconds

// rules is a calendar that was read and makes sense. Times by the clock are
// seconds since the midnight that began the day of the shift; days are counted
// from 1 January 1970.
type rules struct {
	zone     *time.Location
	week     [7][]shift
	off      map[int64]bool
	overtime map[int64][]shift
}

// shift is one stretch of work by the clock, with the pauses in it.
type shift struct {
	from, to int64 // to may lie on the next day
	pauses   []pause
}

// pause begins by the clock and lasts its length, whatever the clock does.
type pause struct{ from, length int64 }

// reader reads the turns of a calendar, up to the first that makes no sense.
type reader struct {
	rules  rules
	shifts []weekly
	breaks []weekly
}

// weekly is a turn that comes again on days of the week.
type weekly struct {
	turn     int
	days     [7]bool
	from, to int64
}

func (w *weekly) text(c *Calendar) string {
	return c.Turns[w.turn].From + "-" + c.Turns[w.turn].To
}

func readRules(c *Calendar) (*rules, *Fault) {
	r := reader{rules: rules{off: map[int64]bool{}, overtime: map[int64][]shift{}}}
	if f := r.zone(c.Zone); f != nil {
		return nil, f
	}
	if len(c.Turns) > mostTurns {
		return nil, &Fault{-1, "turns", "",
			"are more than 5000; leave out the days off and the overtime of past years"}
	}
	for i := range c.Turns {
		if f := r.turn(i, &c.Turns[i]); f != nil {
			return nil, f
		}
	}
	if len(r.shifts) == 0 && len(r.rules.overtime) == 0 {
		return nil, &Fault{-1, "turns", "",
			"hold no shift and no overtime, so that it would never be open; add a shift"}
	}
	if f := r.place(c); f != nil {
		return nil, f
	}
	return &r.rules, nil
}

const zoneHint = "give the IANA name, such as Europe/Berlin"

func (r *reader) zone(name string) *Fault {
	if name == "" {
		return &Fault{-1, "zone", name, "must be given; " + zoneHint}
	}
	zone, err := time.LoadLocation(name)
	if err != nil || name == "Local" {
		return &Fault{-1, "zone", name, "is no time zone; " + zoneHint}
	}
	r.rules.zone = zone
	return nil
}

// Zoned says what is wrong with the name of a zone that someone writes: nil, or a
// *Fault. It is stricter than [New], which must read what was kept: names of the IANA
// list with a region, and UTC, but none of the other files that lie beside them. It
// fails for any other name.
func Zoned(name string) error {
	_, err := time.LoadLocation(name)
	fine := name == "UTC" || strings.Contains(name, "/") && path.Clean(name) == name &&
		!strings.HasPrefix(name, "posix/") && !strings.HasPrefix(name, "right/")
	if err == nil && fine {
		return nil
	}
	return &Fault{-1, "zone", name, "is no time zone of a place; " + zoneHint}
}

func (r *reader) turn(i int, t *Turn) *Fault {
	switch t.Kind {
	case Shift, Break:
		return r.weekly(i, t)
	case Off:
		return r.offDay(i, t)
	case Overtime:
		return r.extra(i, t)
	default:
		return &Fault{i, "kind", string(t.Kind), "must be shift, break, off or overtime"}
	}
}

func (r *reader) weekly(i int, t *Turn) *Fault {
	if t.Date != "" {
		return &Fault{i, "date", t.Date,
			"must be empty, for a " + string(t.Kind) +
				" goes by days of the week; a date is for off and overtime"}
	}
	days, err := Days(t.Days)
	if err != nil {
		return &Fault{i, "days", t.Days, err.Error()}
	}
	from, to, f := interval(i, t)
	if f != nil {
		return f
	}
	w := weekly{i, days, from, to}
	if t.Kind == Shift {
		r.shifts = append(r.shifts, w)
		return nil
	}
	if to-from == day {
		return &Fault{i, "to", t.To, "makes the break a whole day long; give the time at which it ends"}
	}
	r.breaks = append(r.breaks, w)
	return nil
}

func (r *reader) offDay(i int, t *Turn) *Fault {
	for _, x := range []struct{ field, value string }{{"from", t.From}, {"to", t.To}} {
		if x.value != "" {
			return &Fault{i, x.field, x.value, "must be empty, for a day off is a whole day"}
		}
	}
	date, f := dated(i, t)
	if f == nil {
		r.rules.off[date] = true
	}
	return f
}

func (r *reader) extra(i int, t *Turn) *Fault {
	date, f := dated(i, t)
	if f != nil {
		return f
	}
	from, to, f := interval(i, t)
	if f == nil {
		r.rules.overtime[date] = append(r.rules.overtime[date], shift{from: from, to: to})
	}
	return f
}

// dated reads the date of a turn as a day since 1970.
func dated(i int, t *Turn) (int64, *Fault) {
	if t.Days != "" {
		return 0, &Fault{i, "days", t.Days,
			"must be empty, for " + string(t.Kind) + " has a date; days of the week are for shift and break"}
	}
	if t.Date == "" {
		return 0, &Fault{i, "date", "", "must be given, such as 2026-12-24"}
	}
	d, err := time.Parse(time.DateOnly, t.Date)
	if err != nil {
		return 0, &Fault{i, "date", t.Date, "is no date such as 2026-12-24"}
	}
	if d.Year() < 1970 || d.Year() > 2199 {
		return 0, &Fault{i, "date", t.Date, "lies outside the years 1970 to 2199"}
	}
	return d.Unix() / day, nil
}

// interval reads the times of a turn; to comes out after from.
func interval(i int, t *Turn) (from, to int64, f *Fault) {
	const hint = "such as 06:00"
	from, ok := clockTime(t.From)
	if !ok {
		return 0, 0, badTime(i, "from", t.From, hint)
	}
	to, ok = clockTime(t.To)
	if t.To == "24:00" {
		to, ok = day, true
	}
	if !ok {
		return 0, 0, badTime(i, "to", t.To, hint)
	}
	if to <= from {
		to += day
	}
	return from, to, nil
}

func badTime(i int, field, value, hint string) *Fault {
	if value == "" {
		return &Fault{i, field, value, "must be given, " + hint}
	}
	return &Fault{i, field, value, "is no time of day " + hint}
}

func clockTime(text string) (int64, bool) {
	t, err := time.Parse("15:04", text)
	if err != nil || len(text) != len("15:04") {
		return 0, false
	}
	return int64(t.Hour()*hour + t.Minute()*60), true
}

// of lists the shifts and the overtime that begin on a day.
func (r *rules) of(date int64) [2][]shift {
	if r.off[date] {
		return [2][]shift{r.overtime[date]}
	}
	return [2][]shift{r.week[weekday(date)], r.overtime[date]}
}

// weekday of a day since 1 January 1970, a Thursday.
func weekday(date int64) time.Weekday {
	return time.Weekday(((date+int64(time.Thursday))%7 + 7) % 7)
}

// sortShifts puts the shifts of each day and the pauses of each shift in order.
func (r *rules) sortShifts() {
	for _, shifts := range r.week {
		slices.SortFunc(shifts, func(a, b shift) int { return int(a.from - b.from) })
		for _, s := range shifts {
			slices.SortFunc(s.pauses, func(a, b pause) int { return int(a.from - b.from) })
		}
	}
}
