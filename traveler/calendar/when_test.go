package calendar_test

import (
	"sync"
	"testing"
	"time"

	. "tallywalk/traveler/calendar"
)

func days(t testing.TB) *Hours {
	return must(t, utc, "shift mon-fri 06:00-14:00", "shift mon-thu 14:00-22:00", "break mon-fri 09:00-09:30",
		"off 2026-06-04")
}

func TestWhenIsWhat(t *testing.T) {
	type ask func(time.Time) (time.Time, bool)
	h := days(t)
	for _, c := range []struct {
		name string
		ask  ask
		t    string
		want string // empty = false
	}{
		{"next, open", h.Next, "2026-06-01 07:00", "2026-06-01 07:00"},
		{"next, in the break", h.Next, "2026-06-01 09:10", "2026-06-01 09:30"},
		{"next, at its end", h.Next, "2026-06-01 22:00", "2026-06-02 06:00"},
		{"next, over a day off", h.Next, "2026-06-03 22:30", "2026-06-05 06:00"},
		{"next, over the weekend", h.Next, "2026-06-05 14:00", "2026-06-08 06:00"},
		{"end, at the break", h.End, "2026-06-01 08:00", "2026-06-01 09:00"},
		{"end, over two shifts", h.End, "2026-06-01 10:00", "2026-06-01 22:00"},
		{"end, closed", h.End, "2026-06-01 22:00", ""},
		{"end, at the beginning", h.End, "2026-06-01 09:30", "2026-06-01 22:00"},
		{"last break", h.LastBreak, "2026-06-01 12:00", "2026-06-01 09:00"},
		{"last break, just begun", h.LastBreak, "2026-06-01 09:00", "2026-06-01 09:00"},
		{"last break, before a day off", h.LastBreak, "2026-06-04 12:00", "2026-06-03 09:00"},
		{"last break, over the weekend", h.LastBreak, "2026-06-08 08:59", "2026-06-05 09:00"},
		{"last end, though another followed", h.LastEnd, "2026-06-01 21:00", "2026-06-01 14:00"},
		{"last end, just now", h.LastEnd, "2026-06-01 22:00", "2026-06-01 22:00"},
		{"last end, over the weekend", h.LastEnd, "2026-06-08 08:00", "2026-06-05 14:00"},
	} {
		got, ok := c.ask(at(t, utc, c.t))
		if ok != (c.want != "") || ok && !got.Equal(at(t, utc, c.want)) {
			t.Errorf("%s: %v %v, want %s", c.name, got, ok, c.want)
		}
	}
}

func TestFarOff(t *testing.T) {
	once := must(t, utc, "overtime 2026-06-01 08:00-10:00")
	now := at(t, utc, "2026-06-01 09:00")
	for years, want := range map[int]bool{-1: true, -3: false, 1: false} {
		if got, ok := once.Next(now.AddDate(years, 0, 0)); ok != want {
			t.Errorf("%d years: %v %v", years, got, ok)
		}
	}
	if got, ok := once.After(now, time.Hour); !ok || !got.Equal(now.Add(time.Hour)) {
		t.Errorf("to the very end: %v %v", got, ok)
	}
	for _, d := range []time.Duration{time.Hour + 1, 1<<63 - 1} {
		if got, ok := once.After(now, d); ok {
			t.Errorf("more than there is: %v", got)
		}
	}
	if got, ok := once.LastEnd(at(t, utc, "2026-06-15 10:00")); !ok ||
		!got.Equal(at(t, utc, "2026-06-01 10:00")) {
		t.Errorf("14 days ago: %v %v", got, ok)
	}
	if got, ok := once.LastEnd(at(t, utc, "2026-06-15 10:01")); ok {
		t.Errorf("more than 14 days ago: %v", got)
	}
	always := must(t, utc, "shift daily 00:00-24:00")
	if got, ok := always.End(now); ok {
		t.Errorf("never closes, but ends at %v", got)
	}
	if got := always.Spans(now, now.AddDate(9, 0, 0)); len(got) != 1 ||
		got[0].To.Sub(got[0].From) != always.Open(now, now.AddDate(9, 0, 0)) {
		t.Errorf("nine years without a pause are one span: %v", got)
	}
	if got, ok := always.After(now, 30000*time.Hour); !ok || !got.Equal(now.Add(30000*time.Hour)) {
		t.Errorf("%v %v", got, ok)
	}
}

