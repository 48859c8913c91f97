package floor

import (
	"cmp"
	"encoding/json"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/board"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// shopView is what the shop is made of.
type shopView struct {
	Machines []traveler.Machine `json:"machines"`
	Reasons  []reasonView       `json:"reasons"`
	Parts    []traveler.Route   `json:"parts"`
	Seq      traveler.Seq       `json:"seq"` // of the record
}

// reasonView is a reason of the shop's, with its code on an action sheet.
type reasonView struct {
	traveler.Reason
	Sheet traveler.Code `json:"sheet"`
}

// getShop says what the shop is made of.
func (s *room) getShop(c *fiber.Ctx) error {
	shop, now := s.Desk.Shop(), s.Time()
	reasons := []reasonView{}
	for _, kind := range traveler.ReasonKinds {
		for _, r := range shop.Reasons(kind, now) {
			reasons = append(reasons, reasonView{r, traveler.ReasonCode(r.Kind, r.Code)})
		}
	}
	parts := shop.Routes()
	if parts == nil {
		parts = []traveler.Route{}
	}
	seq, _ := s.Desk.Head()
	return c.JSON(shopView{ask.Some(shop.Machines(now)), reasons, parts, seq})
}

// getClock gives the server's time, for devices to measure their own clock by.
func (s *room) getClock(c *fiber.Ctx) error {
	out := clockView{Now: s.Time()}
	if d := s.Desk.ClockDoubt(); d != nil {
		out.Doubt = d.Msg().Text(ask.Language(c))
	}
	return c.JSON(out)
}

// clockView is the server's clock, and why it can't be believed.
type clockView struct {
	Now time.Time `json:"now"`
	// Why the clock can't be believed, and what to do; empty when it can. Meanwhile
	// nothing is recorded, and scans are answered 503.
	Doubt string `json:"doubt"`
}

// clockRight says that the server's clock is right.
type clockRight struct {
	Right bool `json:"right"`
}

// postClock believes the server's clock as it stands, because an administrator
// says that it is right.
func (s *room) postClock(c *fiber.Ctx) error {
	var in clockRight
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	if !in.Right {
		return traveler.Invalid("right", "form.missing")
	}
	s.LogOf(c).Warn("the server's clock was said to be right", "now", s.Time())
	s.Desk.TrustClock()
	return s.getClock(c)
}

// stationView is what is at a machine, and what waits for it.
type stationView struct {
	Machine    traveler.MachineID  `json:"machine"`
	Name       string              `json:"name"`
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	Kind       string              `json:"kind"`
	Here       json.RawMessage     `json:"here" api:"array"` // each as what a scan of its card could mean
	Waiting    []board.Row         `json:"waiting"`
	Earlier    []earlier           `json:"earlier"`
	// The end of the first shift that ends after now: those who are there go home then.
	ShiftEnds *time.Time `json:"shift_ends,omitempty"`
}

// getStation says what is at a machine and what waits for it.
func (s *room) getStation(c *fiber.Ctx) error {
	shop, now := s.Desk.Shop(), s.Time()
	id, ok := shop.FindMachine(ask.PathParam(c, "machine"))
	if !ok {
		return traveler.Fail(traveler.KindNotFound, "station.unknown", ask.PathParam(c, "machine"))
	}
	m, _ := shop.Machine(id, now)
	s.Heard(c, id)
	here, role, comes := []any{}, s.roleAt(c), s.arrives(id)
	s.Desk.Open(func(f *story.Family) bool {
		seen := map[int]bool{}
		for j := range f.Visits {
			v := &f.Visits[j]
			if v.Machine == id && v.Open() && !seen[v.Batch] && f.Batches[v.Batch].Cancelled.IsZero() {
				seen[v.Batch] = true
				here = append(here, s.Station(shop, f, v.Batch, id, role, comes, ask.Language(c), now))
			}
		}
		return true
	})
	plain, err := s.Faces(c).Plain(here)
	if err != nil {
		return err
	}
	v := stationView{
		Machine: m.ID, Name: m.Name, WorkCentre: m.WorkCentre, Kind: m.Kind, Here: plain,
		Waiting: s.Waiting(m.WorkCentre), Earlier: earlierAt(shop, id, now),
	}
	if at, ok := shop.Hours(id, now).NextEnd(now); ok {
		v.ShiftEnds = &at
	}
	return c.JSON(v)
}

// earlier is a moment at which something may have happened that is only said
// now: at the last break, or at the end of the last shift.
type earlier struct {
	Kind string    `json:"kind" api:"enum=break|end"`
	At   time.Time `json:"at"`
}

// earlierAt gives the moments that people at a machine remember by; none where
// it keeps no calendar.
func earlierAt(shop *traveler.Shop, id traveler.MachineID, now time.Time) []earlier {
	out, hours := []earlier{}, shop.Hours(id, now)
	if at, ok := hours.LastBreak(now); ok {
		out = append(out, earlier{"break", at})
	}
	if at, ok := hours.LastEnd(now); ok {
		out = append(out, earlier{"end", at})
	}
	return out
}

// getStationCard says what a scan of a card at a machine could mean.
func (s *room) getStationCard(c *fiber.Ctx) error {
	shop := s.Desk.Shop()
	id, ok := shop.FindMachine(ask.PathParam(c, "machine"))
	if !ok {
		return traveler.Fail(traveler.KindNotFound, "station.unknown", ask.PathParam(c, "machine"))
	}
	f, i, err := s.FamilyOf(c.Query("ref"))
	if err != nil {
		return err
	}
	faces := s.Faces(c)
	view, err := faces.Plain(s.Station(shop, f, i, id, s.roleAt(c), s.arrives(id), ask.Language(c), s.Time()))
	if err != nil {
		return err
	}
	known, err := faces.Plain(s.Known(shop, f, i, s.Time()))
	if err != nil {
		return err
	}
	return c.JSON(withKnown(view, known))
}

// roleAt is the role of the one who stands at the station: of the badge that the
// page names, as it would count for a scan. Without a badge that is known it is
// an operator's.
func (s *room) roleAt(c *fiber.Ctx) traveler.Role {
	return cmp.Or(s.Actor(door.Who(c), traveler.PersonID(c.Query("operator"))).Role, traveler.RoleOperator)
}
