// Package sites shows the records of several sites beside each other and together: what
// waits, what was, and routes of one part.
//
// # Decisions, with their reasons
//
//   - A figure of all sites is made of the batches of all, never the mean of the sites'
//     figures, and says how many batches of which sites it rests on.
//   - Order lines are counted site by site and added: two sites may use one order number.
//   - Dates are read in each site's own zone, so that its figures are those of its own server.
//   - There is no money: sites may reckon in different currencies, and rates are theirs.
//   - A site that cannot be reached keeps its place, with what was read of it and as of when.
package sites

import (
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/study"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// Config is what the room is given by others.
type Config struct {
	Sites []ask.Site // none = this server has a shop of its own
	// Compare lays the routes of a part at all sites beside each other.
	Compare func(part string, size int) (*study.BySite, error)
}

type room struct {
	*door.Door
	Config
}

// Routes are the ways to what is known of sites.
func Routes(d *door.Door, cfg Config) []ask.Route {
	s := &room{d, cfg}
	return []ask.Route{
		{
			Method: "GET", Path: "/api/v1/sites", Deed: traveler.DeedLook, Handle: s.only(s.getSites),
			Does:   "the sites of a group: how far their records were read, what waits at each and in all",
			Answer: sitesView{},
		},
		{
			Method: "GET", Path: "/api/v1/sites/waits", Deed: traveler.DeedLook, Handle: s.only(s.getWaits),
			Does:   "what waits at one site, the most urgent first",
			Params: []ask.Param{ask.Text("site", "its name").Must()},
			Answer: siteWaitsView{},
		},
		{
			Method: "GET", Path: "/api/v1/sites/history", Deed: traveler.DeedLook,
			Handle: s.only(s.getHistory),
			Does:   "what a period came to at each site and in all",
			Params: []ask.Param{
				ask.Text("from", "first date of the end of the batches; a year ago, if left out"),
				ask.Text("to", "last date; today, if left out"),
			},
			Answer: sitesHistoryView{},
		},
		{
			Method: "GET", Path: "/api/v1/sites/parts", Deed: traveler.DeedLook, Handle: s.only(s.getParts),
			Does:   "the parts that sites have routes of",
			Answer: sitePartsView{},
		},
		{
			Method: "GET", Path: "/api/v1/sites/compare", Deed: traveler.DeedLook,
			Handle: s.only(s.getCompare),
			Does:   "the routes of one part at all sites, side by side",
			Params: []ask.Param{
				ask.Text("part", "part number").Must(),
				ask.Whole("size", "pieces started in a batch; as many as are usual, if left out"),
			},
			Answer: study.BySite{},
		},
	}
}

// only refuses with KindNotFound where this server has no sites.
func (s *room) only(h fiber.Handler) fiber.Handler {
	return func(c *fiber.Ctx) error {
		if len(s.Sites) == 0 {
			return traveler.Fail(traveler.KindNotFound, "sites.none")
		}
		return h(c)
	}
}

// siteView is a site, and how far its record was read.
type siteView struct {
	Name    string     `json:"name"`
	Seq     uint64     `json:"seq"`     // the end of its record as it is shown
	Newest  *time.Time `json:"newest"`  // when the newest entry came; null = there is none
	Reached bool       `json:"reached"` // the site's engines answer
	AsOf    *time.Time `json:"as_of"`   // when the record was last known to end there; null = not since the start
	Heard   *time.Time `json:"heard"`   // when a server of the site was heard last
	Servers int        `json:"servers"` // of the site that are heard now
	Behind  uint64     `json:"behind"`  // messages of the record that are not shown yet
	Wrong   []string   `json:"wrong"`   // what is wrong, with what to do
}

func (s *room) siteOf(c *fiber.Ctx, site *ask.Site) (siteView, error) {
	state := site.State()
	seq, _ := site.Desk.Head()
	v := siteView{
		Name: site.Name, Seq: uint64(seq), Reached: state.Reached, AsOf: ask.Moment(state.AsOf),
		Heard:   ask.Moment(state.Heard),
		Servers: state.Servers, Behind: state.Behind, Wrong: []string{},
	}
	for _, m := range state.Wrong {
		v.Wrong = append(v.Wrong, m.Text(ask.Language(c)))
	}
	if seq == 0 {
		return v, nil
	}
	return v, site.Desk.Entries(seq, func(e *traveler.Entry) bool {
		v.Newest = ask.Moment(e.Arrived)
		return true
	})
}

// site finds one by its name. It fails with KindNotFound.
func (s *room) site(name string) (*ask.Site, error) {
	for i := range s.Sites {
		if s.Sites[i].Name == name {
			return &s.Sites[i], nil
		}
	}
	return nil, traveler.Fail(traveler.KindNotFound, "sites.unknown", name)
}
