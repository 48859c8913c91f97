package door

import (
	"net/netip"
	"strings"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/web/ask"
)

// guess lets someone guess a password or a code, or says that they must wait.
func (s *Door) guess(g *gate, c *fiber.Ctx) (address string, r rank, err error) {
	address = s.address(c)
	r, ok := g.enter(address, s.Real())
	if !ok {
		return address, r, tooMany(c)
	}
	return address, r, nil
}

func tooMany(c *fiber.Ctx) error {
	c.Set(fiber.HeaderRetryAfter, "60")
	return traveler.Fail(ask.KindTooMany, "web.wait")
}

// address is where a request comes from: the other end of the connection. Only a
// proxy that was named is believed what it says of that. Of IPv6 the network
// counts, since one computer has all of it.
func (s *Door) address(c *fiber.Ctx) string {
	ip, ok := netip.AddrFromSlice(c.Context().RemoteIP())
	if !ok {
		return ""
	}
	ip = ip.Unmap()
	if s.proxies[ip] {
		ip = s.behind(c, ip)
	}
	if ip.Is6() {
		if net, err := ip.WithZone("").Prefix(64); err == nil {
			return net.String()
		}
	}
	return ip.String()
}

// ByProxy reports whether a request comes from a proxy that was named.
func (s *Door) ByProxy(c *fiber.Ctx) bool {
	ip, ok := netip.AddrFromSlice(c.Context().RemoteIP())
	return ok && s.proxies[ip.Unmap()]
}

// behind is the last address of X-Forwarded-For that is no proxy of ours; the
// proxy's own where it says nothing that makes sense.
func (s *Door) behind(c *fiber.Ctx, proxy netip.Addr) netip.Addr {
	said := []string{}
	for _, v := range c.Request().Header.PeekAll(fiber.HeaderXForwardedFor) {
		said = append(said, strings.Split(string(v), ",")...)
	}
	for i := len(said) - 1; i >= 0; i-- {
		ip, err := netip.ParseAddr(strings.TrimSpace(said[i]))
		if err != nil {
			return proxy
		}
		if ip = ip.Unmap(); !s.proxies[ip] {
			return ip
		}
	}
	return proxy
}
