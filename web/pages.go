package web

import (
	"embed"
	"encoding/json"
	"errors"
	"io/fs"
	"net/url"
	"os"
	"slices"
	"strings"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/web/ask"
	"tallywalk/web/door"
	"tallywalk/web/page"
)

// Files whose names begin with _ are left out by embed: tests.
//
//go:embed lib pages
var files embed.FS

// Styles that several pages share.
const (
	cssBoard   = "web/lib/css/board.css"
	cssWall    = "web/lib/css/wall.css"
	cssBatch   = "web/lib/css/batch.css"
	cssFigures = "web/lib/css/figures.css"
	cssGround  = "web/pages/ground/ground.css"
	cssPace    = "web/pages/pace/pace.css"
	cssAhead   = "web/pages/ahead/ahead.css"
	cssCompare = "web/pages/compare/compare.css"
)

// desk is a page of the office and the walls: a module of web/pages, the key of
// its title, its own words beside those that all pages have, and its styles.
func desk(main, title, words string, styles ...string) page.Page {
	p := page.Page{
		Title: title, Words: []string{"shared", "common", "desk"},
		Styles: append([]string{"web/lib/css/base.css", "web/lib/css/site.css"}, styles...),
	}
	switch words {
	case "":
		return p
	case "compare", "sites":
		p.Words = append(p.Words, "figures")
	}
	p.Main, p.Words = "web/pages/"+main, append(p.Words, words)
	return p
}

// pages says what each page loads, and what one must be allowed to see it; an
// empty deed means everybody may.
var pages = []struct {
	path string
	deed traveler.Deed
	page page.Page
}{
	{"/", traveler.DeedLook, desk("home/home.js", "home.title", "home", "web/pages/home/home.css")},
	{"/morning", traveler.DeedLook,
		desk("morning/morning.js", "morning.title", "morning", "web/pages/morning/morning.css")},
	{"/waits", traveler.DeedLook, desk("waits/waits.js", "waits.title", "waits", cssBoard, cssWall)},
	{"/ground", traveler.DeedLook,
		desk("ground/ground.js", "ground.title", "ground", cssBoard, cssGround, cssWall)},
	// The page says who may draw.
	{"/ground/plan", traveler.DeedLook,
		desk("ground/plan.js", "plan.title", "ground", cssBoard, cssGround, "web/pages/ground/plan.css")},
	{"/pace", traveler.DeedLook, desk("pace/pace.js", "pace.title", "pace", cssBoard, cssPace, cssWall)},
	{"/pace/operation", traveler.DeedLook, desk("pace/operation.js", "pace.title", "pace", cssPace)},
	{"/ahead", traveler.DeedLook,
		desk("ahead/ahead.js", "ahead.title", "ahead", cssBatch, cssFigures, cssAhead)},
	{"/promise", traveler.DeedLook,
		desk("ahead/promise.js", "promise.title", "ahead", cssBatch, cssFigures, cssAhead)},
	{"/what-if", traveler.DeedLook,
		desk("ahead/what-if.js", "what-if.title", "ahead", cssBatch, cssFigures, cssAhead)},
	{"/next", traveler.DeedLook,
		desk("ahead/next.js", "next.title", "ahead", cssBatch, cssFigures, cssAhead)},
	{"/calendars", traveler.DeedLook,
		desk("calendars/calendars.js", "calendars.title", "calendars", "web/pages/calendars/calendars.css")},
	{"/history", traveler.DeedLook,
		desk("history/history.js", "history.title", "figures", cssBatch, cssFigures)},
	{"/week", traveler.DeedLook, desk("week/week.js", "week.title", "figures", cssBatch, cssFigures)},
	{"/losses", traveler.DeedLook, desk("losses/losses.js", "losses.title", "figures", cssBatch, cssFigures)},
	{"/machines", traveler.DeedLook,
		desk("machines/machines.js", "machines.title", "figures", cssBatch, cssFigures)},
	{"/fits", traveler.DeedLook, desk("fits/fits.js", "fits.title", "figures", cssBatch, cssFigures)},
	{"/trace", traveler.DeedLook,
		desk("trace/trace.js", "trace.title", "figures", cssBatch, cssFigures, "web/pages/trace/trace.css")},
	{"/compare", traveler.DeedLook,
		desk("compare/compare.js", "compare.title", "compare", cssBatch, cssFigures, cssCompare)},
	{"/compare/change", traveler.DeedLook,
		desk("compare/change.js", "change.title", "compare", cssBatch, cssFigures, cssCompare)},
	{"/compare/machine", traveler.DeedLook,
		desk("compare/machine.js", "case.title", "compare", cssBatch, cssFigures, cssCompare)},
	{"/sites", traveler.DeedLook,
		desk("sites/sites.js", "sites.title", "sites", cssBatch, cssFigures, "web/pages/sites/sites.css")},
	{"/check", traveler.DeedLook, desk("check/check.js", "check.title", "figures", cssBatch, cssFigures)},
	{"/batches", traveler.DeedLook, desk("batch/batches.js", "batches.title", "batch")},
	{"/batch/:code", traveler.DeedLook, desk("batch/batch.js", "nav.batches", "batch", cssBatch)},
	{"/lists", traveler.DeedRelease,
		desk("lists/lists.js", "lists.title", "lists", "web/pages/lists/lists.css")},
	{"/questions", traveler.DeedLook, desk("batch/questions.js", "questions.title", "batch")},
	{"/typed", traveler.DeedSettle, desk("typed/typed.js", "typed.title", "typed")},
	{"/printers", traveler.DeedRelease, desk("printers/printers.js", "printers.title", "printers")},
	{"/sign-in", "", desk("access/sign-in.js", "sign-in.title", "access")},
	{"/first", "", desk("access/first.js", "first.title", "access")},
	{"/trust", "", desk("trust/trust.js", "trust.title", "trust", "web/pages/trust/trust.css")},
	{"/health", traveler.DeedEnrol,
		desk("health/health.js", "health.title", "health", "web/pages/health/health.css")},
	{"/keeping", traveler.DeedEnrol,
		desk("health/keeping.js", "keeping.title", "health", "web/pages/health/health.css")},
	{"/stations", traveler.DeedEnrol, desk("access/stations.js", "stations.title", "access")},
	{"/accounts", traveler.DeedAccounts, desk("access/accounts.js", "accounts.title", "access")},
}

