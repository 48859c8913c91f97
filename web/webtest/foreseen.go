package webtest

import (
	"context"
	"slices"
	"strconv"
	"sync"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/ahead"
	"tallywalk/traveler/board"
	"tallywalk/traveler/calendar"
	"tallywalk/traveler/story"
)

// Foreseen is what is ahead of a desk by rules that a test can follow by hand, in place
// of a simulation: a batch is delivered as many days from now as it has operations left,
// by P85 half as many more, by P95 as many again. Weeks are as they are written down
// here. It is safe for concurrent use.
type Foreseen struct {
	Desk story.Desk
	Now  func() time.Time
	Zone *time.Location

	mu sync.Mutex
	// What it answers where a test sets it.
	Past    *ahead.Hits
	Tried   []ahead.RuleResult
	Fails   error            // of WhatIf
	Waits   chan struct{}    // WhatIf waits for it, where it is set
	Method  ahead.Method     // simulated, if left out
	Asked   []ahead.Scenario // of WhatIf
	Nothing bool             // no forecast is worked out yet
}

// Forecast forecasts the floor as it is.
func (s *Foreseen) Forecast() *ahead.Forecast {
	if s.Nothing {
		return nil
	}
	return s.of(&ahead.Scenario{})
}

// WhatIf forecasts it twice: a batch that goes first comes a day earlier, those that wait
// for the same work centre six hours later; with a machine lost, what waits for its work
// centre comes two days later, with overtime a day earlier; what is added goes as if it
// were there, and what waits for its first work centre comes three hours later. It fails
// as a test says.
func (s *Foreseen) WhatIf(
	ctx context.Context, sc *ahead.Scenario, progress func(float64),
) (before, after *ahead.Forecast, err error) {
	s.mu.Lock()
	s.Asked = append(s.Asked, *sc)
	s.mu.Unlock()
	if progress != nil {
		progress(0.5)
	}
	if s.Waits != nil {
		select {
		case <-s.Waits:
		case <-ctx.Done():
			return nil, nil, ctx.Err()
		}
	}
	if s.Fails != nil {
		return nil, nil, s.Fails
	}
	return s.of(&ahead.Scenario{}), s.of(sc), nil
}

// Scenarios are those that were asked for so far.
func (s *Foreseen) Scenarios() []ahead.Scenario {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.Asked)
}

// Hits is what the test set.
func (s *Foreseen) Hits(int) *ahead.Hits { return s.Past }

// Rules is what the test set.
func (s *Foreseen) Rules() []ahead.RuleResult { return s.Tried }

// Busy is two hours from now for each machine.
func (s *Foreseen) Busy(traveler.MachineID) ahead.Dates {
	t := s.Now().UTC().Truncate(time.Minute).Add(2 * time.Hour)
	return ahead.Dates{P50: t, P85: t.Add(time.Hour), P95: t.Add(2 * time.Hour)}
}

// of is the floor with a scenario.
func (s *Foreseen) of(sc *ahead.Scenario) *ahead.Forecast {
	now := s.Now().UTC().Truncate(time.Minute)
	f := &ahead.Forecast{AsOf: now, Method: ahead.Simulated, Rule: ahead.ByDue, Runs: 200}
	if s.Method != "" {
		f.Method = s.Method
	}
	s.Desk.Open(func(fam *story.Family) bool {
		for i := range fam.Batches {
			if b := &fam.Batches[i]; fam.State(i) != story.StateDone && fam.State(i) != story.StateCancelled {
				f.Batches = append(f.Batches, s.batch(fam, i, b))
			}
		}
		return true
	})
	s.places(f)
	s.applyScenario(f, sc)
	for i := range f.Batches {
		finish(&f.Batches[i], now, f.Method == ahead.TooFew)
	}
	slices.SortStableFunc(f.Batches, func(a, b ahead.BatchDates) int {
		return rank(&a).Compare(rank(&b))
	})
	s.weeks(f, now)
	return f
}

// rank sorts by what is left to the due date, as time from an old day on.
func rank(b *ahead.BatchDates) time.Time {
	if b.Due.IsZero() {
		return time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	return time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC).Add(b.Slack)
}

// batch is a batch with its steps; WaitsLasts says for now by how much it is moved.
func (s *Foreseen) batch(fam *story.Family, i int, b *story.Batch) ahead.BatchDates {
	v := ahead.BatchDates{
		Card: b.Card, Order: b.Order, Part: b.Part, Name: b.Name, Customer: b.Customer, Priority: b.Priority,
		State: fam.State(i), Next: fam.NextOp(i),
	}
	if !b.Due.IsZero() {
		v.Due = calendar.EndOfDay(b.Due, s.Zone)
	}
	for _, o := range b.Ops {
		if v.Next != 0 && o.Number >= v.Next {
			v.Steps = append(v.Steps, ahead.Step{
				Operation: o.Number, WorkCentre: o.WorkCentre, Outside: o.Outside(), Pieces: b.Wanted,
				Waits: 4 * time.Hour, Work: 2 * time.Hour,
			})
		}
	}
	if len(v.Steps) > 0 {
		v.WorkCentre, v.WaitsMost = v.Steps[0].WorkCentre, v.Steps[len(v.Steps)/2].WorkCentre
	}
	return v
}

