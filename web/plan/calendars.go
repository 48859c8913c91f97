package plan

import (
	"errors"
	"reflect"
	"slices"
	"strings"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
	"tallywalk/web/ask"
)

// calendarView is a calendar, which machines keep it, and what it comes to.
type calendarView struct {
	calendar.Calendar
	Since    *time.Time           `json:"since,omitempty"` // it holds as written since then
	Ahead    []calendarAhead      `json:"ahead"`           // versions that hold later
	Machines []traveler.MachineID `json:"machines"`
	Days     []dayView            `json:"days"`
	Fault    *faultView           `json:"fault,omitempty"` // of a dry run: why it makes no sense
}

// calendarAhead is a calendar as it holds from a later moment on.
type calendarAhead struct {
	From time.Time `json:"from"`
	calendar.Calendar
}

// faultView is the first thing of a calendar that makes no sense.
type faultView struct {
	Turn  int    `json:"turn"` // index of its line; -1 = the calendar itself
	Field string `json:"field"`
	Text  string `json:"text"`
}

// keeperView is which calendar a machine keeps, and from when another.
type keeperView struct {
	Machine    traveler.MachineID  `json:"machine"`
	Name       string              `json:"name"`
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	keeping
	Ahead []keepingAhead `json:"ahead"`
}

type keeping struct {
	Calendar   string `json:"calendar"` // empty = always open
	Unattended bool   `json:"unattended"`
}

type keepingAhead struct {
	From time.Time `json:"from"`
	keeping
}

// dayView is the open time of a date.
type dayView struct {
	Date  string     `json:"date"`
	Open  float64    `json:"open_s"`
	Spans [][2]int64 `json:"spans"` // Unix seconds
}

const daysShown = 28

// calendarsView is all calendars, and who keeps to them.
type calendarsView struct {
	Calendars []calendarView       `json:"calendars"`
	Machines  []keeperView         `json:"machines"`
	Always    []traveler.MachineID `json:"always_open"`
	Zone      string               `json:"zone"`
	Today     string               `json:"today"`
}

// getCalendars lists the calendars with their next days.
func (s *room) getCalendars(c *fiber.Ctx) error {
	shop, now := s.Desk.Shop(), s.Time()
	from := now
	if v := c.Query("from"); v != "" {
		t, err := time.ParseInLocation(time.DateOnly, v, s.Zone)
		if err != nil {
			return traveler.Invalid("from", "web.date", v)
		}
		from = t
	}
	out := []calendarView{}
	for _, k := range shop.Calendars(now) {
		out = append(out, s.calendarView(shop, k, from, now))
	}
	always, keepers := []traveler.MachineID{}, []keeperView{}
	for _, m := range shop.Machines(now) {
		if shop.Hours(m.ID, now) == nil {
			always = append(always, m.ID)
		}
		keepers = append(keepers, keeperOf(shop, &m, now))
	}
	return c.JSON(
		calendarsView{out, keepers, always, ask.ZoneName(s.Zone), now.In(s.Zone).Format(time.DateOnly)},
	)
}

func (s *room) calendarView(shop *traveler.Shop, k calendar.Calendar, from, now time.Time) calendarView {
	v := calendarView{Calendar: k, Machines: []traveler.MachineID{}, Ahead: []calendarAhead{}}
	for _, m := range shop.Machines(now) {
		if m.Calendar == k.Name {
			v.Machines = append(v.Machines, m.ID)
		}
	}
	for _, t := range shop.CalendarDates(k.Name) {
		if t.After(now) {
			v.Ahead = append(v.Ahead, calendarAhead{t, calendarAt(shop, k.Name, t)})
		} else {
			v.Since = &t
		}
	}
	v.Days = daysOf(func(t time.Time) calendar.Calendar { return calendarAt(shop, k.Name, t) }, from, s.Zone)
	return v
}

// calendarAt is a calendar as it held at t.
func calendarAt(shop *traveler.Shop, name string, t time.Time) calendar.Calendar {
	for _, k := range shop.Calendars(t) {
		if k.Name == name {
			return k
		}
	}
	return calendar.Calendar{}
}