// station is the page an operator sees.
var station = page.Page{
	Main: "kiosk/page/main.js", Title: "station.title", Words: []string{"shared", "station"}, Touch: true,
	Styles: []string{"web/lib/css/base.css", "kiosk/page/station.css", "kiosk/page/pads.css",
		"kiosk/page/camera.css"},
	Manifest: "/station.webmanifest",
}

// deviceWorker keeps the station page in a device, and a board in a wall screen.
const deviceWorker = "kiosk/page/worker.js"

// nothing is shown where no page is.
var nothing = desk("", "nothing.title", "")

// barred is shown to those who may not see a page.
var barred = desk("", "barred.title", "")

// StationWords are the words of the station's page in a language, by their keys, for
// what is printed of them; nil for a language that there are none in.
func StationWords(language string) map[string]string {
	text, err := files.ReadFile("lib/words/" + language + "/station.json")
	if err != nil {
		return nil
	}
	var all map[string]string
	if err := json.Unmarshal(text, &all); err != nil {
		return nil // a test reads all of them
	}
	return all
}

// newSite makes the pages from what is embedded, or from the repository in a
// folder, which is read again each time a page is asked for.
func newSite(station fs.FS, dir string) *page.Site {
	if dir != "" {
		root := os.DirFS(dir)
		return page.NewSite(func() page.Sources {
			return page.Sources{"web/lib": sub(root, "web/lib"), "web/pages": sub(root, "web/pages"),
				"kiosk/page": sub(root, "kiosk/page")}
		}, true, ask.Best)
	}
	return page.NewSite(func() page.Sources { return page.Sources{"web": files, "kiosk/page": station} },
		false, ask.Best)
}

func sub(root fs.FS, dir string) fs.FS {
	s, err := fs.Sub(root, dir)
	if err != nil {
		// The names are written above and are valid.
		panic(err)
	}
	return s
}

