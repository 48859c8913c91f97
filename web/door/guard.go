package door

import (
	"net"
	"net/netip"
	"net/url"
	"strings"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
)

// hostRule says which Host headers are ours. A name that someone else's DNS
// points at us (DNS rebinding) is not; an address written as a number is
// harmless, since no other name stands behind it.
type hostRule struct{ names map[string]bool }

func newHostRule(publicURL string, extra []string) hostRule {
	r := hostRule{names: map[string]bool{"localhost": true}}
	if u, err := url.Parse(publicURL); err == nil && u.Hostname() != "" {
		r.names[strings.ToLower(u.Hostname())] = true
	}
	for _, h := range extra {
		r.names[strings.ToLower(h)] = true
	}
	return r
}

func (r hostRule) ours(host string) bool {
	name := host
	if h, _, err := net.SplitHostPort(host); err == nil {
		name = h
	}
	name = strings.Trim(strings.ToLower(name), "[]")
	if r.names[name] {
		return true
	}
	_, err := netip.ParseAddr(name)
	return err == nil
}

// sameOrigin reports whether a request that a page made was made by one of our
// own pages. Programs send no Origin.
func sameOrigin(origin, host string) bool {
	if origin == "" {
		return true
	}
	u, err := url.Parse(origin)
	return err == nil && u.Host != "" && strings.EqualFold(u.Host, host)
}

const contentPolicy = "default-src 'self'; img-src 'self' data:; style-src 'self'; script-src 'self'; " +
	"connect-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'self'; object-src 'none'"

// Guard is the first look at every request, sockets included: is it meant for
// us, does it come from our own pages, who asks.
func (s *Door) Guard(c *fiber.Ctx) error {
	host := string(c.Request().Host())
	if !s.hosts.ours(host) {
		return traveler.Fail(traveler.KindForbidden, "web.host", host)
	}
	safe := c.Method() == fiber.MethodGet || c.Method() == fiber.MethodHead
	if upgrade := c.Get(fiber.HeaderUpgrade) != ""; (!safe || upgrade) && !sameOrigin(c.Get(fiber.HeaderOrigin), host) {
		return traveler.Fail(traveler.KindForbidden, "web.origin", c.Get(fiber.HeaderOrigin))
	}
	if err := plainBody(c); err != nil {
		return err
	}
	c.Set("Content-Security-Policy", contentPolicy)
	c.Set(fiber.HeaderXContentTypeOptions, "nosniff")
	c.Set(fiber.HeaderReferrerPolicy, "same-origin")
	c.Set("Cross-Origin-Opener-Policy", "same-origin")
	c.Set("Cross-Origin-Resource-Policy", "same-origin")
	if strings.HasPrefix(c.Path(), "/api/") {
		c.Set(fiber.HeaderCacheControl, "no-store")
	}
	s.recognise(c)
	return c.Next()
}
