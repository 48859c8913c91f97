package ahead

import (
	"cmp"
	"slices"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	core "tallywalk/traveler/ahead"
	"tallywalk/web/ask"
)

// movesFrom is by how much a date must move to be named: dates are quoted by the day.
const movesFrom = 15 * time.Minute

// outlookView is the floor as one forecast has it.
type outlookView struct {
	Late     int                 `json:"late"`      // batches whose p50 is after their due date
	DaysLate float64             `json:"days_late"` // of all of them together
	HoldsUp  traveler.WorkCentre `json:"holds_up,omitempty"`
}

func outlookOf(f *core.Forecast) outlookView {
	v := outlookView{Late: f.Late(), HoldsUp: f.HoldsUp}
	for i := range f.Batches {
		v.DaysLate += daysLate(&f.Batches[i])
	}
	return v
}

// daysLate is by how many days the median of a batch is late; one on time is late by
// nothing.
func daysLate(b *core.BatchDates) float64 {
	if b.Due.IsZero() || b.Delivered.P50.IsZero() {
		return 0
	}
	return max(0, -b.Slack.Hours()/24)
}

// movedDates are the dates of a batch, and whether it is late by them.
type movedDates struct {
	P50    *time.Time `json:"p50"`
	P85    *time.Time `json:"p85"`
	OnTime *float64   `json:"on_time"`
	Late   bool       `json:"late"` // p50 is after its due date
}

// movedBatch is a batch whose dates would be others.
type movedBatch struct {
	Card       traveler.Code `json:"card"`
	WorksOrder string        `json:"works_order,omitempty"`
	Part       string        `json:"part"`
	PartName   string        `json:"part_name,omitempty"`
	Customer   string        `json:"customer,omitempty"`
	Due        string        `json:"due,omitempty"`
	Before     movedDates    `json:"before"`
	After      movedDates    `json:"after"`
	Later      float64       `json:"later_s"` // of p50; negative when it comes earlier
	// It is late only then, or was and would not be.
	Turns string `json:"turns" api:"enum=|late|on_time"`
}

// newBatchView is a batch that is not on the floor yet: its delivery by p50, p85 and p95.
type newBatchView struct {
	Card     traveler.Code `json:"card"` // as it is named here
	Part     string        `json:"part"`
	PartName string        `json:"part_name,omitempty"`
	Due      string        `json:"due,omitempty"`
	datesView
	LastOperation datesView `json:"last_operation"`
	OnTime        *float64  `json:"on_time"`
	WaitsFor      string    `json:"waits_for"`
	Waits         float64   `json:"waits_s"`
}

// whatIfView is what would become of the floor if something were done otherwise.
type whatIfView struct {
	AsOf   *time.Time     `json:"as_of"`
	Method core.Method    `json:"method"`
	Before outlookView    `json:"before"`
	After  outlookView    `json:"after"`
	Moved  []movedBatch   `json:"moved"` // what turns late first, then what moves most
	New    []newBatchView `json:"new"`   // split off, or asked about
}

func (s *Ahead) compared(before, after *core.Forecast) whatIfView {
	v := whatIfView{
		AsOf: moment(after.AsOf), Method: after.Method, Before: outlookOf(before), After: outlookOf(after),
		Moved: s.moved(before, after), New: []newBatchView{},
	}
	for i := range after.Batches {
		if b := &after.Batches[i]; b.New {
			v.New = append(v.New, s.newOf(b))
		}
	}
	slices.SortFunc(v.New, func(a, b newBatchView) int {
		return cmp.Or(cmp.Compare(len(a.Card), len(b.Card)), cmp.Compare(a.Card, b.Card))
	})
	return v
}

func (s *Ahead) newOf(b *core.BatchDates) newBatchView {
	v := newBatchView{
		Card: b.Card, Part: b.Part, PartName: b.Name, Due: s.dueDate(b.Due), datesView: datesOf(b.Delivered),
		LastOperation: datesOf(b.Done), WaitsFor: string(b.WaitsMost), Waits: b.WaitsLasts.Seconds(),
	}
	if !b.Due.IsZero() && !b.Delivered.P50.IsZero() {
		v.OnTime = &b.OnTime
	}
	return v
}

