package web

import (
	"errors"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
)

// calendarView is a calendar, which machines keep it, and what it comes to.
type calendarView struct {
	calendar.Calendar
	Machines []traveler.MachineID `json:"machines"`
	Days     []dayView            `json:"days"`
}

// dayView is the open time of a date.
type dayView struct {
	Date  string     `json:"date"`
	Open  float64    `json:"open_s"`
	Spans [][2]int64 `json:"spans"` // Unix seconds
}

const daysShown = 28

// getCalendars lists the calendars with their next days.
func (s *Server) getCalendars(c *fiber.Ctx) error {
	shop, now := s.cfg.Desk.Shop(), s.now()
	from := now
	if v := c.Query("from"); v != "" {
		t, err := time.ParseInLocation(time.DateOnly, v, s.cfg.Zone)
		if err != nil {
			return traveler.Invalid("from", "web.date", v)
		}
		from = t
	}
	out := []calendarView{}
	for _, k := range shop.Calendars(now) {
		v := calendarView{Calendar: k, Machines: []traveler.MachineID{}}
		for _, m := range shop.Machines(now) {
			if m.Calendar == k.Name {
				v.Machines = append(v.Machines, m.ID)
			}
		}
		v.Days = daysOf(k, from, s.cfg.Zone)
		out = append(out, v)
	}
	always := []traveler.MachineID{}
	for _, m := range shop.Machines(now) {
		if shop.Hours(m.ID, now) == nil {
			always = append(always, m.ID)
		}
	}
	return c.JSON(fiber.Map{"calendars": out, "always_open": always, "zone": zoneName(s.cfg.Zone)})
}

// daysOf lists the open time of the days from a moment's date on.
func daysOf(k calendar.Calendar, from time.Time, zone *time.Location) []dayView {
	h, err := calendar.New(k)
	if err != nil {
		return []dayView{}
	}
	out := make([]dayView, daysShown)
	y, m, d := from.In(zone).Date()
	for i := range out {
		a, b := time.Date(y, m, d+i, 0, 0, 0, 0, zone), time.Date(y, m, d+i+1, 0, 0, 0, 0, zone)
		v := dayView{Date: a.Format(time.DateOnly), Open: h.Open(a, b).Seconds(), Spans: [][2]int64{}}
		for _, x := range h.Spans(a, b) {
			v.Spans = append(v.Spans, [2]int64{x.From.Unix(), x.To.Unix()})
		}
		out[i] = v
	}
	return out
}

// calendarBody is a calendar to keep, and the machines that are to keep to it.
type calendarBody struct {
	calendar.Calendar
	From     string               `json:"from,omitempty"` // a date; from now on when empty
	Machines []traveler.MachineID `json:"machines,omitempty"`
	Dry      bool                 `json:"dry,omitempty"` // only say what it comes to
}

// postCalendar keeps a calendar from a date on.
func (s *Server) postCalendar(c *fiber.Ctx) error {
	var in calendarBody
	if err := decode(c, &in); err != nil {
		return err
	}
	if in.Zone == "" {
		in.Zone = zoneName(s.cfg.Zone)
	}
	if in.Zone == "" {
		return traveler.Invalid("zone", "calendar.zone")
	}
	if in.Name == "" {
		return traveler.Invalid("calendar", "form.missing")
	}
	if _, err := calendar.New(in.Calendar); err != nil {
		return calendarFault(err)
	}
	if in.Dry {
		return c.JSON(calendarView{Calendar: in.Calendar, Machines: []traveler.MachineID{}, Days: daysOf(in.Calendar, s.now(), s.cfg.Zone)})
	}
	from, err := s.holdsFrom(in.From)
	if err != nil {
		return err
	}
	ch := &traveler.Change{From: from, Calendars: []calendar.Calendar{in.Calendar}}
	shop := s.cfg.Desk.Shop()
	for _, id := range in.Machines {
		m, ok := shop.Machine(id, from)
		if !ok {
			return traveler.Invalid("machines", "place.unknown", string(id))
		}
		m.Calendar = in.Name
		ch.Machines = append(ch.Machines, m)
	}
	if err := s.change(c, ch); err != nil {
		return err
	}
	return s.getCalendars(c)
}

// calendarFault tells a person which line of a calendar makes no sense.
func calendarFault(err error) error {
	var f *calendar.Fault
	if !errors.As(err, &f) {
		return err
	}
	field := "turns"
	if f.Turn < 0 {
		field = f.Field
	}
	return &traveler.Error{Kind: traveler.KindInvalid, Field: field, Say: traveler.Msg{Key: "calendar.fault", Args: []string{f.Error()}}, Err: err}
}

// machineBody is what can be changed of a machine on the page.
type machineBody struct {
	Machine    traveler.MachineID `json:"machine"`
	Calendar   *string            `json:"calendar,omitempty"` // empty = always open
	Unattended *bool              `json:"unattended,omitempty"`
	Rate       *float64           `json:"rate_per_hour,omitempty"`
	From       string             `json:"from,omitempty"`
}

// postMachine changes a machine's calendar, whether it runs unattended, or its
// rate, from a date on.
func (s *Server) postMachine(c *fiber.Ctx) error {
	var in machineBody
	if err := decode(c, &in); err != nil {
		return err
	}
	from, err := s.holdsFrom(in.From)
	if err != nil {
		return err
	}
	m, ok := s.cfg.Desk.Shop().Machine(in.Machine, from)
	if !ok {
		return traveler.Invalid("machine", "place.unknown", string(in.Machine))
	}
	if in.Calendar != nil {
		m.Calendar = *in.Calendar
	}
	if in.Unattended != nil {
		m.Unattended = *in.Unattended
	}
	if in.Rate != nil {
		if *in.Rate < 0 {
			return traveler.Invalid("rate_per_hour", "form.number")
		}
		m.RatePerHour = *in.Rate
	}
	if err := s.change(c, &traveler.Change{From: from, Machines: []traveler.Machine{m}}); err != nil {
		return err
	}
	return c.JSON(m)
}
