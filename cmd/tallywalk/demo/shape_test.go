package demo

import (
	"slices"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
)

// What makes a shop of the demo: shares and ranges are common practice, no source.

// Most parts are made a few times a year, a dozen often, some for the first time.
func TestPartsAreThoseOfAShop(t *testing.T) {
	t.Parallel()
	seldom, often, first, names := 0, 0, 0, map[string]bool{}
	for _, p := range parts() {
		switch {
		case p.yearly <= 6:
			seldom++
		case p.yearly > 12:
			often++
		}
		if p.since > 0 {
			first++
		}
		names[p.PartName] = true
		if start := startOf(&p.Route, p.wanted); p.wanted < fewest || start > most {
			t.Errorf("%s: %d wanted, %d started", p.Part, p.wanted, start)
		}
	}
	if n := len(parts()); n < 115 || n > 125 || seldom < n*4/5 || often < 10 || often > 14 || first < 8 ||
		len(names) != n {
		t.Errorf("%d parts with %d names: %d seldom, %d often, %d for the first time", n, len(names), seldom,
			often, first)
	}
}

// Set-ups take 20 minutes to 5 hours, those of new work at five axes and the mill-turn
// long; each is followed by a first-off.
func TestSetUpsAreThoseOfAShop(t *testing.T) {
	t.Parallel()
	long := 0.0
	for _, p := range parts() {
		for _, o := range p.Operations {
			if o.SetupMin > 0 && o.SetupMin < 20 || o.SetupMin > 300 || o.FirstOff != (o.Clampings > 0) {
				t.Errorf("%s: %+v", p.Part, o)
			}
			proven := o.WorkCentre == wcMill5 || o.WorkCentre == wcTurnMill
			if p.since > 0 && proven && o.SetupMin < 150 {
				t.Errorf("%s is new, and set up in %g min", p.Part, o.SetupMin)
			}
			long = max(long, o.SetupMin)
		}
	}
	if long < 240 {
		t.Errorf("the longest set-up is %g min", long)
	}
}

// Routes go in an order that a shop could work: nothing is hardened with burrs on it or
// unwashed, nothing coated that was not measured, nothing straightened before it is hard;
// a seat is bored when the joint is milled.
func TestRoutesAreInASaneOrder(t *testing.T) {
	t.Parallel()
	for _, r := range append(routes(), adapterOneSetup(), valveBodyNew()) {
		var before []traveler.WorkCentre
		has := func(wc traveler.WorkCentre) bool { return slices.Contains(before, wc) }
		last := func(n int) traveler.WorkCentre { return before[max(0, len(before)-n)] }
		for i := range r.Operations {
			o := &r.Operations[i]
			switch {
			case o.WorkCentre == wcHarden && (last(2) != wcBench || last(1) != wcWash),
				o.WorkCentre == wcCoat && (last(2) != wcWash || last(1) != wcInspect),
				o.WorkCentre == wcPress && last(1) != wcHarden,
				o.WorkCentre == wcSaw && len(before) > 0,
				o.WorkCentre == wcInspect && !has(wcWash),
				traveler.PartFamily(r.PartName) == "Bearing cap" && o.WorkCentre == wcTurn && !has(wcMill3),
				traveler.PartFamily(r.PartName) == "Bearing bracket" && o.WorkCentre == wcTurn &&
					!has(wcMill3):
				t.Errorf("%s %s: operation %d at %s after %v", r.Part, r.Rev, o.Number, o.WorkCentre, before)
			}
			before = append(before, o.WorkCentre)
		}
	}
}

// shape is what a year of the shop comes to.
type shape struct {
	on                    measure.OnTimes
	done, hot             int
	setUps, setUpPieces   int // with a first-off
	firstOffs             []time.Duration
	customers             map[string]string
	scrap                 map[string]int
	run, alone            time.Duration // of the bar lathe: all, and beyond its hours
	fixtureBefore, fixEnd int           // pieces lost in the worn fixture until it was mended, and since
}