func (s *Server) routePages() {
	for _, p := range pages {
		h := s.site.Page(p.page)
		if slices.Contains(p.page.Styles, cssWall) {
			h = s.reaching(h, isWall)
			s.app.Get(p.path+"-sw.js", s.site.Worker(p.page, p.path+"?wall=1", deviceWorker, s.Reach))
		}
		if p.path == "/" && s.Sites {
			h = toSites
		}
		if p.deed != "" {
			h = s.signedIn(p.deed, h)
		}
		s.app.Get(p.path, h)
	}
	s.app.Get("/station", s.notWatching(s.reaching(withDecoder(s.site.Page(station)), always)))
	s.app.Get(station.Manifest, s.site.Manifest(station, "/station"))
	s.app.Get("/station-sw.js", s.site.Worker(station, "/station", deviceWorker, s.Reach))
	s.app.Get("/s/:code/:op?", openCard)
	s.app.Get("/enrol", enrolHere)
	s.app.Get(certificatePath, s.getAuthority)
	s.app.Get("/wall/:secret", s.OpenScreen)
	s.app.Get("/static/*", s.site.File)
}

// toSites leads to the first page of a server that has no shop of its own.
func toSites(c *fiber.Ctx) error { return c.Redirect("/sites") }

func always(*fiber.Ctx) bool { return true }

// isWall reports whether a board is shown on a wall screen.
func isWall(c *fiber.Ctx) bool { return c.Query("wall") == "1" }

// reaching lets a page that devices show ask the other servers of the record. What a browser
// keeps has the policy of then, so such a page is always sent whole.
func (s *Server) reaching(h fiber.Handler, when func(*fiber.Ctx) bool) fiber.Handler {
	return func(c *fiber.Ctx) error {
		if others := s.Reach(c); len(others) > 0 && when(c) {
			allow(c, "connect-src 'self'", strings.Join(others, " "))
			c.Request().Header.Del(fiber.HeaderIfNoneMatch)
		}
		return h(c)
	}
}

// enrolHere opens the station page to enrol the device, with the code that the address
// brings. It is short, because people type it.
func enrolHere(c *fiber.Ctx) error {
	code := c.Query("code", "new")
	return c.Redirect("/station?" + url.Values{"enrol": {code}}.Encode())
}

// openCard opens the station page at the card, and at the operation, that a QR
// code names.
func openCard(c *fiber.Ctx) error {
	ref := traveler.ParseRef(ask.PathParam(c, "code") + "/" + ask.PathParam(c, "op"))
	if ref.Code == "" { // what follows the code is no operation
		ref = traveler.ParseRef(ask.PathParam(c, "code"))
	}
	q := url.Values{"card": {string(ref.Code)}}
	if ref.Op != 0 {
		q.Set("operation", ref.Op.String())
	}
	return c.Redirect("/station?" + q.Encode())
}

// signedIn shows the sign-in page to those who may not see a page.
func (s *Server) signedIn(d traveler.Deed, h fiber.Handler) fiber.Handler {
	return func(c *fiber.Ctx) error {
		p := door.Who(c)
		if p.How == door.ByNobody {
			return c.Redirect("/sign-in?next=" + url.QueryEscape(c.OriginalURL()))
		}
		return s.orBarred(c, s.Allow(d, h)(c))
	}
}

// orBarred shows a page that says so to someone whom a browser led to a page that
// is not for them; programs get the problem document.
func (s *Server) orBarred(c *fiber.Ctx, err error) error {
	var e *traveler.Error
	if errors.As(err, &e) && e.Kind == traveler.KindForbidden && wantsPage(c) {
		c.Status(fiber.StatusForbidden)
		return s.site.Page(barred)(c)
	}
	return err
}

// wantsPage reports whether a browser asks for something to look at.
func wantsPage(c *fiber.Ctx) bool {
	return c.Method() == fiber.MethodGet && !strings.HasPrefix(c.Path(), "/api/") &&
		c.Accepts(fiber.MIMETextHTML, fiber.MIMEApplicationJSON) == fiber.MIMETextHTML
}

// notWatching keeps a wall screen from a page that makes scans; a device that
// is nobody yet may come, to be enrolled.
func (s *Server) notWatching(h fiber.Handler) fiber.Handler {
	return func(c *fiber.Ctx) error {
		if p := door.Who(c); p.How == door.ByScreen {
			return s.orBarred(c, traveler.Fail(traveler.KindForbidden, "web.role", string(p.Role)))
		}
		return h(c)
	}
}
