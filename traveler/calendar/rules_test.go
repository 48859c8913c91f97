package calendar_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	. "tallywalk/traveler/calendar"
)

const utc = "UTC"

func TestDays(t *testing.T) {
	for text, want := range map[string]string{
		"mon-fri": "-MTWTF-", "fri-mon": "SM---FS", "mon,wed,sat": "-M-W--S", "daily": "SMTWTFS",
		" Sun ":               "S------",
		"Mon - Wed, saturday": "-MTW--S", "tue-tue": "--T----", "sat-sun": "S-----S",
	} {
		days, err := Days(text)
		var got strings.Builder
		for d, on := range days {
			if on {
				got.WriteString(time.Weekday(d).String()[:1])
			} else {
				got.WriteString("-")
			}
		}
		if err != nil || got.String() != want {
			t.Errorf("%q: %s %v, want %s", text, got.String(), err, want)
		}
	}
	for _, text := range []string{"", "mon-", "-", "mon,,tue", "mo-fr", "mon-wed-fri", "monday to friday",
		"1-5"} {
		if days, err := Days(text); err == nil || days != [7]bool{} {
			t.Errorf("%q was read as %v", text, days)
		}
	}
}

func TestWhatMakesNoSense(t *testing.T) {
	for _, c := range []struct {
		name, zone string
		turn       int
		field      string
		lines      []string
	}{
		{"no zone", "", -1, "zone", []string{"shift mon 06:00-14:00"}},
		{"unknown zone", "Europe/Nowhere", -1, "zone", []string{"shift mon 06:00-14:00"}},
		{"this computer's zone", "Local", -1, "zone", []string{"shift mon 06:00-14:00"}},
		{"never open", utc, -1, "turns", []string{"off 2026-12-24"}},
		{"nothing", utc, -1, "turns", nil},
		{"unknown kind", utc, 0, "kind", []string{"nap mon 06:00-14:00"}},
		{"unknown day", utc, 0, "days", []string{"shift mon-fry 06:00-14:00"}},
		{"no such hour", utc, 0, "from", []string{"shift mon 24:00-14:00"}},
		{"no such minute", utc, 0, "to", []string{"shift mon 06:00-14:60"}},
		{"half a time", utc, 0, "to", []string{"shift mon 06:00-14"}},
		{"short hour", utc, 0, "from", []string{"shift mon 6:00-14:00"}},
		{"no time", utc, 0, "from", []string{"shift mon"}},
		{"no such date", utc, 1, "date", []string{"shift mon 06:00-14:00", "off 2026-02-29"}},
		{"date far off", utc, 1, "date",
			[]string{"shift mon 06:00-14:00", "overtime 2200-01-01 06:00-07:00"}},
		{"day off with times", utc, 1, "from",
			[]string{"shift mon 06:00-14:00", "off 2026-12-24 06:00-07:00"}},
		{"overtime without times", utc, 0, "from", []string{"overtime 2026-12-24"}},
		{"break of a day", utc, 1, "to", []string{"shift mon 06:00-06:00", "break mon 08:00-08:00"}},
		{"break outside", utc, 1, "from", []string{"shift mon 06:00-14:00", "break mon 14:00-14:30"}},
		{"break on the wrong days", utc, 1, "from",
			[]string{"shift mon-wed 06:00-14:00", "break thu-sun 10:00-10:30"}},
		{"break over an edge", utc, 1, "from", []string{"shift mon 06:00-14:00", "break mon 13:45-14:15"}},
		{"break over the edge of one day", utc, 2, "from",
			[]string{"shift mon-thu 06:00-14:00", "shift fri 06:00-12:00", "break mon-fri 11:45-12:15"}},
		{"break in tuesday's, but of monday", utc, 1, "from",
			[]string{"shift tue 06:00-14:00", "break mon 10:00-10:30"}},
		{"overlap", utc, 1, "from", []string{"shift mon-fri 06:00-14:00", "shift fri 13:00-20:00"}},
		{"overlap, later first", utc, 1, "from",
			[]string{"shift fri 13:00-20:00", "shift mon-fri 06:00-14:00"}},
		{"twice the same", utc, 1, "from", []string{"shift mon 06:00-14:00", "shift mon 06:00-14:00"}},
		{"overlap of the night with the morning", utc, 1, "from",
			[]string{"shift mon 22:00-06:00", "shift tue 05:00-13:00"}},
		{"overlap over the end of the week", utc, 1, "from",
			[]string{"shift sun 05:00-13:00", "shift sat 22:00-06:00"}},
	} {
		h, err := New(calendar(c.zone, c.lines...))
		var f *Fault
		if h != nil || !errors.As(err, &f) {
			t.Errorf("%s: no fault: %v", c.name, err)
			continue
		}
		if f.Turn != c.turn || f.Field != c.field || f.Reason == "" ||
			!strings.Contains(err.Error(), f.Reason) {
			t.Errorf("%s: %+v, want turn %d, %s", c.name, *f, c.turn, c.field)
		}
	}
}

