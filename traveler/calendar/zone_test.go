package calendar_test

import (
	"fmt"
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // the same zones on every computer

	. "tallywalk/traveler/calendar"
)

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// must makes hours of lines such as "shift mon-fri 06:00-14:00", "off
// 2026-12-24" and "overtime 2026-12-05 06:00-12:00".
func must(t testing.TB, zone string, lines ...string) *Hours {
	t.Helper()
	h, err := New(calendar(zone, lines...))
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func calendar(zone string, lines ...string) Calendar {
	c := Calendar{Name: "test", Zone: zone}
	for _, line := range lines {
		w := append(strings.Fields(line), "", "")
		turn := Turn{Kind: Kind(w[0])}
		turn.From, turn.To, _ = strings.Cut(w[2], "-")
		if turn.Kind == Shift || turn.Kind == Break {
			turn.Days = w[1]
		} else {
			turn.Date = w[1]
		}
		c.Turns = append(c.Turns, turn)
	}
	return c
}

// at reads a local time that the clock shows once.
func at(t testing.TB, zoneName, text string) time.Time {
	t.Helper()
	x, err := time.ParseInLocation("2006-01-02 15:04", text, zone(t, zoneName))
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func show(z *time.Location, spans []Span) string {
	var s []string
	for _, x := range spans {
		s = append(s, x.From.In(z).Format("02 15:04")+" "+x.To.In(z).Format("02 15:04 -07"))
	}
	return strings.Join(s, "; ")
}

// Source: IANA time zone database; computed. RFC 5545 3.3.6: days are calendar
// days, hours are exact.
func TestLocalDaysHaveTheirHours(t *testing.T) {
	for _, c := range []struct {
		zone, date string
		hours      float64
	}{
		{"Europe/Berlin", "2026-03-29", 23},
		{"Europe/Berlin", "2026-10-25", 25},
		{"Europe/Berlin", "2026-06-15", 24},
		{"America/New_York", "2026-03-08", 23},
		{"America/New_York", "2026-11-01", 25},
		{"Australia/Lord_Howe", "2026-04-05", 24.5},
		{"Australia/Lord_Howe", "2026-10-04", 23.5},
	} {
		h := must(t, c.zone, "overtime "+c.date+" 00:00-24:00")
		from := at(t, c.zone, c.date+" 00:00")
		to := from.AddDate(0, 0, 1)
		if got := h.Open(from.AddDate(0, 0, -3), to.AddDate(0, 0, 3)).Hours(); got != c.hours {
			t.Errorf("%s in %s has %v h, want %v", c.date, c.zone, got, c.hours)
		}
		if got := h.Open(from, to).Hours(); got != c.hours || !h.IsOpen(from) || h.IsOpen(to) {
			t.Errorf("%s in %s: from midnight to midnight %v h, want %v", c.date, c.zone, got, c.hours)
		}
	}
}

// Source: IANA time zone database; computed.
func TestNightShiftWhenTheClockIsChanged(t *testing.T) {
	h := must(t, "Europe/Berlin", "shift daily 22:00-06:00")
	for _, c := range []struct {
		from, to string
		hours    float64
	}{
		{"2026-03-28 12:00", "2026-03-29 12:00", 7},
		{"2026-10-24 12:00", "2026-10-25 12:00", 9},
		{"2026-06-01 12:00", "2026-06-02 12:00", 8},
	} {
		if got := h.Open(at(t, "Europe/Berlin", c.from),
			at(t, "Europe/Berlin", c.to)).Hours(); got != c.hours {
			t.Errorf("%s: %v h, want %v", c.from, got, c.hours)
		}
	}
}

// The rule is our own: a time means the first moment at which the clock shows it
// or a later one; a break lasts as long as was written. Moments of the changes:
// IANA time zone database.
func TestTimesThatAreSkippedOrShownTwice(t *testing.T) {
	const zoneName = "Europe/Berlin"
	for _, c := range []struct {
		name, from, to, want string
		lines                []string
	}{
		{"ends at a skipped time", "2026-03-28 12:00", "2026-03-29 12:00", "28 22:00 29 03:00 +02",
			[]string{"shift sat 22:00-02:30"}},
		{"begins at a skipped time", "2026-03-28 12:00", "2026-03-29 12:00", "29 03:00 29 10:30 +02",
			[]string{"shift sun 02:30-10:30"}},
		{"lies in the skipped hour", "2026-03-28 12:00", "2026-03-29 12:00", "",
			[]string{"shift sun 02:15-02:45"}},
		{"break at a skipped time", "2026-03-28 12:00", "2026-03-29 12:00",
			"28 22:00 29 03:00 +02; 29 03:30 29 06:00 +02",
			[]string{"shift sat 22:00-06:00", "break sat 02:15-02:45"}},
		{"ends at a time shown twice", "2026-10-24 12:00", "2026-10-25 12:00", "24 22:00 25 02:30 +02",
			[]string{"shift sat 22:00-02:30"}},
		{"begins at a time shown twice", "2026-10-24 12:00", "2026-10-25 12:00", "25 02:30 25 10:30 +01",
			[]string{"shift sun 02:30-10:30"}},
		{"break at a time shown twice", "2026-10-24 12:00", "2026-10-25 12:00",
			"24 22:00 25 02:30 +02; 25 02:00 25 06:00 +01",
			[]string{"shift sat 22:00-06:00", "break sat 02:30-03:00"}},
		{"turns that meet go on meeting", "2026-03-28 12:00", "2026-03-29 12:00", "28 22:00 29 11:00 +02",
			[]string{"shift sat 22:00-02:30", "shift sun 02:30-11:00"}},
		{"and when shown twice", "2026-10-24 12:00", "2026-10-25 12:00", "24 22:00 25 11:00 +01",
			[]string{"shift sat 22:00-02:30", "shift sun 02:30-11:00"}},
	} {
		h := must(t, zoneName, c.lines...)
		got := show(zone(t, zoneName), h.Spans(at(t, zoneName, c.from), at(t, zoneName, c.to)))
		if got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}

// Samoa had no 30 December 2011. Source: IANA time zone database.
func TestADayThatNeverWas(t *testing.T) {
	h := must(t, "Pacific/Apia", "shift daily 06:00-14:00")
	from := at(t, "Pacific/Apia", "2011-12-29 00:00")
	got := show(zone(t, "Pacific/Apia"), h.Spans(from, from.Add(48*time.Hour)))
	if want := "29 06:00 29 14:00 -10; 31 06:00 31 14:00 +14"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

// Newfoundland changed its clocks at one minute past midnight until 2011, so that
// a day began twice. Source: IANA time zone database.
func TestAMidnightShownTwice(t *testing.T) {
	h := must(t, "America/St_Johns", "overtime 2010-11-06 00:00-24:00", "off 2010-11-07")
	from := at(t, "America/St_Johns", "2010-11-06 00:00")
	if got := h.Open(from, from.Add(72*time.Hour)); got != 24*time.Hour {
		t.Errorf("the day before: %v", got)
	}
	h = must(t, "America/St_Johns", "overtime 2010-11-07 00:00-24:00")
	if got := h.Open(from, from.Add(72*time.Hour)); got != 25*time.Hour {
		t.Errorf("the day itself: %v", got)
	}
}

// Beyond 2037 zones go by rule rather than by table. No zone here changes its
// clocks at the turn of the year, leap years or not.
func TestTurnsOfYearsFarAhead(t *testing.T) {
	for _, name := range []string{"Europe/Berlin", "Australia/Lord_Howe", "America/Santiago"} {
		h := must(t, name, "shift daily 22:00-06:00")
		for year := 2036; year < 2200; year++ {
			from := time.Date(year, 12, 28, 12, 0, 0, 0, zone(t, name))
			if got := h.Open(from, from.AddDate(0, 0, 3)); got != 24*time.Hour {
				t.Errorf("%s, end of %d: %v in three nights", name, year, got)
			}
		}
		at := time.Date(2040, 12, 31, 12, 0, 0, 0, zone(t, name))
		if got, ok := h.LastEnd(at); !ok || !got.Equal(at.Add(-6*time.Hour)) {
			t.Errorf("%s: %v %v", name, got, ok)
		}
	}
}

func ExampleHours_Open() {
	h, err := New(Calendar{Zone: "Europe/Berlin", Turns: []Turn{
		{Kind: Shift, Days: "sat", From: "22:00", To: "06:00"},
	}})
	if err != nil {
		fmt.Println(err)
		return
	}
	from := time.Date(2026, 10, 24, 12, 0, 0, 0, time.UTC)
	fmt.Println(h.Open(from, from.Add(24*time.Hour)))
	// Output: 9h0m0s
}

func ExampleHours_After() {
	h, err := New(Calendar{Zone: "Europe/Berlin", Turns: []Turn{
		{Kind: Shift, Days: "mon-fri", From: "06:00", To: "14:00"},
		{Kind: Break, Days: "mon-fri", From: "09:00", To: "09:30"},
	}})
	if err != nil {
		fmt.Println(err)
		return
	}
	friday := time.Date(2026, 7, 3, 10, 0, 0, 0, time.UTC) // noon in Berlin
	done, _ := h.After(friday, 6*time.Hour)
	fmt.Println(done.Format("Mon 15:04 MST"))
	// Output: Mon 08:30 UTC
}

func ExampleNew() {
	_, err := New(Calendar{Zone: "Europe/Berlin", Turns: []Turn{
		{Kind: Shift, Days: "mon-fri", From: "06:00", To: "14:00"},
		{Kind: Break, Days: "mon-fri", From: "15:00", To: "15:30"},
	}})
	fmt.Println(strings.ReplaceAll(err.Error(), "; ", ";\n"))
	// Output:
	// turn 2: from "15:00" makes the break lie outside every shift of its days;
	// a break belongs to the day on which its shift began
}

func ExampleDays() {
	days, _ := Days("fri-mon")
	for d := time.Sunday; d <= time.Saturday; d++ {
		if days[d] {
			fmt.Print(d, " ")
		}
	}
	// Output: Sunday Monday Friday Saturday
}
