package web

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"io/fs"
	"mime"
	"net/url"
	"path"
	"strings"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

//go:embed all:static all:pages
var files embed.FS

// pages says which file each page is, and what one must be allowed to see it;
// an empty deed means everybody may.
var pages = []struct {
	path, file string
	deed       traveler.Deed
}{
	{"/", "index.html", traveler.DeedLook},
	{"/waits", "waits.html", traveler.DeedLook},
	{"/ground", "ground.html", traveler.DeedLook},
	{"/ground/plan", "plan.html", traveler.DeedLook}, // the page says who may draw
	{"/pace", "pace.html", traveler.DeedLook},
	{"/pace/operation", "pace-operation.html", traveler.DeedLook},
	{"/calendars", "calendars.html", traveler.DeedLook},
	{"/history", "history.html", traveler.DeedLook},
	{"/losses", "losses.html", traveler.DeedLook},
	{"/machines", "machines.html", traveler.DeedLook},
	{"/fits", "fits.html", traveler.DeedLook},
	{"/trace", "trace.html", traveler.DeedLook},
	{"/compare", "compare.html", traveler.DeedLook},
	{"/compare/change", "compare-change.html", traveler.DeedLook},
	{"/compare/machine", "compare-machine.html", traveler.DeedLook},
	{"/check", "check.html", traveler.DeedLook},
	{"/batches", "batches.html", traveler.DeedLook},
	{"/batch/:code", "batch.html", traveler.DeedLook},
	{"/questions", "questions.html", traveler.DeedLook},
	{"/sign-in", "sign-in.html", ""},
	{"/first", "first.html", ""},
	{"/enrol", "enrol.html", ""},
	{"/stations", "stations.html", traveler.DeedEnrol},
	{"/accounts", "accounts.html", traveler.DeedAccounts},
}

func (s *Server) routePages() {
	for _, p := range pages {
		h := s.page(files, "pages/"+p.file)
		if p.deed != "" {
			h = s.signedIn(p.deed, h)
		}
		s.app.Get(p.path, h)
	}
	s.app.Get("/station", s.notWatching(s.page(s.cfg.Kiosk, "index.html")))
	s.app.Get("/s/:code/:op?", openCard)
	s.app.Get("/wall/:secret", s.OpenScreen)
	s.app.Get("/static/*", s.static(files, "static"))
	s.app.Get("/kiosk/*", s.static(s.cfg.Kiosk, "."))
}

// openCard opens the station page at the card, and at the operation, that a QR
// code names.
func openCard(c *fiber.Ctx) error {
	ref := traveler.ParseRef(ask.PathParam(c, "code") + "/" + ask.PathParam(c, "op"))
	if ref.Code == "" { // what stands behind the code is no operation
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
		return s.Allow(d, h)(c)
	}
}

// notWatching keeps a wall screen from a page that makes scans; a device that
// is nobody yet may come, to be enrolled.
func (s *Server) notWatching(h fiber.Handler) fiber.Handler {
	return func(c *fiber.Ctx) error {
		if p := door.Who(c); p.How == door.ByScreen {
			return traveler.Fail(traveler.KindForbidden, "web.role", string(p.Role))
		}
		return h(c)
	}
}

func (s *Server) page(from fs.FS, name string) fiber.Handler {
	return func(c *fiber.Ctx) error {
		c.Set(fiber.HeaderCacheControl, "no-cache")
		return sendFile(c, from, name)
	}
}

func (s *Server) static(from fs.FS, root string) fiber.Handler {
	return func(c *fiber.Ctx) error {
		name := path.Join(root, path.Clean("/"+c.Params("*")))
		c.Set(fiber.HeaderCacheControl, "no-cache")
		return sendFile(c, from, name)
	}
}

// sendFile answers a file with a tag of its content, so that a page that is
// opened again fetches what changed and nothing else.
func sendFile(c *fiber.Ctx, from fs.FS, name string) error {
	b, err := fs.ReadFile(from, name)
	if err != nil {
		return traveler.Fail(traveler.KindNotFound, "web.nothing", c.Path())
	}
	t := mime.TypeByExtension(path.Ext(name))
	if strings.HasSuffix(name, ".js") {
		t = "text/javascript; charset=utf-8"
	}
	sum := sha256.Sum256(b)
	c.Set(fiber.HeaderETag, `W/"`+hex.EncodeToString(sum[:12])+`"`)
	if c.Fresh() {
		c.Status(fiber.StatusNotModified)
		return nil
	}
	c.Set(fiber.HeaderContentType, t)
	return c.Send(b)
}
