package web

import (
	"net"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/web/ask"
	"tallywalk/web/door"
	"tallywalk/web/trust"
)

// How the server is reached, as the page of trust knows it.
const (
	trustOff   = "off"   // plain HTTP alone
	trustLocal = "local" // an authority of the shop's own, which devices must trust once
	trustFiles = "files" // the shop's own certificate
)

// trustView is what a device needs to know to trust this server.
type trustView struct {
	Mode      string    `json:"mode" api:"enum=off|local|files"`
	Encrypted bool      `json:"encrypted"` // this request came over TLS
	Now       time.Time `json:"now"`       // the server's clock
	// From and Until bound the clocks of devices that can believe the certificate; none
	// of it where there is no TLS.
	From        *time.Time `json:"from,omitempty"`
	Until       *time.Time `json:"until,omitempty"`
	Fingerprint string     `json:"fingerprint,omitempty"` // SHA-256 of the authority
	Called      string     `json:"called,omitempty"`      // as devices list the authority
}

// certificatePath is where devices get the authority from; browsers take the name of
// the file from it.
const certificatePath = "/trust/tallywalk.crt"

// mediaAuthority is the type by which browsers know an authority.
const mediaAuthority = "application/x-x509-ca-cert"

func (s *Server) trustRoutes() []ask.Route {
	return []ask.Route{
		{
			Method: "GET", Path: "/trust/state", Handle: s.getTrust, Answer: trustView{},
			Does: "how this server is reached, and what a device must trust",
			More: "Answered over plain HTTP too, and to pages of either origin of this server.",
		},
	}
}

// getTrust says how this server is reached. The page over plain HTTP asks over TLS too:
// whether that gets through is whether the device trusts the server.
func (s *Server) getTrust(c *fiber.Ctx) error {
	own := ask.HTTPS(string(c.Request().Host()))
	if origin := c.Get(fiber.HeaderOrigin); origin != "" && ask.HTTPS(afterScheme(origin)) == own {
		c.Set(fiber.HeaderAccessControlAllowOrigin, origin)
	}
	c.Vary(fiber.HeaderOrigin)
	c.Set(fiber.HeaderCacheControl, "no-store")
	out := trustView{Mode: trustOff, Encrypted: ask.Encrypted(c),
		Now: s.cfg.Real().UTC().Truncate(time.Millisecond)}
	if s.cfg.Trust == nil {
		return c.JSON(out)
	}
	from, until, err := trust.Span(s.cfg.Trust)
	if err != nil {
		return err
	}
	out.Mode, out.From, out.Until = trustFiles, &from, &until
	if a := s.cfg.Trust.Authority(); a != nil {
		out.Mode, out.Fingerprint, out.Called = trustLocal, trust.Fingerprint(a), a.Subject.CommonName
	}
	return c.JSON(out)
}

// fingerprint is that of the authority; empty where there is none.
func (s *Server) fingerprint() string {
	if s.cfg.Trust == nil || s.cfg.Trust.Authority() == nil {
		return ""
	}
	return trust.Fingerprint(s.cfg.Trust.Authority())
}

func afterScheme(origin string) string {
	_, host, _ := strings.Cut(origin, "://")
	return host
}

// getAuthority answers the authority's certificate, PEM, where there is one.
func (s *Server) getAuthority(c *fiber.Ctx) error {
	if s.cfg.Trust == nil || s.cfg.Trust.Authority() == nil {
		return traveler.Fail(traveler.KindNotFound, "web.nothing", c.Path())
	}
	c.Set(fiber.HeaderContentType, mediaAuthority)
	c.Set(fiber.HeaderCacheControl, "no-cache")
	return c.Send(trust.PEM(s.cfg.Trust.Authority()))
}

// overPlain are the pages and ways in that are answered over plain HTTP also where the
// server speaks TLS: what a device needs that does not trust it yet, and the station,
// since what it keeps unsent is kept for its origin (see the decisions of this room).
var overPlain = []string{"/trust", "/static", "/station", "/station.webmanifest", "/station-sw.js", "/wall",
	"/live", "/healthz", "/readyz"}

// secrets are what is asked with a password or given as one.
var secrets = []string{"/api/v1/sign-in", "/api/v1/first"}

// toTLS sends those who come over plain HTTP to a server that speaks TLS to it. A browser
// that may not trust the server yet gets there by the page that helps.
func (s *Server) toTLS(c *fiber.Ctx) error {
	if s.cfg.Trust == nil || ask.Encrypted(c) || s.ByProxy(c) {
		return c.Next()
	}
	host := string(c.Request().Host())
	if s.staysPlain(c) {
		s.maySee(c, host)
		return c.Next()
	}
	asked := string(c.Request().RequestURI())
	if !strings.HasPrefix(asked, "/") {
		asked = "/"
	}
	c.Set(fiber.HeaderCacheControl, "no-store")
	switch {
	case c.Method() != fiber.MethodGet && c.Method() != fiber.MethodHead:
		return c.Redirect(ask.HTTPS(host)+asked, fiber.StatusPermanentRedirect)
	case s.cfg.Trust.Authority() != nil && strings.Contains(c.Get(fiber.HeaderAccept), fiber.MIMETextHTML):
		return c.Redirect("/trust?next="+url.QueryEscape(asked), fiber.StatusTemporaryRedirect)
	}
	return c.Redirect(ask.HTTPS(host)+asked, fiber.StatusTemporaryRedirect)
}

// staysPlain reports whether a request is answered over plain HTTP: a station's and a
// wall screen's always, for nobody stands there to trust anything; the API's but for
// passwords and tokens. Cookies that were given over TLS do not come this way.
func (s *Server) staysPlain(c *fiber.Ctx) bool {
	path := strings.ToLower(c.Path()) // as the router reads it
	within := func(list []string) bool {
		for _, p := range list {
			if path == p || strings.HasPrefix(path, p+"/") {
				return true
			}
		}
		return false
	}
	switch who := door.Who(c); {
	case within(overPlain), who.How == door.ByScreen:
		return true
	case who.How == door.ByStation && strings.HasPrefix(path, "/s/"):
		return true
	}
	return strings.HasPrefix(path, "/api/") && !within(secrets) && c.Get(fiber.HeaderAuthorization) == ""
}

// withDecoder lets a page run the reader of codes that the camera needs, which is
// WebAssembly (CSP 3, 6.7.1): nothing else that is evaluated.
func withDecoder(h fiber.Handler) fiber.Handler {
	return func(c *fiber.Ctx) error {
		allow(c, "script-src 'self'", "'wasm-unsafe-eval'")
		return h(c)
	}
}

// allow adds a source to a directive of an answer's policy of content.
func allow(c *fiber.Ctx, directive, source string) {
	policy := string(c.Response().Header.Peek(fiber.HeaderContentSecurityPolicy))
	c.Set(fiber.HeaderContentSecurityPolicy, strings.Replace(policy, directive, directive+" "+source, 1))
}

// maySee lets pages over plain HTTP ask the same server over TLS, by the policy of
// content (CSP 3, 6.7.2.8: not every browser takes 'self' for that).
func (s *Server) maySee(c *fiber.Ctx, host string) {
	name, port, err := net.SplitHostPort(strings.TrimPrefix(ask.HTTPS(host), "https://"))
	if n, perr := strconv.ParseUint(port, 10, 16); err != nil || perr != nil || n == 0 {
		return // no host of ours has such a port
	}
	allow(c, "connect-src 'self'", "https://"+net.JoinHostPort(name, port))
}
