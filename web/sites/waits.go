package sites

import (
	"slices"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/board"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
)

// sitesView is what there is now.
type sitesView struct {
	Sites []siteNow  `json:"sites"`
	All   siteCounts `json:"all"` // sums over the sites
}

// siteNow is one site now.
type siteNow struct {
	siteView
	Now siteCounts `json:"now"`
}

// siteCounts is what waits and what is at work, in batches.
type siteCounts struct {
	board.Totals
	Oldest *time.Time `json:"oldest"` // since when the longest waiting batch waits; null = none waits
}

// getSites answers what there is at each site and in all.
func (s *room) getSites(c *fiber.Ctx) error {
	v := sitesView{Sites: []siteNow{}}
	for i := range s.Sites {
		site, err := s.siteOf(c, &s.Sites[i])
		if err != nil {
			return err
		}
		now := nowOf(s.rows(&s.Sites[i]))
		v.Sites = append(v.Sites, siteNow{site, now})
		v.All.add(&now)
	}
	return c.JSON(v)
}

// rows are those of a site's waits board, the most urgent first.
func (s *room) rows(site *ask.Site) (out []board.Row) {
	house := s.Of(site)
	now, shop := house.Time().In(house.Zone), site.Desk.Shop()
	today := now.Format(time.DateOnly)
	site.Desk.Open(func(f *story.Family) bool {
		out = append(out, board.Rows(shop, f, today, now)...)
		return true
	})
	board.Sort(out)
	return out
}

func nowOf(rows []board.Row) siteCounts {
	v := siteCounts{Totals: board.Total(rows)}
	for i := range rows {
		if r := &rows[i]; r.Kind == "wait" {
			v.older(ask.Moment(r.Since))
		}
	}
	return v
}

// older takes in since when something waits.
func (v *siteCounts) older(since *time.Time) {
	if since != nil && (v.Oldest == nil || since.Before(*v.Oldest)) {
		v.Oldest = since
	}
}

func (v *siteCounts) add(x *siteCounts) {
	v.Waits += x.Waits
	v.Late += x.Late
	v.Held += x.Held
	v.Works += x.Works
	v.Away += x.Away
	v.older(x.Oldest)
}

// siteWaitsView is what waits at one site.
type siteWaitsView struct {
	Site siteView   `json:"site"`
	Zone string     `json:"zone"` // the site's; empty = of the computer
	Now  siteCounts `json:"now"`
	Rows []siteWait `json:"rows"` // the most urgent first
}

// siteWait is one batch that waits at one operation.
type siteWait struct {
	Card       traveler.Code       `json:"card"`
	WorksOrder string              `json:"works_order,omitempty"`
	Part       string              `json:"part"`
	PartName   string              `json:"part_name,omitempty"`
	Operation  traveler.Op         `json:"operation"`
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	Machine    traveler.MachineID  `json:"machine,omitempty"` // before which it waits; empty = whichever of the work centre is free
	State      string              `json:"state" api:"enum=waiting|rework|review|held"`
	Pieces     int                 `json:"pieces"`
	Since      *time.Time          `json:"since"`
	Due        string              `json:"due,omitempty"` // a date
	Late       bool                `json:"late"`          // the due date has passed
}

// getWaits answers what waits at one site.
func (s *room) getWaits(c *fiber.Ctx) error {
	site, err := s.site(c.Query("site"))
	if err != nil {
		return err
	}
	rows := s.rows(site)
	v := siteWaitsView{Zone: ask.ZoneName(site.Zone()), Now: nowOf(rows), Rows: []siteWait{}}
	if v.Site, err = s.siteOf(c, site); err != nil {
		return err
	}
	for _, r := range slices.DeleteFunc(rows, func(r board.Row) bool { return r.Kind != "wait" }) {
		v.Rows = append(v.Rows, siteWait{
			Card: r.Card, WorksOrder: r.WorksOrder, Part: r.Part, PartName: r.PartName,
			Operation:  r.Operation,
			WorkCentre: r.WorkCentre, Machine: r.Machine, State: r.State, Pieces: r.Pieces,
			Since: ask.Moment(r.Since), Due: r.Due,
			Late: r.Late,
		})
	}
	return c.JSON(v)
}
