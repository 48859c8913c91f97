package door

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"net/url"
	"slices"
	"strings"

	"github.com/gofiber/fiber/v2"
	"github.com/valyala/fasthttp"

	"tallywalk/traveler"
	"tallywalk/traveler/rows"
	"tallywalk/web/ask"
)

// A device whose server does not answer asks another server of its record. Its page comes
// from the first one, so its cookie does not go along (RFC 6265, 5.1.3: of one host), and
// what a page of one server may ask another is said here alone.

// crossings are the ways in that are open to pages of the record's other servers: what
// stations and wall screens ask for, and nothing else.
var crossings = []struct{ method, path string }{
	{fiber.MethodGet, "/readyz"}, {fiber.MethodGet, "/live"},
	{fiber.MethodGet, "/api/v1/me"}, {fiber.MethodGet, "/api/v1/clock"}, {fiber.MethodGet, "/api/v1/shop"},
	{fiber.MethodGet, "/api/v1/station/:machine"}, {fiber.MethodGet, "/api/v1/station/:machine/card"},
	{fiber.MethodGet, "/api/v1/station/:machine/known"}, {fiber.MethodGet, "/api/v1/people/:ref"},
	{fiber.MethodGet, "/api/v1/next"},
	{fiber.MethodGet, "/api/v1/waits"}, {fiber.MethodGet, "/api/v1/ground"},
	{fiber.MethodGet, "/api/v1/pace"},
	{fiber.MethodGet, "/api/v1/ground/plan"},
	{fiber.MethodPost, "/api/v1/scans"}, {fiber.MethodPost, "/api/v1/language"},
}

// deviceHeader carries the pass of a device at another server than its own. A socket
// cannot carry a header of ours: there it is a protocol that is offered (RFC 6455, 1.9),
// after the one that is taken.
const (
	deviceHeader  = "X-Tallywalk-Device"
	passProtocol  = "pass."
	allowsHeaders = "Accept-Language, Content-Type, " + deviceHeader
	allowedFor    = "600" // s that a browser remembers what it may ask
)

// tableCrossings has the devices by their passes at other servers.
const tableCrossings = "crossings"

// crossing is a row of tableCrossings.
type crossing struct {
	How string `json:"how"` // ByStation or ByScreen
	Key string `json:"key"` // of the station or screen: cut off, it is known nowhere
	TLS bool   `json:"tls"` // it was given over TLS, and opens nothing without
}

// crossingGiven is the pass of a device at the other servers of its record.
type crossingGiven struct {
	Pass string `json:"pass"`
}

// postCrossing gives a station or a wall screen its pass at the other servers: the same
// one each time, made of the secret in its cookie, which it does not betray.
func (s *Door) postCrossing(c *fiber.Ctx) error {
	p := Who(c)
	cookie := map[string]string{ByStation: cookieStation, ByScreen: cookieScreen}[p.How]
	if s.Servers == nil || cookie == "" || crosses(c) {
		return traveler.Fail(traveler.KindNotFound, "web.nothing", c.Path())
	}
	pass := crossingOf(c.Cookies(prefix(c) + cookie))
	var was crossing
	row := crossing{p.How, p.Key, ask.Encrypted(c)}
	if ok, err := s.row(tableCrossings, sumOf(pass), &was); err != nil {
		return err
	} else if !ok || was != row {
		if err := s.putRow(tableCrossings, sumOf(pass), row); err != nil {
			return err
		}
	}
	return c.JSON(crossingGiven{pass})
}

func crossingOf(secret string) string {
	h := hmac.New(sha256.New, []byte(secret))
	h.Write([]byte("at the other servers of the record"))
	return hex.EncodeToString(h.Sum(nil))
}

// byCrossing is who asks from a page of another server: by the pass of a device alone,
// whatever cookies come along.
func (s *Door) byCrossing(h *fasthttp.RequestHeader, tls bool) Principal {
	pass := string(h.Peek(deviceHeader))
	for _, p := range strings.Split(string(h.Peek(fasthttp.HeaderSecWebSocketProtocol)), ",") {
		if v, ok := strings.CutPrefix(strings.TrimSpace(p), passProtocol); ok && pass == "" {
			pass = v
		}
	}
	var row crossing
	if pass != "" {
		if ok, err := s.row(tableCrossings, sumOf(pass), &row); err == nil && ok && row.TLS == tls {
			return s.byKey(tableOf[row.How], row.How, row.Key)
		}
	}
	return s.orOpen()
}

// dropCrossings removes what opened other servers to a station or a screen.
func (s *Door) dropCrossings(key string) error {
	all, err := rows.All[crossing](s.Tables, tableCrossings)
	if err != nil {
		return err
	}
	for sum, row := range all {
		if row.Key == key {
			if err := s.Tables.Delete(tableCrossings, sum); err != nil {
				return err
			}
		}
	}
	return nil
}

// maySend reports whether an origin is another server of this record, or the shop's public
// URL: over TLS only one that was reached so too.
func (s *Door) maySend(origin string, encrypted bool) bool {
	u, err := url.Parse(origin)
	if err != nil || u.Host == "" || (encrypted && u.Scheme != "https") {
		return false
	}
	at := hostPort(origin)
	is := func(text string) bool { return at != "" && hostPort(text) == at }
	return is(s.PublicURL) || slices.ContainsFunc(s.serversOf(), func(v serverAt) bool { return is(v.URL) })
}

// cross lets a page of another server of this record in, on the ways that are open to it,
// and says so to its browser (Fetch, 3.2). It reports false for all others: what is asked
// is then looked at as if there were no other server.
func (s *Door) cross(c *fiber.Ctx, origin string) bool {
	method, path := c.Method(), c.Path()
	if method == fiber.MethodOptions {
		method = c.Get(fiber.HeaderAccessControlRequestMethod)
	}
	open := func(w struct{ method, path string }) bool {
		return w.method == method && fiber.RoutePatternMatch(path, w.path)
	}
	if s.Servers == nil || origin == "" || !slices.ContainsFunc(crossings, open) ||
		!s.maySend(origin, ask.Encrypted(c)) {
		return false
	}
	c.Locals("crossing", true)
	c.Set(fiber.HeaderAccessControlAllowOrigin, origin)
	c.Vary(fiber.HeaderOrigin)
	return true
}

// crosses reports whether a request comes from a page of another server.
func crosses(c *fiber.Ctx) bool { return c.Locals("crossing") == true }

// preflight answers a browser that asks whether a page of another server may ask.
func preflight(c *fiber.Ctx) error {
	c.Set(fiber.HeaderAccessControlAllowMethods, "GET, POST")
	c.Set(fiber.HeaderAccessControlAllowHeaders, allowsHeaders)
	c.Set(fiber.HeaderAccessControlMaxAge, allowedFor)
	return c.SendStatus(fiber.StatusNoContent)
}
