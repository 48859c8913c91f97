package ahead

import (
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	core "tallywalk/traveler/ahead"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// datesView is when something may come: by p50 in half of all cases, by p85 in 85 and
// by p95 in 95 of a hundred; null where there is not enough history.
type datesView struct {
	P50 *time.Time `json:"p50"`
	P85 *time.Time `json:"p85"`
	P95 *time.Time `json:"p95"`
}

func datesOf(d core.Dates) datesView {
	return datesView{moment(d.P50), moment(d.P85), moment(d.P95)}
}

// moment is a time to the second, null for none.
func moment(t time.Time) *time.Time { return ask.Moment(t.UTC().Truncate(time.Second)) }

// forecastBatch is what may come of a batch: its delivery by p50, p85 and p95.
type forecastBatch struct {
	Card       traveler.Code    `json:"card"`
	WorksOrder string           `json:"works_order,omitempty"`
	Line       string           `json:"line,omitempty"`
	Part       string           `json:"part"`
	PartName   string           `json:"part_name,omitempty"`
	Customer   string           `json:"customer,omitempty"`
	Hot        bool             `json:"hot,omitempty"` // goes before all that is not
	Priority   int              `json:"priority"`
	State      story.BatchState `json:"state"`
	datesView
	// When its last operation ends; null where none is left.
	LastOperation datesView `json:"last_operation"`
	// The chance that it is delivered by the end of its due date, 0 to 1; null without
	// a due date, or without dates.
	OnTime *float64 `json:"on_time"`
	Due    string   `json:"due,omitempty"` // a date
	// The end of the due date: what is delivered before it is on time, as in the figures
	// of what came.
	DueEnd *time.Time `json:"due_end"`
	Slack  *float64   `json:"slack_s"` // from p50 to due_end; negative when late
	// The due date is over, p50 is after it, or p85 is; empty where none holds.
	Late string `json:"late" api:"enum=|now|likely|risk"`
	// The work centre that it is expected to wait for longest; empty where it waits for
	// none.
	WaitsFor string      `json:"waits_for"`
	Waits    float64     `json:"waits_s"`
	Place    int         `json:"place"` // in the line of its work centre: 1 = next, 0 = it waits in none
	Next     traveler.Op `json:"next_operation,omitempty"`
	// Where its next operation is done.
	WorkCentre traveler.WorkCentre `json:"work_centre,omitempty"`
	Operations int                 `json:"operations_left"`
	Work       float64             `json:"work_s"`          // planned set-up and run that are left
	Steps      []forecastStep      `json:"steps,omitempty"` // only where one batch is asked for
}

// forecastStep is an operation that is left of a batch.
type forecastStep struct {
	Operation  traveler.Op         `json:"operation"`
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	Outside    bool                `json:"outside"`
	Pieces     int                 `json:"pieces"`
	Begins     *time.Time          `json:"begins"` // median
	Ends       *time.Time          `json:"ends"`   // median
	Waits      float64             `json:"waits_s"`
	Work       float64             `json:"work_s"`
}

// forecastCentre is what is ahead of a work centre.
type forecastCentre struct {
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	Machines   int                 `json:"machines"`
	Full       string              `json:"full,omitempty"` // the first week that is full, by its Monday
	// Waiting that it causes, all batches together: from when they could begin to when
	// they do, beyond what even a free machine would keep them waiting.
	Delay float64        `json:"delay_s"`
	Weeks []forecastWeek `json:"weeks"`
}

// forecastWeek is a week of a work centre, all its machines together.
type forecastWeek struct {
	Week    string  `json:"week"`    // its Monday
	Hours   float64 `json:"hours"`   // that work is expected to take in it
	Open    float64 `json:"open"`    // hours that the calendars give; of this week, what is left
	Carried float64 `json:"carried"` // hours of work that were ready in it and are begun later
	Begun   float64 `json:"operations"`
}

// forecastView is what may come of the floor, as of a moment.
type forecastView struct {
	// There is a forecast, the first one is being worked out, or none is made here.
	State string     `json:"state" api:"enum=ready|working|off"`
	AsOf  *time.Time `json:"as_of"`
	// How it was made; too-few is not enough history yet: no dates are given.
	Method   core.Method         `json:"method"`
	Rule     core.Rule           `json:"rule"`
	Runs     int                 `json:"runs"`
	Late     int                 `json:"late"` // batches whose p50 is after their due date
	HoldsUp  traveler.WorkCentre `json:"holds_up,omitempty"`
	FullFrom float64             `json:"full_from"` // share of the open hours from which a week is full
	Batches  []forecastBatch     `json:"batches"`   // those with the least chance to be on time first
	Centres  []forecastCentre    `json:"centres"`
}

// emptyForecast is what is answered while there is none.
func (s *Ahead) emptyForecast() forecastView {
	v := forecastView{
		State: "working", Method: core.TooFew, Rule: ask.ShopRule(s.Tables), FullFrom: core.FullShare,
		Batches: []forecastBatch{}, Centres: []forecastCentre{},
	}
	if s.Source == nil {
		v.State = "off"
	}
	return v
}

// getAhead answers the newest forecast, of all batches or of one.
func (s *Ahead) getAhead(c *fiber.Ctx) error {
	one := c.Query("card")
	var card traveler.Code
	if one != "" {
		f, i, err := s.FamilyOf(one)
		if err != nil {
			return err
		}
		card = f.Batches[i].Card
	}
	f := s.forecast()
	if f == nil {
		return c.JSON(s.emptyForecast())
	}
	return c.JSON(s.viewOf(f, card))
}

// View is what is answered of a forecast, by the dates of a shop's zone: for the command
// that forecasts a past moment.
func View(f *core.Forecast, zone *time.Location) any {
	s := &Ahead{Door: &door.Door{House: &ask.House{Zone: zone}}}
	return s.viewOf(f, "")
}

// viewOf is a forecast of all batches, or of one.
func (s *Ahead) viewOf(f *core.Forecast, card traveler.Code) forecastView {
	v := forecastView{FullFrom: core.FullShare, Batches: []forecastBatch{}, Centres: []forecastCentre{}}
	v.State, v.AsOf, v.Method, v.Rule, v.Runs, v.Late = "ready", moment(
		f.AsOf), f.Method, f.Rule, f.Runs, f.Late()
	v.HoldsUp = f.HoldsUp
	for i := range f.Batches {
		b := &f.Batches[i]
		if card != "" && b.Card != card {
			continue
		}
		x := s.batchOf(b, f.AsOf)
		if card != "" {
			x.Steps = stepsOf(b)
		}
		v.Batches = append(v.Batches, x)
	}
	for i := range f.Centres {
		v.Centres = append(v.Centres, s.centreOf(&f.Centres[i]))
	}
	return v
}

func (s *Ahead) batchOf(b *core.BatchDates, asOf time.Time) forecastBatch {
	v := forecastBatch{
		Card: b.Card, WorksOrder: b.Order, Line: b.Line, Part: b.Part, PartName: b.Name, Customer: b.Customer,
		Hot: b.Hot, Priority: b.Priority, State: b.State, datesView: datesOf(b.Delivered),
		LastOperation: datesOf(b.Done),
		Due:           s.dueDate(b.Due), DueEnd: moment(b.Due), Late: lateness(b, asOf),
		WaitsFor: string(b.WaitsMost),
		Waits:    b.WaitsLasts.Seconds(), Place: b.Place, Next: b.Next, WorkCentre: b.WorkCentre,
		Operations: len(b.Steps),
	}
	for i := range b.Steps {
		v.Work += b.Steps[i].Work.Seconds()
	}
	if len(b.Steps) == 0 {
		v.LastOperation = datesView{} // it has ended
	}
	if !b.Due.IsZero() && !b.Delivered.P50.IsZero() {
		v.OnTime, v.Slack = &b.OnTime, ask.Seconds(b.Slack)
	}
	return v
}

// dueDate is the date whose end is a moment.
func (s *Ahead) dueDate(end time.Time) string {
	if end.IsZero() {
		return ""
	}
	return end.Add(-time.Nanosecond).In(s.Zone).Format(time.DateOnly)
}

// lateness says what is wrong with the dates of a batch: its date is over, its median
// is after it, or only the date called 85 %.
func lateness(b *core.BatchDates, asOf time.Time) string {
	switch {
	case b.Due.IsZero():
		return ""
	case !b.Due.After(asOf):
		return "now"
	case b.Delivered.P50.After(b.Due):
		return "likely"
	case b.Delivered.P85.After(b.Due):
		return "risk"
	}
	return ""
}

func stepsOf(b *core.BatchDates) (out []forecastStep) {
	for i := range b.Steps {
		x := &b.Steps[i]
		out = append(out, forecastStep{
			x.Operation, x.WorkCentre, x.Outside, x.Pieces, moment(x.Begins), moment(x.Ends),
			x.Waits.Seconds(),
			x.Work.Seconds(),
		})
	}
	return out
}

func (s *Ahead) centreOf(k *core.Centre) forecastCentre {
	v := forecastCentre{
		WorkCentre: k.WorkCentre, Machines: k.Machines, Full: s.dateOf(k.Full), Delay: k.Delay.Seconds(),
		Weeks: []forecastWeek{},
	}
	for _, w := range k.Weeks {
		v.Weeks = append(v.Weeks, forecastWeek{
			s.dateOf(w.Begins), w.Hours.Hours(), w.Open.Hours(), w.Carried.Hours(), w.Batches,
		})
	}
	return v
}

// dateOf is the shop's date of a moment, such as the Monday of a week.
func (s *Ahead) dateOf(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.In(s.Zone).Format(time.DateOnly)
}
