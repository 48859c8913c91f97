package intake

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/oldlog"
	"tallywalk/traveler/story"
)

func none(traveler.Code) *story.Family { return nil }

// The hours are those of the IANA time zone database: in Berlin the clock went
// from 02:00 to 03:00 on 2025-03-30, and from 03:00 to 02:00 on 2025-10-26.
func TestHoursThatComeTwiceOrNever(t *testing.T) {
	berlin, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ shown, want string }{
		{"2025-07-01 12:00", "2025-07-01T10:00:00Z"},
		{"2025-03-30 01:59", "2025-03-30T00:59:00Z"},
		{"2025-03-30 02:30", "2025-03-30T01:30:00Z never"},
		{"2025-03-30 03:00", "2025-03-30T01:00:00Z"},
		{"2025-10-26 01:59", "2025-10-25T23:59:00Z"},
		{"2025-10-26 02:30", "2025-10-26T00:30:00Z 2025-10-26T01:30:00Z"},
		{"2025-10-26 03:00", "2025-10-26T02:00:00Z"},
	} {
		shown, err := time.Parse("2006-01-02 15:04", c.shown)
		if err != nil {
			t.Fatal(err)
		}
		at, never := localTimes(shown, berlin)
		var got []string
		for _, x := range at {
			got = append(got, x.Format(time.RFC3339))
		}
		if never {
			got = append(got, "never")
		}
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("%s: %s, want %s", c.shown, s, c.want)
		}
	}
}

func readLog(t *testing.T, mapping, file string) ([]oldlog.Row, *oldlog.Oddities) {
	t.Helper()
	m, err := ParseMapping("m", mapping)
	if err != nil {
		t.Fatal(err)
	}
	berlin, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	rows, odd, err := Log("log", strings.NewReader(file), m, berlin)
	if err != nil {
		t.Fatal(err)
	}
	return rows, odd
}

const smallMap = "batch = \"B\"\nmachine = \"M\"\nstart = \"From\"\nend = \"To\"\ngood = \"OK\"\n"

// An end that fits is taken where the clock shows it twice.
func TestRowOverTheEndOfSummerTime(t *testing.T) {
	rows, odd := readLog(t, smallMap,
		"B;M;From;To;OK\n1;L;2025-10-26 02:50;2025-10-26 02:10;1\n1;L;2025-10-26 02:10;2025-10-26 02:50;1\n1;L;2025-10-26 01:50;2025-10-26 03:10;1\n")
	for i, want := range []time.Duration{20 * time.Minute, 40 * time.Minute, 140 * time.Minute} {
		if got := rows[i].End.Sub(rows[i].Start); got != want {
			t.Errorf("row %d: %v, want %v", i, got, want)
		}
	}
	if odd.Count(oldlog.HourTwice) != 4 {
		t.Errorf("%+v", odd.All())
	}
}

func TestAmountsOfALog(t *testing.T) {
	for _, c := range []struct {
		decimal, sep, cell string
		want               int
		odd                string
	}{
		{"", ";", "12", 12, ""}, {"", ";", "12.0", 12, ""}, {"", ";", "12,0", 12, ""},
		{"", ";", "12,5", 13, oldlog.Fraction},
		{"", ";", "-3", 0, oldlog.Negative}, {"", ";", "few", 0, oldlog.NoNumber}, {"", ";", "", 0, ""},
		{"", ";", "1,234", 1, oldlog.TwoWays},
		{"", ",", "\"1,234\"", 1234, ""}, {".", ";", "1,234", 1234, ""}, {",", ";", "1.234", 1234, ""},
		{",", ";", "1.234,00", 1234, ""},
		{",", ";", "10,000", 10, ""}, {"", ";", "NaN", 0, oldlog.NoNumber},
	} {
		m := smallMap
		if c.decimal != "" {
			m += "decimal = \"" + c.decimal + "\"\n"
		}
		line := strings.Join([]string{"1", "L", "2025-07-01 10:00", "2025-07-01 11:00", c.cell}, c.sep)
		rows, odd := readLog(t, m, strings.Join([]string{"B", "M", "From", "To", "OK"}, c.sep)+"\n"+line+"\n")
		if rows[0].Good != c.want || (c.odd == "") != (len(odd.All()) == 0) ||
			c.odd != "" && odd.Count(c.odd) != 1 {
			t.Errorf("%q: %d, want %d; %+v", c.cell, rows[0].Good, c.want, odd.All())
		}
	}
}

