package calendar_test

import (
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"

	. "tallywalk/traveler/calendar"
)

// Zones with odd changes: by half an hour, by two hours, at midnight, shortly
// after midnight, in Ramadan, never again, and over the date line.
var oddZones = []string{
	"Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Antarctica/Troll", "America/Santiago",
	"America/St_Johns", "Asia/Gaza",
	"Africa/Casablanca", "Africa/Cairo", "Asia/Pyongyang", "America/Caracas", "Asia/Kathmandu",
	"Pacific/Apia", "UTC",
}

// drawDay draws a midnight, most often one near a change of the clock.
func drawDay(t *rapid.T, z *time.Location) time.Time {
	day := time.Date(2005, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, rapid.IntRange(0, 55*365).Draw(t, "day"))
	if _, change := day.In(z).ZoneBounds(); !change.IsZero() && change.Year() < 2060 &&
		rapid.IntRange(0, 3).Draw(t, "near") > 0 {
		day = change.AddDate(0, 0, -rapid.IntRange(0, 3).Draw(t, "days before"))
	}
	return day.UTC().Truncate(24 * time.Hour)
}

// drawn is a random calendar as the plain account reads it.
type drawn struct {
	zone  *time.Location
	cal   Calendar
	turns []plainTurn
}

func drawCalendar(t *rapid.T, near time.Time, z *time.Location) *drawn {
	d := &drawn{zone: z, cal: Calendar{Zone: z.String()}}
	minute := func(label string) int {
		if rapid.Bool().Draw(t, "early") {
			return 15 * rapid.IntRange(0, 14).Draw(t, label) // where clocks are changed
		}
		return rapid.IntRange(0, 24*60-1).Draw(t, label)
	}
	kinds := []Kind{Shift, Shift, Shift, Break, Break, Break, Off, Overtime}
	for range rapid.IntRange(1, 12).Draw(t, "turns") {
		p := plainTurn{kind: rapid.SampledFrom(kinds).Draw(t, "kind"), from: minute("from")}
		p.to = p.from + rapid.IntRange(1, 24*60).Draw(t, "length")
		if p.kind == Break {
			p.to = p.from + rapid.IntRange(1, 90).Draw(t, "length of a break")
		}
		if p.kind == Shift || p.kind == Break {
			for i := range p.days {
				p.days[i] = rapid.Bool().Draw(t, "on")
			}
		} else {
			p.date = int(near.Unix()/86400) + rapid.IntRange(-2, 4).Draw(t, "date")
		}
		d.try(p)
	}
	return d
}

// try takes a turn if the calendar makes sense with it.
func (d *drawn) try(p plainTurn) {
	was := d.cal.Turns
	d.cal.Turns = append(was[:len(was):len(was)], p.written())
	if _, err := New(d.cal); err != nil {
		d.cal.Turns = was
		return
	}
	d.turns = append(d.turns, p)
}

func (p *plainTurn) written() Turn {
	t := Turn{Kind: p.kind}
	if p.kind != Off {
		t.From = fmt.Sprintf("%02d:%02d", p.from/60, p.from%60)
		t.To = fmt.Sprintf("%02d:%02d", p.to/60%24, p.to%60)
	}
	if p.kind == Off || p.kind == Overtime {
		t.Date = time.Unix(int64(p.date)*86400, 0).UTC().Format(time.DateOnly)
		return t
	}
	for i, on := range p.days {
		if on {
			if t.Days != "" {
				t.Days += ","
			}
			t.Days += []string{"sun", "mon", "tue", "wed", "thu", "fri", "sat"}[i]
		}
	}
	return t
}

func drawHours(t *rapid.T) (*drawn, *Hours, time.Time) {
	z, err := time.LoadLocation(rapid.SampledFrom(oddZones).Draw(t, "zone"))
	if err != nil {
		t.Fatal(err)
	}
	near := drawDay(t, z)
	d := drawCalendar(t, near, z)
	if len(d.turns) == 0 {
		d.try(plainTurn{kind: Shift, days: [7]bool{true, true, true, true, true, true, true}, from: 120,
			to: 180})
	}
	h, err := New(d.cal)
	if err != nil {
		t.Fatal(err)
	}
	return d, h, near
}

func TestAgreesWithThePlainAccount(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, h, near := drawHours(t)
		minutes, open := d.plain(near, 4), time.Duration(0)
		for i, want := range minutes {
			at := near.Add(time.Duration(i) * time.Minute)
			if got := h.IsOpen(at); got != want {
				t.Fatalf("%+v\nat %s open %v, want %v", d.cal, at.In(d.zone), got, want)
			}
			if want {
				open += time.Minute
			}
		}
		if got := h.Open(near, near.AddDate(0, 0, 4)); got != open {
			t.Fatalf("open %v, want %v", got, open)
		}
	})
}

