package intake

import (
	"cmp"
	"errors"
	"io"
	"strings"
	"time"

	"tallywalk/traveler/calendar"
)

// Calendars reads calendars, one line a turn; the lines of a calendar need not stand
// together. A line without a kind is a shift. The zone need stand on one line of a
// calendar only; where it stands on none, it is the shop's, named by zone, which may be
// empty. What is wrong with the file is a *Refused with a line for each fault; other
// errors are of r.
func Calendars(file string, r io.Reader, zone string) ([]calendar.Calendar, error) {
	t := read(file, r, columnsOf["calendars"])
	var order []*draft
	byName := map[string]*draft{}
	for _, r := range t.rows {
		name := t.text(r, "calendar", true)
		d, ok := byName[name]
		if !ok {
			d = &draft{Calendar: calendar.Calendar{Name: name}}
			byName[name] = d
			order = append(order, d)
		}
		before := t.bad.Total
		t.turn(r, d)
		d.bad = d.bad || name == "" || t.bad.Total > before
	}
	out := make([]calendar.Calendar, 0, len(order))
	for _, d := range order {
		if d.Zone == "" {
			d.Zone = zone
		}
		if !d.bad {
			t.sense(d)
		}
		out = append(out, d.Calendar)
	}
	return out, t.err()
}

// draft is a calendar with the lines that it came from.
type draft struct {
	calendar.Calendar
	lines []row // of the turns
	zoned *row  // the line that names the zone
	bad   bool  // a line of it has a problem already
}

func (t *table) turn(r row, d *draft) {
	turn := calendar.Turn{
		Kind: calendar.Kind(cmp.Or(strings.ToLower(t.text(r, "kind", false)), string(calendar.Shift))),
		Days: strings.ToLower(t.text(r, "days", false)),
		From: clockTime(t.text(r, "from", false)), To: clockTime(t.text(r, "to", false)),
	}
	if date := t.day(r, "date"); !date.IsZero() {
		turn.Date = date.Format(time.DateOnly)
	}
	d.Turns = append(d.Turns, turn)
	d.lines = append(d.lines, r)
	switch v := t.text(r, "zone", false); {
	case v == "" || v == d.Zone:
	case d.Zone != "":
		t.problem(r.line, "zone", v, "was "+d.Zone+" on an earlier line of the same calendar")
	default:
		d.Zone, d.zoned = v, &r
	}
}

// clockTime writes a time of day as calendars have it, where a spreadsheet left
// out a nought or added seconds.
func clockTime(v string) string {
	if len(v) < 3 || v[0] < '0' || v[0] > '9' {
		return v
	}
	if v[1] == ':' {
		v = "0" + v
	}
	if rest, ok := strings.CutSuffix(v, ":00"); ok && len(rest) == len("06:00") {
		return rest
	}
	return v
}

// sense notes what in a calendar makes none, at the line and column it is in.
func (t *table) sense(d *draft) {
	if d.Zone == "" {
		t.problem(d.lines[0].line, "zone", "",
			"must be given, for the shop has no zone; name it in this column, as an IANA name such as Europe/Berlin")
		return
	}
	_, err := calendar.New(d.Calendar)
	if err == nil {
		err = calendar.Zoned(d.Zone)
	}
	var f *calendar.Fault
	if !errors.As(err, &f) {
		return
	}
	switch {
	case f.Turn >= 0:
		r := d.lines[f.Turn]
		t.problem(r.line, f.Field, t.cell(r, f.Field), f.Reason)
	case f.Field == "zone" && d.zoned != nil:
		t.problem(d.zoned.line, "zone", f.Value, f.Reason)
	case f.Field == "zone":
		t.problem(d.lines[0].line, "zone", f.Value, "is the shop's zone, but "+f.Reason)
	default:
		t.problem(d.lines[0].line, "calendar", d.Name, "cannot be used: its "+f.Field+" "+f.Reason)
	}
}