// moved lists the batches whose dates differ between two forecasts.
func (s *Ahead) moved(before, after *core.Forecast) []movedBatch {
	was := map[traveler.Code]*core.BatchDates{}
	for i := range before.Batches {
		was[before.Batches[i].Card] = &before.Batches[i]
	}
	out := []movedBatch{}
	for i := range after.Batches {
		b := &after.Batches[i]
		a := was[b.Card]
		if a == nil || b.Delivered.P50.IsZero() || a.Delivered.P50.IsZero() {
			continue
		}
		m := movedBatch{
			Card: b.Card, WorksOrder: b.Order, Part: b.Part, PartName: b.Name, Customer: b.Customer,
			Due:    s.dueDate(b.Due),
			Before: movedOf(a), After: movedOf(b), Later: b.Delivered.P50.Sub(a.Delivered.P50).Seconds(),
		}
		switch {
		case m.After.Late && !m.Before.Late:
			m.Turns = "late"
		case m.Before.Late && !m.After.Late:
			m.Turns = "on_time"
		}
		if m.Turns != "" || moves(a.Delivered.P50, b.Delivered.P50) ||
			moves(a.Delivered.P85, b.Delivered.P85) {
			out = append(out, m)
		}
	}
	first := map[string]int{"late": 0, "on_time": 1, "": 2}
	slices.SortStableFunc(out, func(a, b movedBatch) int {
		return cmp.Or(cmp.Compare(first[a.Turns], first[b.Turns]), cmp.Compare(b.Later, a.Later))
	})
	return out
}

func moves(a, b time.Time) bool { return b.Sub(a).Abs() >= movesFrom }

func movedOf(b *core.BatchDates) movedDates {
	v := movedDates{P50: moment(b.Delivered.P50), P85: moment(b.Delivered.P85)}
	if !b.Due.IsZero() {
		v.OnTime, v.Late = &b.OnTime, b.Slack < 0
	}
	return v
}

// postWhatIf says what would become of the floor if something were done otherwise.
// Nothing is changed.
func (s *Ahead) postWhatIf(c *fiber.Ctx) error {
	var in scenarioAsk
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	sc, err := s.scenario(&in, s.Time())
	if err != nil {
		return err
	}
	before, after, err := s.workOut(c, sc)
	if err != nil {
		return err
	}
	return c.JSON(s.compared(before, after))
}

// enquiryAsk is what a customer asks for.
type enquiryAsk struct {
	Lines []enquiryLine `json:"lines" api:"items=1-20"`
	From  string        `json:"from,omitempty"` // a date or a moment from which it can be begun; now if left out
}

// promiseView is which dates to say to a customer, and what the promise would do to the
// batches that are there.
type promiseView struct {
	whatIfView
	Lines []newBatchView `json:"lines"` // in the order in which they were asked
	All   datesView      `json:"all"`   // all of it is delivered
	From  *time.Time     `json:"from"`
}

// postPromise says which dates to say. Nothing is put on the floor.
func (s *Ahead) postPromise(c *fiber.Ctx) error {
	var in enquiryAsk
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	if len(in.Lines) == 0 {
		return traveler.Invalid("lines", "form.missing")
	}
	from, err := s.begins(in.From)
	if err != nil {
		return err
	}
	add, err := s.enquiry("lines", in.Lines, from)
	if err != nil {
		return err
	}
	before, after, err := s.workOut(c, &core.Scenario{Add: add})
	if err != nil {
		return err
	}
	v := promiseView{whatIfView: s.compared(before, after), Lines: []newBatchView{}, From: moment(from)}
	for i := range add {
		b := after.Batch(add[i].Card)
		if b == nil {
			return traveler.Fail(traveler.KindInternal, "web.internal")
		}
		x := s.newOf(b)
		if add[i].Due.IsZero() {
			x.Due, x.OnTime = "", nil // the date that it was put in line by is nobody's wish
		}
		v.Lines = append(v.Lines, x)
	}
	if v.All = datesOf(after.Added); v.All.P50 == nil {
		v.All = allOf(v.Lines)
	}
	return c.JSON(v)
}

// allOf is when the last of several lines comes, where the forecast does not say: each
// date is the latest of theirs.
func allOf(lines []newBatchView) (all datesView) {
	for i := range lines {
		all.P50 = latest(all.P50, lines[i].P50)
		all.P85 = latest(all.P85, lines[i].P85)
		all.P95 = latest(all.P95, lines[i].P95)
	}
	return all
}

func latest(a, b *time.Time) *time.Time {
	if a == nil || b != nil && b.After(*a) {
		return b
	}
	return a
}