// places are the order of the waits board.
func (s *Foreseen) places(f *ahead.Forecast) {
	var rows []board.Row
	s.Desk.Open(func(fam *story.Family) bool {
		rows = append(rows, board.Rows(s.Desk.Shop(), fam, "", f.AsOf)...)
		return true
	})
	board.Sort(rows)
	seen := map[traveler.WorkCentre]int{}
	for _, r := range rows {
		if b := f.Batch(r.Card); b != nil && r.Kind == "wait" && b.Place == 0 {
			seen[r.WorkCentre]++
			b.Place = seen[r.WorkCentre]
		}
	}
}

// applyScenario moves the batches by a scenario.
func (s *Foreseen) applyScenario(f *ahead.Forecast, sc *ahead.Scenario) {
	move := func(wc traveler.WorkCentre, by time.Duration, but traveler.Code) {
		for i := range f.Batches {
			if b := &f.Batches[i]; b.WorkCentre == wc && b.Card != but {
				b.WaitsLasts += by
			}
		}
	}
	first := slices.Clone(sc.First)
	for _, x := range sc.Take {
		first = append(first, x.Card)
	}
	for _, card := range first {
		if b := f.Batch(card); b != nil {
			b.WaitsLasts -= 24 * time.Hour
			move(b.WorkCentre, 6*time.Hour, card)
		}
	}
	for _, x := range sc.Shut {
		m, _ := s.Desk.Shop().Machine(x.Machine, f.AsOf)
		move(m.WorkCentre, 48*time.Hour, "")
	}
	for _, x := range sc.Open {
		m, _ := s.Desk.Shop().Machine(x.Machine, f.AsOf)
		move(m.WorkCentre, -24*time.Hour, "")
	}
	for _, x := range sc.Split {
		if b := f.Batch(x.Card); b != nil {
			n := *b
			n.Card, n.New = b.Card+"/"+traveler.Code(strconv.Itoa(x.Pieces)), true
			f.Batches = append(f.Batches, n)
		}
	}
	for _, x := range sc.Add {
		v := ahead.BatchDates{Card: x.Card, Part: x.Part, Due: x.Due, New: true,
			WaitsLasts: x.From.Sub(f.AsOf)}
		for _, r := range s.Desk.Shop().Routes() {
			if r.Part != x.Part {
				continue
			}
			v.Name, v.Steps = r.PartName, nil
			for _, o := range r.Operations {
				v.Steps = append(v.Steps,
					ahead.Step{Operation: o.Number, WorkCentre: o.WorkCentre, Pieces: x.Pieces,
						Work: time.Hour})
			}
		}
		v.WaitsMost = v.Steps[0].WorkCentre
		move(v.WaitsMost, 3*time.Hour, "")
		f.Batches = append(f.Batches, v)
	}
}

// finish makes dates of the steps that are left and of what a batch was moved by.
func finish(b *ahead.BatchDates, now time.Time, none bool) {
	days := time.Duration(len(b.Steps)) * 24 * time.Hour
	p50 := now.Add(days + b.WaitsLasts)
	b.WaitsLasts = 4 * time.Hour
	if none {
		b.WaitsMost, b.WaitsLasts = "", 0
		return
	}
	if p50.Before(now) {
		p50 = now
	}
	b.Delivered = ahead.Dates{P50: p50, P85: p50.Add(days / 2), P95: p50.Add(days)}
	b.Done = ahead.Dates{P50: p50.Add(-time.Hour), P85: p50.Add(days/2 - time.Hour),
		P95: p50.Add(days - time.Hour)}
	for i := range b.Steps {
		b.Steps[i].Begins = now.Add(time.Duration(i) * 24 * time.Hour)
		b.Steps[i].Ends = b.Steps[i].Begins.Add(20 * time.Hour)
	}
	if !b.Due.IsZero() {
		b.Slack = b.Due.Sub(p50)
		switch {
		case !b.Due.After(now):
			b.OnTime = 0
		case b.Slack < 0:
			b.OnTime = 0.3
		case b.Delivered.P85.After(b.Due):
			b.OnTime = 0.7
		default:
			b.OnTime = 0.97
		}
	}
}

// weeks are four for each work centre: the first is full, with work carried on.
func (s *Foreseen) weeks(f *ahead.Forecast, now time.Time) {
	monday := calendar.WeekBegan(now.In(s.Zone))
	for _, m := range s.Desk.Shop().Machines(now) {
		if i := slices.IndexFunc(f.Centres,
			func(c ahead.Centre) bool { return c.WorkCentre == m.WorkCentre }); i >= 0 {
			f.Centres[i].Machines++
			continue
		}
		c := ahead.Centre{WorkCentre: m.WorkCentre, Machines: 1}
		for i := range f.Batches {
			if f.Batches[i].WorkCentre == m.WorkCentre {
				c.Delay += 5 * time.Hour
			}
		}
		for w := range 4 {
			k := ahead.Week{Begins: monday.AddDate(0, 0, 7*w), Open: 40 * time.Hour, Batches: 3}
			if c.Delay > 0 && w < 2 {
				k.Hours, k.Carried = time.Duration(40-18*w)*time.Hour, time.Duration(12-12*w)*time.Hour
			}
			c.Weeks = append(c.Weeks, k)
		}
		if c.Delay > 0 {
			c.Full = monday
		}
		f.Centres = append(f.Centres, c)
	}
	most := time.Duration(0)
	for _, c := range f.Centres {
		if c.Delay > most {
			most, f.HoldsUp = c.Delay, c.WorkCentre
		}
	}
}
