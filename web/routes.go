package web

import (
	"slices"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/web/ask"
	"tallywalk/web/compare"
	"tallywalk/web/figures"
	"tallywalk/web/floor"
	"tallywalk/web/health"
	"tallywalk/web/morning"
	"tallywalk/web/plan"
	"tallywalk/web/sites"
)

// Routes are all ways into the API, room by room.
func (s *Server) Routes() []ask.Route {
	return slices.Concat(
		[]ask.Route{
			{Method: "GET", Path: "/healthz", Handle: getHealth, Does: "the program runs",
				Answer: healthView{}},
			{
				Method: "GET", Path: "/readyz", Handle: s.getReady,
				Does:   "scans are taken: the record is open and the disk takes more",
				Answer: readyView{}, Example: ask.Example{At: "/readyz"},
			},
			{
				Method: "GET", Path: "/api/v1/openapi.json", Handle: getOpenAPI, Does: "this description",
				Answer: map[string]any{},
			},
		},
		s.trustRoutes(),
		s.Door.Routes(),
		s.live.Routes(),
		floor.Routes(
			s.Door,
			floor.Config{
				Station: s.cfg.Station, Known: s.cfg.Known, Refusals: s.cfg.Refusals,
				Waiting: s.live.WaitingAt, Print: s.cfg.Print, PrintSheet: s.cfg.PrintSheet,
				PrintBook: s.cfg.PrintBook, PrintLabels: s.cfg.PrintLabels, Fingerprint: s.fingerprint,
			},
		),
		plan.Routes(s.Door),
		figures.Routes(s.Door, figures.Config{Ahead: s.cfg.Ahead}),
		morning.Routes(s.Door, morning.Config{Ahead: s.cfg.Ahead}),
		s.ahead.Routes(),
		health.Routes(s.Door, health.Config{
			Keeper: s.cfg.Keeper, Disk: s.cfg.Disk, Measured: s.measured, Sockets: s.live.Sockets,
			Since: s.since,
			Room:  func() error { return s.room.left(s.cfg.Room, s.cfg.Real()) },
		}),
		s.printers.Routes(),
		compare.Routes(s.Door, compare.Config{Print: s.cfg.PrintComparison}),
		sites.Routes(s.Door,
			sites.Config{Sites: s.cfg.Sites, Compare: compare.NewSites(s.Door, s.cfg.Sites).Of}),
	)
}

func (s *Server) routes() {
	s.ways = map[string]bool{}
	for _, r := range s.Routes() {
		s.ways[r.Method+" "+r.Path] = true
		s.app.Add(r.Method, r.Path, s.Let(&r))
	}
	s.routePages()
	s.app.Use(func(c *fiber.Ctx) error {
		if wantsPage(c) {
			c.Status(fiber.StatusNotFound)
			return s.site.Page(nothing)(c)
		}
		return traveler.Fail(traveler.KindNotFound, "web.nothing", c.Path())
	})
}