func TestFieldsThatDoNotBelong(t *testing.T) {
	shift := Turn{Kind: Shift, Days: "mon", From: "06:00", To: "14:00"}
	for field, turn := range map[string]Turn{
		"date": {Kind: Shift, Days: "tue", Date: "2026-12-24", From: "06:00", To: "14:00"},
		"days": {Kind: Off, Days: "tue", Date: "2026-12-24"},
		"to":   {Kind: Off, Date: "2026-12-24", To: "14:00"},
	} {
		var f *Fault
		if _, err := New(Calendar{Zone: utc, Turns: []Turn{shift, turn}}); !errors.As(err, &f) ||
			f.Turn != 1 || f.Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
	many := Calendar{Zone: utc, Turns: make([]Turn, 5001)}
	for i := range many.Turns {
		many.Turns[i] = shift
	}
	if _, err := New(many); err == nil || !strings.Contains(err.Error(), "5000") {
		t.Error(err)
	}
}

func TestFaultIsASentence(t *testing.T) {
	_, err := New(calendar(utc, "shift mon-fri 06:00-14:00", "shift sat-sun 06:00-25:00"))
	if want := `turn 2: to "25:00" is no time of day such as 06:00`; fmt.Sprint(err) != want {
		t.Errorf("%v, want %s", err, want)
	}
	_, err = New(calendar(""))
	if want := "zone must be given; give the IANA name, such as Europe/Berlin"; fmt.Sprint(err) != want {
		t.Errorf("%v, want %s", err, want)
	}
}

// The first week of June 2026 begins on a Monday, the 1st.
func TestShiftsAndWhatChangesThem(t *testing.T) {
	for _, c := range []struct {
		name, from, to, want string
		lines                []string
	}{
		{"a night's break belongs to the day before", "2026-06-01 00:00", "2026-06-03 00:00",
			"01 06:00 01 10:00 +00; 01 10:15 01 14:00 +00; 01 22:00 02 02:00 +00; 02 02:15 02 06:00 +00",
			[]string{"shift mon 06:00-14:00", "shift mon 22:00-06:00", "break mon 10:00-10:15",
				"break mon 02:00-02:15"}},
		{"a break at night and at noon of one name", "2026-06-01 00:00", "2026-06-03 00:00",
			"01 00:00 01 02:00 +00; 01 02:15 01 06:00 +00; 01 22:00 02 02:00 +00; 02 02:15 02 06:00 +00",
			[]string{"shift mon 00:00-06:00", "shift mon 22:00-06:00", "break mon 02:00-02:15"}},
		{"a break on a day without such a shift is nothing", "2026-06-05 00:00", "2026-06-08 00:00",
			"05 06:00 05 11:00 +00",
			[]string{"shift mon-thu 06:00-14:00", "shift fri 06:00-11:00", "break daily 11:30-12:00"}},
		{"a day off stops what begins on it, not what began before", "2026-06-01 00:00", "2026-06-04 00:00",
			"01 22:00 02 06:00 +00; 03 22:00 04 00:00 +00",
			[]string{"shift daily 22:00-06:00", "off 2026-06-02", "off 2026-05-31"}},
		{"overtime on a day off counts", "2026-06-02 00:00", "2026-06-03 00:00", "02 08:00 02 10:00 +00",
			[]string{"shift daily 06:00-14:00", "off 2026-06-02", "overtime 2026-06-02 08:00-10:00"}},
		{"overtime past midnight, at the end of a shift", "2026-06-01 00:00", "2026-06-02 06:00",
			"01 06:00 02 01:00 +00",
			[]string{"shift mon-fri 06:00-14:00", "overtime 2026-06-01 14:00-01:00"}},
		{"a break does not cut overtime", "2026-06-01 00:00", "2026-06-02 00:00", "01 06:00 01 14:00 +00",
			[]string{"shift mon-fri 06:00-14:00", "break mon-fri 10:00-10:30",
				"overtime 2026-06-01 09:00-11:00"}},
		{"a shift to midnight", "2026-06-01 00:00", "2026-06-03 00:00",
			"01 16:00 02 00:00 +00; 02 16:00 03 00:00 +00",
			[]string{"shift daily 16:00-24:00"}},
		{"the same time is a whole day", "2026-06-01 00:00", "2026-06-04 00:00", "01 06:00 02 06:00 +00",
			[]string{"shift mon 06:00-06:00"}},
		{"shifts that meet are one stretch, cut at the ends", "2026-06-01 03:00", "2026-06-06 22:00",
			"01 06:00 06 06:00 +00",
			[]string{"shift mon-fri 06:00-14:00", "shift mon-fri 14:00-22:00", "shift mon-fri 22:00-06:00"}},
		{"breaks that overlap", "2026-06-01 00:00", "2026-06-02 00:00",
			"01 06:00 01 09:00 +00; 01 10:00 01 14:00 +00",
			[]string{"shift mon 06:00-14:00", "break mon 09:15-10:00", "break mon 09:00-09:30"}},
	} {
		h := must(t, utc, c.lines...)
		from, to := at(t, utc, c.from), at(t, utc, c.to)
		if got := show(time.UTC, h.Spans(from, to)); got != c.want {
			t.Errorf("%s:\n%s, want\n%s", c.name, got, c.want)
		}
	}
}
