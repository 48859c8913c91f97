package figures

import (
	"strings"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
)

// selection is which batches a page of history is about; it comes from the
// address of the page.
type selection struct {
	Part     string `json:"part,omitempty"`
	RouteRev string `json:"route_rev,omitempty"`
	Customer string `json:"customer,omitempty"`
	Order    string `json:"works_order,omitempty"`
	FromDate string `json:"from"` // dates of the end of the batches
	ToDate   string `json:"to"`

	from, to time.Time
}

const daysSelected = 365

// selected reads a selection: the last year, when no period is named.
func (s *room) selected(c *fiber.Ctx) (selection, error) {
	sel := selection{
		Part: c.Query("part"), RouteRev: c.Query("route_rev"), Customer: c.Query("customer"),
		Order: c.Query("works_order"), FromDate: c.Query("from"), ToDate: c.Query("to"),
	}
	today := s.Time().In(s.Zone)
	if sel.ToDate == "" {
		sel.ToDate = today.Format(time.DateOnly)
	}
	var err error
	if sel.to, err = s.Midnight("to", sel.ToDate, 1); err != nil {
		return sel, err
	}
	if sel.FromDate == "" {
		sel.FromDate = sel.to.In(s.Zone).AddDate(0, 0, -daysSelected-1).Format(time.DateOnly)
	}
	if sel.from, err = s.Midnight("from", sel.FromDate, 0); err != nil {
		return sel, err
	}
	if !sel.from.Before(sel.to) {
		return sel, traveler.Invalid("from", "select.period", sel.FromDate, sel.ToDate)
	}
	return sel, nil
}

// fits reports whether a batch is wanted, its end apart.
func (sel *selection) fits(b *story.BatchFact) bool {
	return (sel.RouteRev == "" || b.Rev == sel.RouteRev) &&
		(sel.Customer == "" || strings.EqualFold(b.Customer, sel.Customer)) &&
		(sel.Order == "" || strings.EqualFold(b.Order, sel.Order))
}

// reaches reports whether the period goes on up to now.
func (sel *selection) reaches(now time.Time) bool { return measure.GoesOn(sel.to, now) }

// reading says how the batches of a selection are read.
type reading struct {
	later   bool            // those that ended after it, or have not ended, as well
	without story.FactParts // is left out of them
	lent    bool            // take keeps nothing of their lists
}

// eachFact hands on the batches of a selection, those on the floor too if it
// reaches up to now, for as long as who asks is there; c may be nil.
func (s *room) eachFact(c *fiber.Ctx, sel *selection, how reading, take func(*story.BatchFact)) error {
	q := story.FactQuery{
		Part: sel.Part, From: sel.from, To: sel.to, Open: how.later || sel.reaches(s.Time()),
		Without: how.without,
		Lent:    how.lent,
	}
	if how.later {
		q.To = time.Time{}
	}
	who := askerOf(c)
	return who.err(s.Desk.Facts(q, func(b *story.BatchFact) bool {
		if sel.fits(b) {
			take(b)
		}
		return who.stays()
	}))
}