func TestOutsideTheKnownYears(t *testing.T) {
	always := must(t, utc, "shift daily 00:00-24:00")
	first, end := time.Unix(0, 0).UTC(), time.Date(2200, 1, 1, 0, 0, 0, 0, time.UTC)
	before, after := first.Add(-1), end
	if always.IsOpen(before) || !always.IsOpen(first) || !always.IsOpen(end.Add(-1)) || always.IsOpen(after) {
		t.Error("the edges are not where they were said to be")
	}
	if got := always.Open(time.Time{}, first.Add(time.Hour)); got != time.Hour {
		t.Errorf("%v", got)
	}
	if got := always.Open(end.Add(-time.Hour), end.AddDate(100, 0, 0)); got != time.Hour {
		t.Errorf("%v", got)
	}
	if got := always.Spans(end, end.AddDate(1, 0, 0)); got != nil {
		t.Errorf("%v", got)
	}
	if got, ok := always.Next(before); !ok || !got.Equal(first) {
		t.Errorf("%v %v", got, ok)
	}
	if got, ok := always.Next(time.Time{}); ok {
		t.Errorf("%v", got)
	}
}

func TestNilIsAlwaysOpen(t *testing.T) {
	var h *Hours
	now := at(t, utc, "2026-06-01 09:00")
	next, ok := h.Next(now)
	after, also := h.After(now, time.Hour)
	if !h.IsOpen(now) || !ok || !next.Equal(now) || !also || !after.Equal(now.Add(time.Hour)) {
		t.Error("always open, but not now")
	}
	if h.Open(now, now.Add(time.Hour)) != time.Hour || h.Open(now, now.Add(-time.Hour)) != 0 {
		t.Error("open time is all time")
	}
	if s := h.Spans(now, now.Add(time.Hour)); len(s) != 1 || !s[0].From.Equal(now) ||
		h.Closed(now, now.Add(time.Hour)) != nil {
		t.Error(s)
	}
	for _, ask := range []func(time.Time) (time.Time, bool){h.End, h.LastBreak, h.LastEnd} {
		if got, ok := ask(now); ok {
			t.Errorf("no end and no break, but %v", got)
		}
	}
}

func TestUnion(t *testing.T) {
	early, late := must(t, utc, "shift mon 06:00-14:00", "break mon 09:00-09:30"),
		must(t, utc, "shift mon 12:00-20:00", "break mon 16:00-16:30")
	u := Union(early, late, early)
	from, to := at(t, utc, "2026-06-01 00:00"), at(t, utc, "2026-06-02 00:00")
	if got := show(time.UTC,
		u.Spans(from, to)); got != "01 06:00 01 09:00 +00; 01 09:30 01 16:00 +00; 01 16:30 01 20:00 +00" {
		t.Error(got)
	}
	if got, ok := u.LastBreak(to); !ok || !got.Equal(at(t, utc, "2026-06-01 16:00")) {
		t.Errorf("%v %v", got, ok)
	}
	if got, ok := u.LastEnd(at(t, utc, "2026-06-01 15:00")); !ok ||
		!got.Equal(at(t, utc, "2026-06-01 14:00")) {
		t.Errorf("%v %v", got, ok)
	}
	if Union(early, nil) != nil || Union() != nil || Union(early, early) != early {
		t.Error("always open wins, and one alone is itself")
	}
}

func TestFractionsOfASecond(t *testing.T) {
	h := days(t)
	open := at(t, utc, "2026-06-01 06:00")
	just := open.Add(-time.Millisecond)
	if h.IsOpen(just) || !h.IsOpen(open) {
		t.Error("open too early or too late")
	}
	if got, ok := h.Next(just); !ok || !got.Equal(open) {
		t.Errorf("%v %v", got, ok)
	}
	if got := h.Open(just, open.Add(3*time.Millisecond)); got != 3*time.Millisecond {
		t.Errorf("%v", got)
	}
	end := at(t, utc, "2026-06-01 22:00").Add(-time.Nanosecond)
	if got, ok := h.End(end); !ok || got.Sub(end) != 1 {
		t.Errorf("%v %v", got, ok)
	}
	if s := h.Spans(end, end.Add(time.Minute)); len(s) != 1 || s[0].To.Sub(s[0].From) != 1 {
		t.Errorf("%v", s)
	}
	if c := h.Closed(just, open.Add(1)); len(c) != 1 || c[0].To.Sub(c[0].From) != time.Millisecond {
		t.Errorf("%v", c)
	}
}

