package figures

import (
	"math"
	"slices"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/ahead"
	"tallywalk/traveler/calendar"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
)

// aheadView is what is left of a batch, and when it may be done.
type aheadView struct {
	Card       traveler.Code    `json:"card"`
	WorksOrder string           `json:"works_order,omitempty"`
	Part       string           `json:"part"`
	PartName   string           `json:"part_name,omitempty"`
	Due        string           `json:"due,omitempty"`
	Priority   int              `json:"priority"`
	State      story.BatchState `json:"state"`
	Steps      int              `json:"steps"`
	Work       float64          `json:"work_s"`
	Likely     time.Time        `json:"likely"`   // its delivery comes by then in half of all cases
	Cautious   time.Time        `json:"cautious"` // in 85 of a hundred
	// Likely, or only when all goes badly: cautious.
	Late    string      `json:"late" api:"enum=|likely|cautious"`
	NoWaits bool        `json:"no_waits"`
	Next    traveler.Op `json:"next_operation,omitempty"`
}

// weekView is a week of a work centre.
type weekView struct {
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	Week       string              `json:"week"`
	Load       float64             `json:"load_s"`
	Open       float64             `json:"open_s"`
	Machines   int                 `json:"machines"`
	Batches    int                 `json:"batches"`
}

// waitView is how long batches waited for a work centre.
type waitView struct {
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	N          int                 `json:"n"`
	P50        float64             `json:"p50_s"`
	P85        float64             `json:"p85_s"`
}

// waitsOnly is what waits are added up from.
var waitsOnly = reading{
	lent: true, without: story.FactTrip | story.FactIDs | story.FactLosses | story.FactBusy,
}

// loadView is what is ahead.
type loadView struct {
	Weeks   []weekView  `json:"weeks"`
	Batches []aheadView `json:"batches"`
	Waits   []waitView  `json:"waits"`
	Days    int         `json:"days"` // of history behind the waits
	At      time.Time   `json:"at"`
}

// getLoad answers what is ahead: hours by work centre and week, and for each
// batch on the floor when it may be done. It is what the forecast says, in fewer words;
// where there is none, dates are the sums of usual waits.
func (s *room) getLoad(c *fiber.Ctx) error {
	weeks, err := ask.QueryInt(c, "weeks", 8)
	if err != nil {
		return err
	}
	if weeks < 1 || weeks > 52 {
		return traveler.Invalid("weeks", "form.number")
	}
	now := s.Time()
	sel := selection{from: now.AddDate(0, 0, -daysSelected), to: now}
	var past measure.Waits
	if err := s.eachFact(c, &sel, waitsOnly, past.Add); err != nil {
		return err
	}
	shop, inside := s.Desk.Shop(), map[traveler.WorkCentre]measure.WaitStats(nil)
	v := loadView{Waits: []waitView{}, Days: daysSelected, At: now}
	if f := s.forecast(); f != nil {
		inside, _ = past.Result()
		v.Batches, v.Weeks = batchesAhead(f, s.Zone), weeksAhead(f, s.Zone, weeks)
	} else {
		v.Batches, v.Weeks, inside = s.summedWaits(&past, now, weeks)
	}
	for _, m := range centreNames(shop, now) {
		w := inside[m]
		v.Waits = append(v.Waits, waitView{m, w.N, w.P50.Seconds(), w.P85.Seconds()})
	}
	return c.JSON(v)
}

// forecast is the newest one that gives dates, nil while there is none.
func (s *room) forecast() *ahead.Forecast {
	if s.Ahead == nil {
		return nil
	}
	if f := s.Ahead.Forecast(); f != nil && f.Method != ahead.TooFew {
		return f
	}
	return nil
}

// batchesAhead are the batches of a forecast.
func batchesAhead(f *ahead.Forecast, zone *time.Location) []aheadView {
	out := []aheadView{}
	for i := range f.Batches {
		b := &f.Batches[i]
		v := aheadView{
			Card: b.Card, WorksOrder: b.Order, Part: b.Part, PartName: b.Name, Priority: b.Priority,
			State: b.State,
			Steps: len(b.Steps), Likely: b.Delivered.P50, Cautious: b.Delivered.P85, Next: b.Next,
		}
		for k := range b.Steps {
			v.Work += b.Steps[k].Work.Seconds()
		}
		if !b.Due.IsZero() {
			v.Due = ask.Date(b.Due.Add(-time.Nanosecond).In(zone))
			v.late(b.Due)
		}
		out = append(out, v)
	}
	return out
}

// weeksAhead are the weeks of a forecast, at most so many.
func weeksAhead(f *ahead.Forecast, zone *time.Location, most int) []weekView {
	out := []weekView{}
	for i := range f.Centres {
		k := &f.Centres[i]
		for _, w := range k.Weeks[:min(most, len(k.Weeks))] {
			out = append(out, weekView{
				k.WorkCentre, ask.Date(w.Begins.In(zone)), w.Hours.Seconds(), w.Open.Seconds(), k.Machines,
				int(math.Round(w.Batches)),
			})
		}
	}
	return out
}

// summedWaits are the batches and weeks by usual waits, and those.
func (s *room) summedWaits(past *measure.Waits, now time.Time, weeks int) (
	batches []aheadView, load []weekView, inside map[traveler.WorkCentre]measure.WaitStats,
) {
	shop := s.Desk.Shop()
	f := measure.Forecaster{Shop: shop, Now: now}
	f.Inside, f.Outside = past.Result()
	var left []measure.Ahead
	batches, load = []aheadView{}, []weekView{}
	s.Desk.Open(func(fam *story.Family) bool {
		for i := range fam.Batches {
			switch fam.State(i) {
			case story.StateDone, story.StateCancelled:
				continue
			}
			a := f.Batch(fam, i)
			left = append(left, a)
			batches = append(batches, s.aheadOf(&fam.Batches[i], fam.State(i), &a))
		}
		return true
	})
	monday := calendar.WeekBegan(now.In(s.Zone))
	for _, w := range measure.LoadOf(shop, left, monday, now, weeks) {
		load = append(
			load,
			weekView{
				w.WorkCentre, w.Week.In(s.Zone).Format(time.DateOnly), w.Load.Seconds(), w.Open.Seconds(),
				w.Machines,
				w.Batches,
			},
		)
	}
	return batches, load, f.Inside
}

func (s *room) aheadOf(b *story.Batch, state story.BatchState, a *measure.Ahead) aheadView {
	v := aheadView{
		Card: b.Card, WorksOrder: b.Order, Part: b.Part, PartName: b.Name, Due: ask.Date(b.Due),
		Priority: b.Priority, State: state, Steps: len(a.Steps), Work: a.Work.Seconds(), Likely: a.Likely,
		Cautious: a.Cautious, NoWaits: a.NoWaits,
	}
	if len(a.Steps) > 0 {
		v.Next = a.Steps[0].Operation
	}
	if !b.Due.IsZero() {
		v.late(s.endOfDue(b.Due))
	}
	return v
}

// late says by which date a batch is late.
func (v *aheadView) late(end time.Time) {
	switch {
	case v.Likely.After(end):
		v.Late = "likely"
	case v.Cautious.After(end):
		v.Late = "cautious"
	}
}

// centreNames lists the work centres in the order of their machines.
func centreNames(shop *traveler.Shop, now time.Time) (out []traveler.WorkCentre) {
	for _, m := range shop.Machines(now) {
		if !slices.Contains(out, m.WorkCentre) {
			out = append(out, m.WorkCentre)
		}
	}
	return out
}