// drawMoments draws moments in order, from a few days up to some years apart.
func drawMoments(t *rapid.T, near time.Time, n int) []time.Time {
	out := []time.Time{near.Add(time.Duration(rapid.Int64Range(-1e15, 1e15).Draw(t, "begin")))}
	for len(out) < n {
		most := rapid.SampledFrom([]int64{1e9, 1e13, 1e15, 1e17}).Draw(t, "scale")
		out = append(out, out[len(out)-1].Add(time.Duration(rapid.Int64Range(0, most).Draw(t, "step"))))
	}
	return out
}

func TestOpenAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, h, near := drawHours(t)
		m := drawMoments(t, near, 3)
		if a, b, all := h.Open(m[0], m[1]), h.Open(m[1], m[2]), h.Open(m[0], m[2]); a+b != all {
			t.Fatalf("%v + %v != %v", a, b, all)
		}
		if m[0].Before(m[2]) && h.Open(m[2], m[0]) != 0 {
			t.Fatal("open time backwards")
		}
	})
}

func TestSpansAndClosedPartition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, h, near := drawHours(t)
		m := drawMoments(t, near, 2)
		open, closed := h.Spans(m[0], m[1]), h.Closed(m[0], m[1])
		at, sum := m[0], time.Duration(0)
		for len(open)+len(closed) > 0 {
			isOpen := len(open) > 0 && (len(closed) == 0 || open[0].From.Before(closed[0].From))
			from := &closed
			if isOpen {
				from = &open
			}
			s := (*from)[0]
			*from = (*from)[1:]
			if !s.From.Equal(at) || !s.From.Before(s.To) || h.IsOpen(s.From) != isOpen ||
				h.IsOpen(s.To.Add(-1)) != isOpen {
				t.Fatalf("%v, open %v, does not follow %v", s, isOpen, at)
			}
			if s.To.Before(m[1]) && h.IsOpen(s.To) == isOpen {
				t.Fatalf("%v is not all of its stretch", s)
			}
			if at = s.To; isOpen {
				sum += s.To.Sub(s.From)
			}
		}
		if !at.Equal(m[1]) || sum != h.Open(m[0], m[1]) {
			t.Fatalf("ends at %v, want %v; %v open, want %v", at, m[1], sum, h.Open(m[0], m[1]))
		}
	})
}

func TestAfterIsTheEarliest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, h, near := drawHours(t)
		m := drawMoments(t, near, 2)
		d := h.Open(m[0], m[1])
		u, ok := h.After(m[0], d)
		if !ok || u.After(m[1]) || h.Open(m[0], u) != d {
			t.Fatalf("%v is open %v after %v, but After says %v %v", m[1], d, m[0], u, ok)
		}
		if d > 0 && h.Open(m[0], u.Add(-1)) != d-1 {
			t.Fatalf("%v is not the earliest", u)
		}
	})
}

func TestNextAndEndAreTheEdges(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, h, near := drawHours(t)
		at := drawMoments(t, near, 1)[0]
		next, ok := h.Next(at)
		if !ok {
			if h.Open(at, at.AddDate(2, 0, 0)) != 0 {
				t.Fatal("open within two years, but Next says no")
			}
			return
		}
		if next.Before(at) || h.Open(at, next) != 0 || !h.IsOpen(next) {
			t.Fatalf("next after %v is %v", at, next)
		}
		if end, ok := h.End(next); ok && (h.IsOpen(end) || h.Open(next, end) != end.Sub(next)) {
			t.Fatalf("the stretch from %v does not end at %v", next, end)
		}
	})
}

func TestUnionIsAtLeastEach(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, a, near := drawHours(t)
		_, b, _ := drawHours(t)
		u := Union(a, b)
		m := drawMoments(t, near, 2)
		at := m[0].Add(m[1].Sub(m[0]) / 2)
		if u.IsOpen(at) != (a.IsOpen(at) || b.IsOpen(at)) {
			t.Fatalf("at %v", at)
		}
		one, other, both := a.Open(m[0], m[1]), b.Open(m[0], m[1]), u.Open(m[0], m[1])
		if both < max(one, other) || both > one+other {
			t.Fatalf("%v and %v are together %v", one, other, both)
		}
	})
}
