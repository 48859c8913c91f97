package figures

import (
	"cmp"
	"slices"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
)

// weeksShown is how many weeks, or months, stand side by side.
const weeksShown = 5

// weeksView is a week or a month, and those before it.
type weeksView struct {
	Of       string        `json:"of" api:"enum=week|month"`
	Periods  []weekPeriod  `json:"periods"` // the newest first
	Scrap    []weekScrap   `json:"scrap"`   // of the newest, the most pieces first
	Machines []weekMachine `json:"machines"`
	Learnt   []weekFit     `json:"learnt"` // planned times that do not fit; those found out in the period first
	FitDays  int           `json:"fit_days"`
}

// weekPeriod is what came of one week or month, up to now.
type weekPeriod struct {
	From     string     `json:"from"`
	To       string     `json:"to"`
	Finished int        `json:"finished"` // batches
	Started  int        `json:"started"`  // their pieces
	Good     int        `json:"good"`
	Scrap    int        `json:"scrap"`
	Shipped  int        `json:"shipped"` // deliveries
	Pieces   int        `json:"pieces"`  // that were shipped
	OnTime   onTimeView `json:"on_time"`
	Run      float64    `json:"run_s"` // of all machines
	Setup    float64    `json:"setup_s"`
	FirstOff float64    `json:"firstoff_s"`
	Stop     float64    `json:"stop_s"`
	Open     float64    `json:"open_s"`

	sel      selection
	machines []measure.MachineHours
	losses   []measure.Loss
}

// weekScrap is scrap by what caused it.
type weekScrap struct {
	Reason string   `json:"reason"`
	Pieces int      `json:"pieces"`
	Cost   *float64 `json:"cost"`   // null where a rate is missing
	Before float64  `json:"before"` // pieces, mean of the periods before in which the shop was at work
}

// weekMachine is what a machine did with the period. Times are clock time.
type weekMachine struct {
	Machine  traveler.MachineID `json:"machine"`
	Name     string             `json:"name"`
	Open     float64            `json:"open_s"`
	Run      float64            `json:"run_s"`
	Setup    float64            `json:"setup_s"`
	FirstOff float64            `json:"firstoff_s"`
	Stop     float64            `json:"stop_s"`
	Before   float64            `json:"run_before_s"` // mean of the periods before
}

// weekFit is a planned time that does not fit, by the batches of a year.
type weekFit struct {
	Part      string      `json:"part"`
	RouteRev  string      `json:"route_rev"`
	Operation traveler.Op `json:"operation"`
	What      string      `json:"what" api:"enum=setup|piece"`
	Plan      float64     `json:"plan_s"`
	Actual    float64     `json:"actual_s"`
	Ratio     float64     `json:"ratio"`
	N         int         `json:"n"`
	New       bool        `json:"new"` // it did fit, or nobody knew, when the period began
}

// getWeek answers a week or a month, with those before.
func (s *room) getWeek(c *fiber.Ctx) error {
	v, err := s.week(c)
	if err != nil {
		return err
	}
	return c.JSON(v)
}

// week works out what is asked for. It fails with KindInvalid where that is no week or
// month, or has not begun, and as the desk does.
func (s *room) week(c *fiber.Ctx) (*weeksView, error) {
	v := &weeksView{Of: c.Query("of", "week"), FitDays: daysSelected}
	if v.Of != "week" && v.Of != "month" {
		return nil, traveler.Invalid("of", "select.choice", v.Of, "week, month")
	}
	date := c.Query("date", s.Time().In(s.Zone).Format(time.DateOnly))
	day, err := s.Midnight("date", date, 0)
	if err != nil {
		return nil, err
	}
	if day.After(s.Time()) {
		return nil, traveler.Invalid("date", "select.period", date, s.Time().In(s.Zone).Format(time.DateOnly))
	}
	day = day.In(s.Zone)
	for back := range weeksShown {
		p, err := s.weekPeriod(c, bounds(v.Of, day, back))
		if err != nil {
			return nil, err
		}
		v.Periods = append(v.Periods, p)
	}
	v.Scrap, v.Machines = scrapOf(v.Periods), s.machinesOf(v.Periods)
	v.Learnt, err = s.learnt(c, &v.Periods[0].sel)
	return v, err
}

// bounds is the week or month of a day, or one so many before, as a selection.
func bounds(of string, day time.Time, back int) selection {
	from := calendar.WeekBegan(day).AddDate(0, 0, -7*back)
	to := from.AddDate(0, 0, 7)
	if of == "month" {
		from = time.Date(day.Year(), day.Month()-time.Month(back), 1, 0, 0, 0, 0, day.Location())
		to = from.AddDate(0, 1, 0)
	}
	return selection{
		FromDate: from.Format(time.DateOnly), ToDate: to.AddDate(0, 0, -1).Format(time.DateOnly), from: from,
		to: to,
	}
}