func TestManyAtOnce(t *testing.T) {
	h := Union(days(t), must(t, "Europe/Berlin", "shift sat 06:00-12:00"))
	from := at(t, utc, "2020-01-01 00:00")
	want := Union(days(t), must(t, "Europe/Berlin", "shift sat 06:00-12:00")).Open(from,
		from.AddDate(10, 0, 0))
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			if got := h.Open(from, from.AddDate(10, 0, 0)); got != want {
				t.Errorf("%v, want %v", got, want)
			}
		})
	}
	wg.Wait()
}

func BenchmarkOpen(b *testing.B) {
	one := must(b, "Europe/Berlin", "shift mon-fri 06:00-14:00", "shift mon-fri 14:00-22:00",
		"break mon-fri 09:00-09:15", "break mon-fri 12:00-12:30",
		"break mon-fri 18:00-18:30")
	from := at(b, utc, "2016-01-01 00:00")
	for name, h := range map[string]*Hours{"one": one,
		"union": Union(one, must(b, "Europe/Berlin", "shift sat 06:00-12:00"))} {
		for _, c := range []struct {
			name string
			d    time.Duration
		}{{"hour", time.Hour}, {"days", 75 * time.Hour}, {"decade", 87600 * time.Hour}} {
			b.Run(name+"/"+c.name, func(b *testing.B) {
				for b.Loop() {
					h.Open(from, from.Add(c.d))
				}
			})
		}
	}
}

func BenchmarkFirstTenYears(b *testing.B) {
	c := calendar("Europe/Berlin", "shift mon-fri 06:00-14:00", "shift mon-fri 14:00-22:00",
		"break mon-fri 09:00-09:15", "break mon-fri 12:00-12:30",
		"break mon-fri 18:00-18:30")
	from := at(b, utc, "2016-01-01 00:00")
	b.ReportAllocs()
	for b.Loop() {
		h, err := New(c)
		if err != nil {
			b.Fatal(err)
		}
		h.Open(from, from.AddDate(10, 0, 0))
	}
}

func BenchmarkLastBreak(b *testing.B) {
	h := days(b)
	now := at(b, utc, "2026-06-04 12:00")
	for b.Loop() {
		h.LastBreak(now)
	}
}

// On 29 March 2026 Berlin has no time from 02:00 to 03:00.
func TestWhatWasSkippedIsNotOffered(t *testing.T) {
	noon := at(t, "Europe/Berlin", "2026-03-29 12:00")
	h := must(t, "Europe/Berlin", "shift sun 02:15-02:45", "shift sat 12:00-13:00")
	if got, ok := h.LastEnd(noon); !ok || !got.Equal(at(t, "Europe/Berlin", "2026-03-28 13:00")) {
		t.Errorf("a shift that never was ended at %v %v", got, ok)
	}
	h = must(t, "Europe/Berlin", "shift sat 22:00-02:30", "break sat 02:00-02:15")
	if got, ok := h.LastBreak(noon); !ok || !got.Equal(at(t, "Europe/Berlin", "2026-03-22 02:00")) {
		t.Errorf("a break that never was began at %v %v", got, ok)
	}
}

// The end of a shift counts even where another follows at once; a break ends none.
func TestNextEnd(t *testing.T) {
	h := must(t, "UTC", "shift mon-fri 06:00-14:00", "shift mon-fri 14:00-22:00", "break mon-fri 10:00-10:30")
	for _, c := range [][2]string{
		{"2026-11-27 05:00", "2026-11-27 14:00"}, {"2026-11-27 09:00", "2026-11-27 14:00"},
		{"2026-11-27 14:00", "2026-11-27 22:00"}, {"2026-11-27 23:00", "2026-11-30 14:00"}, // a Friday, then Monday
	} {
		for what, hours := range map[string]*Hours{"one": h, "a union": Union(h, h)} {
			if got, ok := hours.NextEnd(at(t, "UTC", c[0])); !ok || !got.Equal(at(t, "UTC", c[1])) {
				t.Errorf("%s, after %s: %v %v, not %s", what, c[0], got, ok, c[1])
			}
		}
	}
	var none *Hours
	if _, ok := none.NextEnd(at(t, "UTC", "2026-11-27 05:00")); ok {
		t.Error("without a calendar no shift ends")
	}
}