// A year of it looks like a year of a shop.
func TestYearIsThatOfAShop(t *testing.T) {
	t.Parallel()
	s, hs := simulatedHouse(t, 1, Weeks)
	x := &shape{customers: map[string]string{}, scrap: map[string]int{}}
	x.on.DueEnd = func(due time.Time) time.Time { return calendar.EndOfDay(due, s.zone) }
	if err := hs.Desk.Facts(story.FactQuery{}, func(b *story.BatchFact) bool {
		x.add(t, s, b)
		return true
	}); err != nil {
		t.Fatal(err)
	}
	share := func(what string, n, of int, from, to float64) {
		if v := float64(n) / float64(of); v < from || v > to {
			t.Errorf("%s: %.3f (%d of %d), wanted from %.2f to %.2f", what, v, n, of, from, to)
		}
	}
	on := x.on.Result(s.open)
	t.Logf("hot %d late %d short %d of %d; alone %.3f", x.hot, on.Late, on.Short, on.Lines,
		x.alone.Hours()/x.run.Hours())
	share("hot", x.hot, x.done, 0.10, 0.15)
	share("late", on.Late, on.Lines, 0.10, 0.20)
	share("short", on.Short, on.Lines, 0.005, 0.10)
	share("set-ups that cost a piece", x.setUpPieces, x.setUps, 0.5, 0.9)
	share("bar lathe alone", int(x.alone.Minutes()), int(x.run.Minutes()), 0.15, 0.7)
	slices.Sort(x.firstOffs)
	if n := len(x.firstOffs); n < 1000 || x.firstOffs[n/4] < 20*time.Minute ||
		x.firstOffs[n*3/4] > 40*time.Minute {
		t.Errorf("%d first-offs: a quarter within %v, three within %v", n, x.firstOffs[n/4],
			x.firstOffs[n*3/4])
	}
	for _, why := range []string{"wear", "offset", "setting", "fallen", "material", "position", "fixture"} {
		if x.scrap[why] < 20 {
			t.Errorf("%d pieces of scrap by %q", x.scrap[why], why)
		}
	}
	if x.fixtureBefore < 50 || x.fixEnd > 5 {
		t.Errorf("the worn fixture cost %d pieces before it was mended and %d since", x.fixtureBefore,
			x.fixEnd)
	}
}

func (x *shape) add(t *testing.T, s *Sim, b *story.BatchFact) {
	x.on.Add(b)
	if c, ok := x.customers[b.Order]; ok && c != b.Customer {
		t.Errorf("works order %s is of %s and of %s", b.Order, c, b.Customer)
	}
	x.customers[b.Order] = b.Customer
	if b.Started < fewest && b.Joined == "" || b.Started > most {
		t.Errorf("%s: %d pieces", b.Card, b.Started)
	}
	if b.State != story.StateDone || b.Joined != "" {
		return
	}
	x.done++
	if b.Hot {
		x.hot++
	}
	for i := range b.Visits {
		x.visit(t, s, b, &b.Visits[i])
	}
}

func (x *shape) visit(t *testing.T, s *Sim, b *story.BatchFact, v *story.VisitFact) {
	m := s.named[v.Machine]
	for _, stop := range v.Stops {
		if !fitsMachine(stop.Reason, m.WorkCentre, s.partOf(b.Part), v.Operation) {
			t.Errorf("%s stopped for %q at operation %d of %s", v.Machine, stop.Reason, v.Operation, b.Part)
		}
	}
	setting := false
	for _, l := range v.Losses {
		if l.Outcome == "scrap" {
			x.scrap[l.Reason] += l.N
		}
		setting = setting || l.Reason == "setting"
		switch {
		case l.Reason != "fixture":
		case b.Part != partBadFixture || l.Caused != OpBadFixture:
			t.Errorf("%s operation %d lost %d in a worn fixture", b.Part, l.Caused, l.N)
		case v.Begun.Before(s.mended.AddDate(0, 0, 7)):
			x.fixtureBefore += l.N
		default:
			x.fixEnd += l.N
		}
	}
	if v.Parts.FirstOff > 0 {
		x.setUps++
		x.firstOffs = append(x.firstOffs, v.Parts.FirstOff-v.Shut)
		if setting {
			x.setUpPieces++
		}
	}
	if m.WorkCentre == wcBar {
		x.run += v.Parts.Run
		x.alone += max(0, v.Parts.Run-m.hours.cal.Open(v.Begun, v.Ended))
	}
}

// fitsMachine reports whether a reason to stop makes sense at an operation.
func fitsMachine(why string, wc traveler.WorkCentre, p *simPart, op traveler.Op) bool {
	switch why {
	case "bar":
		return wc == wcBar || wc == wcTurnMill && op == 10 && (p.Part != partTwoRoutes)
	case "dress":
		return wc == wcGrind
	case "swarf", "program", "tool":
		return slices.Contains([]traveler.WorkCentre{wcTurn, wcBar, wcTurnMill, wcMill3, wcMill5}, wc) ||
			why == "tool" && wc == wcSaw
	}
	return true
}