// weekPeriod adds up one period, each figure as its own page does.
func (s *room) weekPeriod(c *fiber.Ctx, sel selection) (weekPeriod, error) {
	p := weekPeriod{From: sel.FromDate, To: sel.ToDate, sel: sel}
	h := s.newHistoryBuilder(&sel)
	err := s.eachFact(c, &sel, leadsOnly, func(b *story.BatchFact) {
		h.add(b)
		for _, d := range b.Deliveries {
			if !d.At.Before(sel.from) && d.At.Before(sel.to) {
				p.Shipped++
				p.Pieces += d.Pieces
			}
		}
	})
	if err != nil {
		return p, err
	}
	was := h.view()
	p.Finished, p.Started, p.Good, p.Scrap, p.OnTime = was.Ended, was.Started, was.Good, was.Scrap, was.OnTime
	rates := measure.KeepRates(s.Desk.Shop())
	lost := measure.Losses{Kind: measure.LossScrap, By: measure.LossByReason, Rates: rates}
	err = s.eachFact(c, &sel, lossesOnly, func(b *story.BatchFact) {
		if !b.Ended.IsZero() { // scrap of what is on the floor is of the week in which that ends
			lost.Add(b)
		}
	})
	if err != nil {
		return p, err
	}
	p.losses = lost.Result()
	return p, s.weekHours(c, &p)
}

// weekHours adds up what the machines did.
func (s *room) weekHours(c *fiber.Ctx, p *weekPeriod) error {
	to := p.sel.to
	if now := s.Time(); now.Before(to) {
		to = now
	}
	sum := measure.Machines{From: p.sel.from, To: to}
	if err := s.eachFact(c, &p.sel, hoursOnly, sum.Add); err != nil {
		return err
	}
	p.machines = sum.Result(s.Desk.Shop(), s.sinceFirst(sum.First(), p.sel.from))
	for i := range p.machines {
		m := &p.machines[i]
		p.Run += m.Run.Seconds()
		p.Setup += m.Setup.Seconds()
		p.FirstOff += m.FirstOff.Seconds()
		p.Stop += m.Stop.Seconds()
		p.Open += m.Open.Seconds()
	}
	return nil
}

// worked is how many of the periods the shop was at work in, at least one: those before
// its record begins are in no mean.
func worked(periods []weekPeriod) float64 {
	n := 0.0
	for i := range periods {
		if p := &periods[i]; p.Run > 0 || p.Finished > 0 {
			n++
		}
	}
	return max(1, n)
}

// scrapOf is the scrap of the newest period by its cause, beside the mean of those before.
func scrapOf(periods []weekPeriod) []weekScrap {
	before := map[string]int{}
	for _, p := range periods[1:] {
		for i := range p.losses {
			before[p.losses[i].Key] += p.losses[i].Pieces
		}
	}
	out := []weekScrap{}
	mean := func(key string) float64 { return float64(before[key]) / worked(periods[1:]) }
	for i := range periods[0].losses {
		l := &periods[0].losses[i]
		x := weekScrap{Reason: l.Key, Pieces: l.Pieces, Before: mean(l.Key)}
		if l.Rated {
			x.Cost = &l.Cost
		}
		out = append(out, x)
		delete(before, l.Key)
	}
	for key := range before { // there was none of it this time
		out = append(out, weekScrap{Reason: key, Cost: new(float64), Before: mean(key)})
	}
	slices.SortFunc(out, func(a, b weekScrap) int {
		return cmp.Or(b.Pieces-a.Pieces, cmp.Compare(b.Before, a.Before), cmp.Compare(a.Reason, b.Reason))
	})
	return out
}

// machinesOf is the hours of the newest period by machine, beside the mean of those before.
func (s *room) machinesOf(periods []weekPeriod) []weekMachine {
	before := map[traveler.MachineID]time.Duration{}
	for _, p := range periods[1:] {
		for i := range p.machines {
			before[p.machines[i].Machine] += p.machines[i].Run
		}
	}
	out := []weekMachine{}
	for i := range periods[0].machines {
		h := &periods[0].machines[i]
		if h.Busy() == 0 && before[h.Machine] == 0 {
			continue // a store, or a machine that nobody uses
		}
		m, _ := s.Desk.Shop().Machine(h.Machine, s.Time())
		out = append(out, weekMachine{
			h.Machine, m.Name, h.Open.Seconds(), h.Run.Seconds(), h.Setup.Seconds(), h.FirstOff.Seconds(),
			h.Stop.Seconds(), before[h.Machine].Seconds() / worked(periods[1:]),
		})
	}
	return out
}

// learnt is the planned times that do not fit by the batches of the year up to the end of a
// period, and which of them nobody could know of when it began.
func (s *room) learnt(c *fiber.Ctx, sel *selection) ([]weekFit, error) {
	now, err := s.offAt(c, sel.to)
	if err != nil {
		return nil, err
	}
	then, err := s.offAt(c, sel.from)
	if err != nil {
		return nil, err
	}
	out := []weekFit{}
	for i := range now {
		f := &now[i]
		known := slices.ContainsFunc(then, func(x measure.Fit) bool {
			return x.Part == f.Part && x.Rev == f.Rev && x.Operation == f.Operation && x.What == f.What
		})
		out = append(out, weekFit{
			f.Part, f.Rev, f.Operation, f.What, f.Plan.Seconds(), f.Actual.Seconds(), f.Ratio, f.N, !known,
		})
	}
	slices.SortStableFunc(out, func(a, b weekFit) int {
		switch {
		case a.New == b.New:
			return 0
		case a.New:
			return -1
		}
		return 1
	})
	return out, nil
}

// offAt is the planned times that did not fit at a moment, by the batches of the year
// before it.
func (s *room) offAt(c *fiber.Ctx, t time.Time) ([]measure.Fit, error) {
	sel := selection{from: t.AddDate(0, 0, -daysSelected), to: t}
	var fits measure.Fits
	if err := s.eachFact(c, &sel, fitsOnly, fits.Add); err != nil {
		return nil, err
	}
	return slices.DeleteFunc(fits.Result(), func(f measure.Fit) bool { return !f.Off }), nil
}