func keeperOf(shop *traveler.Shop, m *traveler.Machine, now time.Time) keeperView {
	v := keeperView{
		Machine: m.ID, Name: m.Name, WorkCentre: m.WorkCentre, keeping: keeping{m.Calendar, m.Unattended},
		Ahead: []keepingAhead{},
	}
	was := v.keeping
	for _, t := range shop.MachineDates(m.ID) {
		then, _ := shop.Machine(m.ID, t)
		if k := (keeping{then.Calendar, then.Unattended}); t.After(now) && k != was {
			v.Ahead, was = append(v.Ahead, keepingAhead{t, k}), k
		}
	}
	return v
}

// daysOf lists the open time of the days from a moment's date on, in the
// calendar's own zone, each by the calendar that holds when it begins.
func daysOf(of func(time.Time) calendar.Calendar, from time.Time, zone *time.Location) []dayView {
	out := make([]dayView, daysShown)
	var k calendar.Calendar
	var h *calendar.Hours
	if name := of(from).Zone; name != "" {
		if own, err := time.LoadLocation(name); err == nil {
			zone = own
		}
	}
	y, m, d := from.In(zone).Date()
	for i := range out {
		a, b := time.Date(y, m, d+i, 0, 0, 0, 0, zone), time.Date(y, m, d+i+1, 0, 0, 0, 0, zone)
		if now := of(a); h == nil || !reflect.DeepEqual(now, k) {
			var err error
			if k = now; k.Name == "" {
				return out[:i]
			}
			if h, err = calendar.New(k); err != nil {
				return out[:i]
			}
		}
		v := dayView{Date: a.Format(time.DateOnly), Open: h.Open(a, b).Seconds(), Spans: [][2]int64{}}
		for _, x := range h.Spans(a, b) {
			v.Spans = append(v.Spans, [2]int64{x.From.Unix(), x.To.Unix()})
		}
		out[i] = v
	}
	return out
}

// newCalendar is a calendar to keep, and the machines that are to keep to it.
type newCalendar struct {
	calendar.Calendar
	Zone     string               `json:"zone,omitempty"` // the shop's when it is missing
	From     string               `json:"from,omitempty"` // a date; from now on when empty
	Machines []traveler.MachineID `json:"machines,omitempty"`
	Dry      bool                 `json:"dry,omitempty"` // only say what it comes to
}

// postCalendar keeps a calendar from a date on.
func (s *room) postCalendar(c *fiber.Ctx) error {
	var in newCalendar
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	if in.Zone == "" {
		in.Zone = ask.ZoneName(s.Zone)
	}
	if in.Zone == "" {
		return traveler.Invalid("zone", "calendar.zone")
	}
	in.Calendar.Zone = in.Zone
	if in.Name = strings.TrimSpace(in.Name); in.Name == "" {
		return traveler.Invalid("calendar", "form.missing")
	}
	from, err := s.HoldsFrom(in.From)
	if err != nil {
		return err
	}
	if _, err = calendar.New(in.Calendar); err == nil {
		err = calendar.Zoned(in.Zone)
	}
	if in.Dry {
		return c.JSON(s.dryRun(in.Calendar, from, err))
	}
	if err != nil {
		return calendarFault(err)
	}
	shop := s.Desk.Shop()
	if back, ok := s.alreadyPast(shop, &in); ok && in.From == "" {
		// Said afterwards, it holds from then, so that what was cut is worked out again.
		then := &traveler.Change{From: back, Calendars: []calendar.Calendar{in.Calendar}}
		if err := s.Change(c, then); err != nil {
			return err
		}
	}
	ch := &traveler.Change{From: from, Calendars: []calendar.Calendar{in.Calendar}}
	for _, id := range in.Machines {
		m, ok := shop.Machine(id, from)
		if !ok {
			return traveler.Invalid("machines", "place.unknown", string(id))
		}
		m.Calendar = in.Name
		ch.Machines = append(ch.Machines, m)
	}
	if err := s.Change(c, ch); err != nil {
		return err
	}
	return s.getCalendars(c)
}

