package door

import (
	"bytes"

	"github.com/gofiber/fiber/v2"
	"github.com/valyala/fasthttp"

	"tallywalk/traveler"
	"tallywalk/web/ask"
)

// Limits of a request's body, in bytes. They are set from the header, before
// anything of the body is read, for bodies sent in chunks too.
const (
	smallBody = 16 << 10 // what someone may send who is not known
	formBody  = 64 << 10 // a form of a page
	WideBody  = 1 << 20  // scans, plans, comparisons and pictures
	// ListBody is what a list may have: 10,000 routes of six operations are 6 MB.
	ListBody = 16 << 20
)

// listPaths is how the addresses of lists begin.
const listPaths = "/api/v1/lists/"

// inChunks is the length that fasthttp gives a body that comes in chunks.
const inChunks = -1

// wideBodies are the addresses that take more than a form.
var wideBodies = map[string]bool{
	"/api/v1/scans": true, "/api/v1/ground/plan": true, "/api/v1/ground/pictures": true,
	"/api/v1/calendars": true, "/api/v1/routes": true, "/api/v1/compare": true,
	"/api/v1/compare/page.pdf":   true,
	"/api/v1/compare/sheet.xlsx": true, "/api/v1/compare/release": true, "/api/v1/machine-case": true,
}

// BodyLimit is how long the body of a request may be. Who asks is looked up only
// where that decides it: a body that says it is small needs no look.
func (s *Door) BodyLimit(h *fasthttp.RequestHeader) int {
	most := formBody
	if path, _, _ := bytes.Cut(h.RequestURI(), []byte("?")); wideBodies[string(path)] {
		most = WideBody
	} else if bytes.HasPrefix(path, []byte(listPaths)) {
		most = ListBody
	}
	if n := h.ContentLength(); n != inChunks && n <= smallBody || !s.knows(h) {
		return smallBody
	}
	return most
}

// knows reports whether a header names someone, over TLS or without: at this place the
// connection is not seen.
func (s *Door) knows(h *fasthttp.RequestHeader) bool {
	return s.find(h, "").How != ByNobody || s.find(h, overTLS).How != ByNobody ||
		s.byCrossing(h, false).How != ByNobody || s.byCrossing(h, true).How != ByNobody
}

// plainBody refuses a body that is encoded: what it unpacks to has no limit, and
// nothing that asks here needs it (RFC 9110, 15.5.16).
func plainBody(c *fiber.Ctx) error {
	for _, v := range c.Request().Header.PeekAll(fiber.HeaderContentEncoding) {
		if !bytes.EqualFold(bytes.TrimSpace(v), []byte("identity")) && len(v) > 0 {
			return traveler.Fail(ask.KindEncoding, "web.encoding", string(v))
		}
	}
	return nil
}