// A workbook's real dates, and ways of writing them in texts.
func TestTimesOfALog(t *testing.T) {
	want := time.Date(2025, 7, 1, 8, 5, 0, 0, time.UTC) // 10:05 in Berlin
	for _, c := range []struct{ layout, cell string }{
		{"", "2025-07-01 10:05"}, {"", "2025/07/01 10:05:00.000"}, {"", "01.07.2025 10:05"},
		{"", "2025-07-01T09:05:00+01:00"},
		{"MM/DD/YYYY hh:mm AM", "07/01/2025 10:05 AM"}, {"D.M.YY h:mm", "1.7.25 10:05"},
		{"YYYYMMDD hhmmss", "20250701 100500"},
	} {
		m := smallMap
		if c.layout != "" {
			m += "time = \"" + c.layout + "\"\n"
		}
		rows, _ := readLog(t, m, "B;M;From;To;OK\n1;L;"+c.cell+";;1\n")
		if !rows[0].Start.Equal(want) {
			t.Errorf("%q: %v", c.cell, rows[0].Start)
		}
	}
	raw := made(t, [][]any{{"B", "M", "From", "To", "OK"}, {1, "L", 45839.4201388889, 45839.5, 3}},
		map[string]string{"C2": "dd.mm.yyyy hh:mm", "D2": "h:mm"})
	m, err := ParseMapping("m", smallMap)
	if err != nil {
		t.Fatal(err)
	}
	rows, _, err := Log("log.xlsx", bytes.NewReader(raw), m, time.UTC)
	if err != nil || !rows[0].Start.Equal(time.Date(2025, 7, 1, 10, 5, 0, 0, time.UTC)) || rows[0].Good != 3 {
		t.Errorf("%+v %v", rows, err)
	}
}

func FuzzMapping(f *testing.F) {
	f.Add(smallMap, "B;M;From;To;OK\n1;L;2025-10-26 02:50;2025-10-26 02:10;1\n")
	f.Fuzz(func(t *testing.T, mapping, file string) {
		m, err := ParseMapping("m", mapping)
		if err != nil || strings.HasPrefix(file, "PK") {
			return
		}
		rows, odd, err := Log("log", strings.NewReader(file), m, time.UTC)
		if err != nil {
			return
		}
		now := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
		p := oldlog.Make(rows, &traveler.Shop{}, odd, oldlog.Options{Now: now, Family: none})
		for _, b := range p.Batches {
			for i := range b.Scans {
				if err := b.Scans[i].WellFormed(); err != nil {
					t.Errorf("a scan that was planned is not well formed: %v", err)
				}
			}
		}
	})
}

// Dates with and without leading zeros, in the order that the mapping says, and
// never in another; a breakdown, and what is made of rows that say the same.
func TestDatesInTheOrderSaid(t *testing.T) {
	const head = "batch = \"B\"\nmachine = \"M\"\nstart = \"S\"\nkind = \"K\"\nkind.stop = \"BD\"\nzone = \"UTC\"\nduplicates = keep\npasses = apart\nover_after_days=0\ndates = "
	for _, c := range []struct{ order, shown, want string }{
		{"YMD", "2024/3/7 6:05", "2024-03-07T06:05:00Z"},
		{"ymd", "2024-12-27T16:05:09", "2024-12-27T16:05:09Z"}, {"DMY", "7/3/2024", "2024-03-07T00:00:00Z"},
		{"MDY", "7/3/2024 11:30 PM", "2024-07-03T23:30:00Z"},
		{"DMY", "07.03.2024 23:30", "2024-03-07T23:30:00Z"},
		{"DMY", "31-1-2024 0:10", "2024-01-31T00:10:00Z"},
		{"MDY", "31/1/2024 0:10", "0001-01-01T00:00:00Z"},
		{"DMY", "2024-03-07 06:05", "2024-03-07T06:05:00Z"},
	} {
		m, err := ParseMapping("m", head+c.order)
		if err != nil {
			t.Fatal(err)
		}
		if !m.Keep || !m.Apart || m.OverAfter != 0 {
			t.Errorf("%+v", m)
		}
		rows, _, err := Log("log", strings.NewReader("B;M;S;K\nA;L;"+c.shown+";BD\nA;L;2024-05-05 05:05;X\n"),
			m, time.UTC)
		if err != nil || len(rows) != 2 || rows[0].Start.Format(time.RFC3339) != c.want ||
			rows[0].Kind != oldlog.Stop || rows[1].Kind != oldlog.Run {
			t.Errorf("%s %q: %v %+v", c.order, c.shown, err, rows)
		}
	}
	for _, bad := range []string{"dates = DYM", "duplicates = yes", "passes = 2", "over_after_days = -1"} {
		if _, err := ParseMapping("m", "batch = \"B\"\nmachine = \"M\"\nstart = \"S\"\n"+bad); err == nil {
			t.Errorf("%s is taken", bad)
		}
	}
}
