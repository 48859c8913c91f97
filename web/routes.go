package web

import (
	"strings"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
)

// route is one way into the API: the method, the path, what one must be allowed
// to do, and the handler. An empty deed lets everybody in.
type route struct {
	method, path string
	deed         traveler.Deed
	handle       fiber.Handler
}

func (s *Server) table() []route {
	return []route{
		{"GET", "/healthz", "", func(c *fiber.Ctx) error { return c.JSON(fiber.Map{"status": "ok"}) }},
		{"GET", "/readyz", "", s.getReady},
		{"GET", "/api/v1/openapi.json", "", getOpenAPI},
		{"GET", "/api/v1/clock", "", s.getClock},
		{"POST", "/api/v1/clock", traveler.DeedAccounts, s.postClock},
		{"GET", "/api/v1/me", "", s.getMe},
		{"POST", "/api/v1/sign-in", "", s.postSignIn},
		{"POST", "/api/v1/sign-out", "", s.postSignOut},
		{"POST", "/api/v1/first", "", s.postFirst},
		{"POST", "/api/v1/enrol", "", s.postEnrol},

		{"GET", "/api/v1/shop", traveler.DeedLook, s.getShop},
		{"GET", "/api/v1/waits", traveler.DeedLook, s.getBoard(boardWaits)},
		{"GET", "/api/v1/ground", traveler.DeedLook, s.getBoard(boardGround)},
		{"GET", "/api/v1/ground/walks", traveler.DeedLook, s.getWalks},
		{"GET", "/api/v1/ground/trips", traveler.DeedLook, s.getTrips},
		{"GET", "/api/v1/ground/walk", traveler.DeedLook, s.getWalk},
		{"GET", "/api/v1/ground/plan", traveler.DeedLook, s.getPlan},
		{"POST", "/api/v1/ground/plan", traveler.DeedPlan, s.postPlan},
		{"POST", "/api/v1/ground/pictures", traveler.DeedPlan, s.postPicture},
		{"GET", "/api/v1/ground/pictures/:ref", traveler.DeedLook, s.getPicture},
		{"GET", "/api/v1/pace", traveler.DeedLook, s.getBoard(boardOfPace)},
		{"GET", "/api/v1/pace/operation", traveler.DeedLook, s.getPaceOp},
		{"GET", "/api/v1/calendars", traveler.DeedLook, s.getCalendars},
		{"POST", "/api/v1/calendars", traveler.DeedPlan, s.postCalendar},
		{"POST", "/api/v1/machines", traveler.DeedPlan, s.postMachine},
		{"GET", "/api/v1/history", traveler.DeedLook, s.getHistory},
		{"GET", "/api/v1/losses", traveler.DeedLook, s.getLosses},
		{"GET", "/api/v1/machine-hours", traveler.DeedLook, s.getMachineHours},
		{"GET", "/api/v1/load", traveler.DeedLook, s.getLoad},
		{"GET", "/api/v1/fits", traveler.DeedLook, s.getFits},
		{"POST", "/api/v1/routes", traveler.DeedPlan, s.postRoute},
		{"GET", "/api/v1/check", traveler.DeedLook, s.getCheck},
		{"GET", "/api/v1/export/:what", traveler.DeedLook, s.getExport},
		{"GET", "/api/v1/trace", traveler.DeedLook, s.getTrace},
		{"GET", "/api/v1/compare", traveler.DeedLook, s.getCompare},
		{"POST", "/api/v1/compare", traveler.DeedLook, s.postCompare},
		{"POST", "/api/v1/compare/page.pdf", traveler.DeedLook, s.postComparePDF},
		{"POST", "/api/v1/compare/sheet.xlsx", traveler.DeedLook, s.postCompareXLSX},
		{"POST", "/api/v1/compare/release", traveler.DeedPlan, s.postCompareRelease},
		{"GET", "/api/v1/changes", traveler.DeedLook, s.getChanges},
		{"POST", "/api/v1/machine-case", traveler.DeedLook, s.postCase},
		{"GET", "/live", traveler.DeedLook, s.getLive},
		{"GET", "/api/v1/questions", traveler.DeedLook, s.getQuestions},
		{"GET", "/api/v1/batches", traveler.DeedLook, s.getBatches},
		{"GET", "/api/v1/batches/:code", traveler.DeedLook, s.getBatch},
		{"GET", "/api/v1/batches/:code/story", traveler.DeedLook, s.getStory},
		{"GET", "/api/v1/batches/:code/card.pdf", traveler.DeedLook, s.getCard},
		{"GET", "/api/v1/sheets/:kind", traveler.DeedLook, s.getSheet},
		{"GET", "/api/v1/station/:machine", traveler.DeedScan, s.getStation},
		{"GET", "/api/v1/station/:machine/card", traveler.DeedScan, s.getStationCard},
		{"GET", "/api/v1/people/:ref", traveler.DeedScan, s.getPerson},

		// Every scan is heard: what a role may not do is answered as a refusal
		// or a question, and kept.
		{"POST", "/api/v1/scans", traveler.DeedLook, s.scanning(s.postScans)},
		{"POST", "/api/v1/batches", traveler.DeedRelease, s.postBatch},

		{"GET", "/api/v1/stations", traveler.DeedEnrol, s.getStations},
		{"POST", "/api/v1/enrol-codes", traveler.DeedEnrol, s.postEnrolCode},
		{"DELETE", "/api/v1/stations/:id", traveler.DeedEnrol, s.deletePass(tableStations)},
		{"POST", "/api/v1/screens", traveler.DeedEnrol, s.postScreen},
		{"DELETE", "/api/v1/screens/:id", traveler.DeedEnrol, s.deletePass(tableScreens)},
		{"GET", "/api/v1/people", traveler.DeedAccounts, s.getPeople},
		{"POST", "/api/v1/people/:ref/badge", traveler.DeedAccounts, s.postBadge},
		{"GET", "/api/v1/accounts", traveler.DeedAccounts, s.getAccounts},
		{"POST", "/api/v1/accounts", traveler.DeedAccounts, s.postAccount},
		{"GET", "/api/v1/tokens", traveler.DeedAccounts, s.getTokens},
		{"POST", "/api/v1/tokens", traveler.DeedAccounts, s.postToken},
		{"DELETE", "/api/v1/tokens/:id", traveler.DeedAccounts, s.deletePass(tableTokens)},
		{"DELETE", "/api/v1/accounts/:name", traveler.DeedAccounts, s.deleteAccount},
	}
}

func (s *Server) routes() {
	for _, r := range s.table() {
		h := r.handle
		if r.deed != "" {
			h = s.allow(r.deed, h)
		}
		s.app.Add(r.method, r.path, h)
	}
	s.routePages()
	s.app.Use(func(c *fiber.Ctx) error {
		if c.Method() == fiber.MethodGet && !strings.HasPrefix(c.Path(), "/api/") && c.Accepts(fiber.MIMETextHTML, fiber.MIMEApplicationJSON) == fiber.MIMETextHTML {
			c.Status(fiber.StatusNotFound)
			return s.site.Page(nothing)(c)
		}
		return traveler.Fail(traveler.KindNotFound, "web.nothing", c.Path())
	})
}

// scanning keeps watchers from the scans: they have nothing to say.
func (s *Server) scanning(h fiber.Handler) fiber.Handler {
	return func(c *fiber.Ctx) error {
		if who(c).Role == traveler.RoleWatcher {
			return traveler.Fail(traveler.KindForbidden, "web.role", string(traveler.RoleWatcher))
		}
		return h(c)
	}
}
