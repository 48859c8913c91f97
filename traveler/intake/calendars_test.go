package intake

import (
	"fmt"
	"strings"
	"testing"
	_ "time/tzdata" // the same zones on every computer

	"tallywalk/traveler/calendar"
)

func TestCalendars(t *testing.T) {
	in := "calendar;kind;days;date;from;to;zone\r\n" +
		"day;;Mon-Fri;;6:00;14:00:00;\r\n" +
		"night;Shift;sun-thu;;22:00;06:00;America/New_York\r\n" +
		"day;break;mon,wed,fri;;09:00;09:15;\r\n" +
		"day;off;;24.12.2026;;;\r\n" +
		"day;overtime;;2026-12-05;06:00;24:00;Europe/Berlin\r\n"
	got, err := Calendars("c.csv", strings.NewReader(in), "")
	if err != nil {
		t.Fatal(err)
	}
	want := []calendar.Calendar{
		{Name: "day", Zone: "Europe/Berlin", Turns: []calendar.Turn{
			{Kind: calendar.Shift, Days: "mon-fri", From: "06:00", To: "14:00"},
			{Kind: calendar.Break, Days: "mon,wed,fri", From: "09:00", To: "09:15"},
			{Kind: calendar.Off, Date: "2026-12-24"},
			{Kind: calendar.Overtime, Date: "2026-12-05", From: "06:00", To: "24:00"},
		}},
		{Name: "night", Zone: "America/New_York",
			Turns: []calendar.Turn{{Kind: calendar.Shift, Days: "sun-thu", From: "22:00", To: "06:00"}}},
	}
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("%+v, want\n%+v", got, want)
	}
}

func TestZoneOfTheShop(t *testing.T) {
	const in = "calendar,days,from,to\nday,daily,06:00,14:00\n"
	got, err := Calendars("c.csv", strings.NewReader(in), "Asia/Kathmandu")
	if err != nil || len(got) != 1 || got[0].Zone != "Asia/Kathmandu" {
		t.Errorf("%+v %v", got, err)
	}
	_, err = Calendars("c.csv", strings.NewReader(in), "")
	if err == nil || !strings.Contains(err.Error(), `c.csv:2: zone "": must be given`) ||
		!strings.Contains(err.Error(), "Europe/Berlin") {
		t.Error(err)
	}
	_, err = Calendars("c.csv", strings.NewReader(in), "Here")
	if err == nil ||
		!strings.Contains(err.Error(), `c.csv:2: zone "Here": is the shop's zone, but is no time zone`) {
		t.Error(err)
	}
}

func TestBadCalendarsAreNamed(t *testing.T) {
	const head = "calendar,kind,days,date,from,to,zone\n"
	for _, c := range []struct{ name, in, want string }{
		{"unknown kind", "day,nap,mon,,06:00,07:00,\n",
			`f.csv:2: kind "nap": must be shift, break, off or overtime`},
		{"unknown day", "day,,mon-fry,,06:00,07:00,\n",
			`f.csv:2: days "mon-fry": has "fry", which is no day of the week`},
		{"no days", "day,,,,06:00,07:00,\n", `f.csv:2: days "": must be given`},
		{"no such time", "day,,mon,,06:00,25:00,\n", `f.csv:2: to "25:00": is no time of day`},
		{"the cell as it stands", "day,,mon,,6:70,07:00,\n", `f.csv:2: from "6:70": is no time of day`},
		{"no time at all", "day,,mon,,06:00,,\n", `f.csv:2: to "": must be given, such as 06:00`},
		{"seconds", "day,,mon,,06:00:30,07:00,\n", `f.csv:2: from "06:00:30": is no time of day`},
		{"no such date", "day,off,,30.02.2026,,,\n", `f.csv:2: date "30.02.2026": is no date`},
		{"no date", "day,,mon,,06:00,14:00,\nday,off,,,,,\n", `f.csv:3: date "": must be given`},
		{"break outside, lines apart",
			"day,,mon,,06:00,14:00,\nx,,mon,,06:00,14:00,\nday,break,mon,,15:00,15:30,\n",
			`f.csv:4: from "15:00": makes the break lie outside`},
		{"overlap", "day,,mon,,06:00,14:00,\nday,,daily,,13:00,20:00,\n",
			`f.csv:3: from "13:00": makes the shift of mon overlap the shift 06:00-14:00 of mon`},
		{"never open", "x,,mon,,06:00,14:00,\nday,off,,2026-12-24,,,\n",
			`f.csv:3: calendar "day": cannot be used: its turns hold no shift`},
		{"unknown zone", "day,,mon,,06:00,14:00,\nday,,tue,,06:00,14:00,Atlantis\n",
			`f.csv:3: zone "Atlantis": is no time zone`},
		{"two zones", "day,,mon,,06:00,14:00,UTC\nday,,tue,,06:00,14:00,Europe/Berlin\n",
			`f.csv:3: zone "Europe/Berlin": was UTC on an earlier line`},
		{"no name", ",,mon,,06:00,14:00,\n", `f.csv:2: calendar "": must be given`},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Calendars("f.csv", strings.NewReader(head+c.in), "UTC")
			if err == nil || !strings.Contains(err.Error(), c.want) ||
				!strings.Contains(err.Error(), ": 1 problem\n") {
				t.Errorf("want %q alone, got %v", c.want, err)
			}
		})
	}
}

func FuzzCalendars(f *testing.F) {
	f.Add("calendar,kind,days,date,from,to,zone\nday,,mon-fri,,6:00,14:00,\nday,off,,24.12.2026,,,\n")
	f.Add("calendar\tdays\tfrom\tto\nday\tdaily\t22:00\t06:00:00\n")
	f.Fuzz(func(t *testing.T, in string) {
		calendars, err := Calendars("f.csv", strings.NewReader(in), "Europe/Berlin")
		if err != nil {
			return
		}
		for _, c := range calendars {
			if _, err := calendar.New(c); err != nil || c.Name == "" {
				t.Errorf("%+v was let in: %v", c, err)
			}
		}
	})
}
