package figures

import (
	"slices"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
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
	Likely     time.Time        `json:"likely"`
	Cautious   time.Time        `json:"cautious"`
	Late       string           `json:"late" api:"enum=|likely|cautious"` // likely, or only when all goes badly: cautious
	NoWaits    bool             `json:"no_waits"`
	Next       traveler.Op      `json:"next_operation,omitempty"`
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
var waitsOnly = reading{lent: true, without: story.FactTrip | story.FactIDs | story.FactLosses | story.FactBusy}

// loadView is what is ahead.
type loadView struct {
	Weeks   []weekView  `json:"weeks"`
	Batches []aheadView `json:"batches"`
	Waits   []waitView  `json:"waits"`
	Days    int         `json:"days"` // of history behind the waits
	At      time.Time   `json:"at"`
}

// getLoad answers what is ahead: hours by work centre and week, and for each
// batch on the floor when it may be done.
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
	shop := s.Desk.Shop()
	f := measure.Forecaster{Shop: shop, Now: now}
	f.Inside, f.Outside = past.Result()
	var ahead []measure.Ahead
	batches := []aheadView{}
	s.Desk.Open(func(fam *story.Family) bool {
		for i := range fam.Batches {
			switch fam.State(i) {
			case story.StateDone, story.StateCancelled:
				continue
			}
			a := f.Batch(fam, i)
			ahead = append(ahead, a)
			batches = append(batches, s.aheadOf(&fam.Batches[i], fam.State(i), &a))
		}
		return true
	})
	load, waits := []weekView{}, []waitView{}
	monday := calendar.WeekBegan(now.In(s.Zone))
	for _, w := range measure.LoadOf(shop, ahead, monday, now, weeks) {
		load = append(load, weekView{w.WorkCentre, w.Week.In(s.Zone).Format(time.DateOnly), w.Load.Seconds(), w.Open.Seconds(), w.Machines, w.Batches})
	}
	for _, m := range centreNames(shop, now) {
		w := f.Inside[m]
		waits = append(waits, waitView{m, w.N, w.P50.Seconds(), w.P85.Seconds()})
	}
	return c.JSON(loadView{load, batches, waits, daysSelected, now})
}

func (s *room) aheadOf(b *story.Batch, state story.BatchState, a *measure.Ahead) aheadView {
	v := aheadView{
		Card: b.Card, WorksOrder: b.Order, Part: b.Part, PartName: b.Name, Due: ask.Date(b.Due), Priority: b.Priority, State: state, Steps: len(a.Steps),
		Work: a.Work.Seconds(), Likely: a.Likely, Cautious: a.Cautious, NoWaits: a.NoWaits,
	}
	if len(a.Steps) > 0 {
		v.Next = a.Steps[0].Operation
	}
	if !b.Due.IsZero() {
		switch end := s.endOfDue(b.Due); {
		case a.Likely.After(end):
			v.Late = "likely"
		case a.Cautious.After(end):
			v.Late = "cautious"
		}
	}
	return v
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