// alreadyPast is the beginning of the first day, over or begun, for which a day
// off or overtime is new; ok is false when something else is new as well.
func (s *room) alreadyPast(shop *traveler.Shop, in *newCalendar) (day time.Time, ok bool) {
	now := s.Time()
	old := slices.IndexFunc(shop.Calendars(now), func(k calendar.Calendar) bool { return k.Name == in.Name })
	if old < 0 {
		return day, false
	}
	was := shop.Calendars(now)[old].Turns
	for _, pair := range [][2][]calendar.Turn{{in.Turns, was}, {was, in.Turns}} {
		for _, t := range pair[0] {
			if slices.Contains(pair[1], t) {
				continue
			}
			d, err := time.ParseInLocation(time.DateOnly, t.Date, s.Zone)
			if err != nil {
				return day, false // a shift or a break
			}
			if d.Before(now) && (!ok || d.Before(day)) {
				day, ok = d.UTC(), true
			}
		}
	}
	return day, ok
}

// dryRun is what a calendar would come to from a date on, or why it makes no
// sense.
func (s *room) dryRun(k calendar.Calendar, from time.Time, err error) calendarView {
	v := calendarView{Calendar: k, Ahead: []calendarAhead{}, Machines: []traveler.MachineID{},
		Days: []dayView{}}
	var f *calendar.Fault
	switch {
	case errors.As(err, &f):
		whole := *f
		whole.Turn = -1 // the page shows it at its line
		v.Fault = &faultView{f.Turn, f.Field, whole.Error()}
	case err == nil:
		v.Days = daysOf(func(time.Time) calendar.Calendar { return k }, from, s.Zone)
	}
	return v
}

// calendarFault says which line of a calendar makes no sense.
func calendarFault(err error) error {
	var f *calendar.Fault
	if !errors.As(err, &f) {
		return err
	}
	field := "turns"
	if f.Turn < 0 {
		field = f.Field
	}
	return &traveler.Error{
		Kind: traveler.KindInvalid, Field: field,
		Say: traveler.Msg{Key: "calendar.fault", Args: []string{f.Error()}}, Err: err,
	}
}

// changedMachine is what can be changed of a machine on the page.
type changedMachine struct {
	Machine    traveler.MachineID `json:"machine"`
	Calendar   *string            `json:"calendar,omitempty"` // empty = always open
	Unattended *bool              `json:"unattended,omitempty"`
	Rate       *float64           `json:"rate_per_hour,omitempty" api:"min=0,max=1000000000"`
	From       string             `json:"from,omitempty"`
}

// mostRate is the most that an hour of a machine can cost, in any currency; the
// same as in a list of machines.
const mostRate = 1e9

// calendarThere refuses a calendar that nobody has written: a machine that keeps
// to none is always open, and nobody would see the slip.
func (s *room) calendarThere(name string, at time.Time) error {
	if name == "" {
		return nil
	}
	var names []string
	for _, k := range s.Desk.Shop().Calendars(at) {
		if k.Name == name {
			return nil
		}
		names = append(names, k.Name)
	}
	if names == nil {
		return traveler.Invalid("calendar", "calendar.none", name)
	}
	return traveler.Invalid("calendar", "calendar.unknown", name, strings.Join(names, ", "))
}

// postMachine changes a machine's calendar, whether it runs unattended, or its
// rate, from a date on.
func (s *room) postMachine(c *fiber.Ctx) error {
	var in changedMachine
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	from, err := s.HoldsFrom(in.From)
	if err != nil {
		return err
	}
	m, ok := s.Desk.Shop().Machine(in.Machine, from)
	if !ok {
		return traveler.Invalid("machine", "place.unknown", string(in.Machine))
	}
	if in.Calendar != nil {
		if err := s.calendarThere(*in.Calendar, from); err != nil {
			return err
		}
		m.Calendar = *in.Calendar
	}
	if in.Unattended != nil {
		m.Unattended = *in.Unattended
	}
	if in.Rate != nil {
		if !(*in.Rate >= 0 && *in.Rate <= mostRate) {
			return traveler.Invalid("rate_per_hour", "form.number")
		}
		m.RatePerHour = *in.Rate
	}
	if err := s.Change(c, &traveler.Change{From: from, Machines: []traveler.Machine{m}}); err != nil {
		return err
	}
	return c.JSON(m)
}
