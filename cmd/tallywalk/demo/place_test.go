package demo

import (
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
	"tallywalk/traveler/ground"
)

// The clock is set through the history, and runs by itself afterwards.
func TestDemoClock(t *testing.T) {
	real, shop := someDay, someDay.AddDate(0, 0, -7)
	c := &Clock{Real: func() time.Time { return real }, Pace: 20, at: shop}
	c.set(shop.Add(time.Hour))
	c.set(shop)
	if got := c.Now(); !got.Equal(shop.Add(time.Hour)) {
		t.Errorf("%v", got)
	}
	c.start()
	real = real.Add(time.Minute)
	c.set(shop.Add(5 * time.Hour))
	if got := c.Now(); !got.Equal(shop.Add(80 * time.Minute)) {
		t.Errorf("a minute at pace 20 after %v it is %v", shop.Add(time.Hour), got)
	}
	if d := c.until(shop.Add(100 * time.Minute)); d != time.Minute {
		t.Errorf("20 minutes of the shop are %v away", d)
	}
}

// The demo opens in a lit hall, whenever someone starts it.
func TestOpening(t *testing.T) {
	t.Parallel()
	zone, err := time.LoadLocation(Zone)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []struct{ now, open string }{
		{"2026-06-17 10:00", "2026-06-17 10:00"}, // a Wednesday morning: now
		{"2026-06-17 03:00", "2026-06-16 10:20"}, // in the night: the morning before
		{"2026-06-17 17:00", "2026-06-17 10:20"},
		{"2026-06-20 12:00", "2026-06-19 10:20"}, // a Saturday
		{"2026-06-22 08:00", "2026-06-19 10:20"}, // a Monday before work
		{"2026-12-26 11:00", "2026-12-23 10:20"}, // holidays and a weekend
	} {
		now, err := time.ParseInLocation("2006-01-02 15:04", x.now, zone)
		if err != nil {
			t.Fatal(err)
		}
		if got := opening(now, zone).Format("2006-01-02 15:04"); got != x.open {
			t.Errorf("started at %s it opens at %s, not %s", x.now, got, x.open)
		}
	}
	// Every hour of a year: always within the shop's hours, never ahead.
	for now := time.Date(2026, 1, 1, 0, 30, 0, 0, time.UTC); now.Year() == 2026; now = now.Add(time.Hour) {
		open := opening(now, zone)
		if open.After(now) || now.Sub(open) > 6*24*time.Hour {
			t.Fatalf("started at %v it opens at %v", now, open)
		}
		for _, c := range calendars(open.AddDate(0, 0, -7), open) {
			h, err := calendar.New(c)
			if err != nil {
				t.Fatal(err)
			}
			if at, ok := h.Next(open); !ok || at.Sub(open) > 30*time.Minute {
				t.Fatalf("at %v the calendar %q is closed until %v", open, c.Name, at)
			}
		}
		now = now.Add(10 * time.Hour)
	}
}

// Every place can be reached from every other along the aisles, and no walk is
// longer than there and back through the hall.
func TestDemoWalks(t *testing.T) {
	m := ground.New(machines(), *layout())
	for _, a := range machines() {
		if a.X < 0 || a.X > 60 || a.Y < 0 || a.Y > 30 {
			t.Errorf("%s stands outside the hall", a.ID)
		}
		for _, b := range machines() {
			metres, by := m.Metres(a.ID, b.ID)
			if by != ground.Aisles && a.ID != b.ID {
				t.Errorf("no aisle joins %s and %s", a.ID, b.ID)
			}
			if metres > 120 || a.ID != b.ID && metres < 1 {
				t.Errorf("%s to %s is %.1f m", a.ID, b.ID, metres)
			}
		}
	}
}

// Each route can be made in the hall, in order, and says what the figures need.
func TestDemoRoutes(t *testing.T) {
	centres := map[traveler.WorkCentre]bool{}
	for _, m := range machines() {
		centres[m.WorkCentre] = true
	}
	routes := append(routes(), adapterOneSetup(), valveBodyNew())
	if len(parts()) != 120 {
		t.Errorf("%d parts", len(parts()))
	}
	for _, r := range routes {
		last := traveler.Op(0)
		for i := range r.Operations {
			o := &r.Operations[i]
			if o.Number <= last || !centres[o.WorkCentre] || o.PiecesPerCycle < 1 || o.Yield <= 0 ||
				o.Yield > 1 || o.LoadMin > o.CycleMin {
				t.Errorf("%s %s: %+v", r.Part, r.Rev, o)
			}
			if o.Outside() == (o.CycleMin > 0) {
				t.Errorf("%s %s: operation %d is neither inside nor outside", r.Part, r.Rev, o.Number)
			}
			last = o.Number
		}
		if r.Operations[len(r.Operations)-1].WorkCentre != wcInspect {
			t.Errorf("%s %s does not end in the measuring room", r.Part, r.Rev)
		}
	}
}
