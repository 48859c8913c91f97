package door

import (
	"strings"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/web/ask"
)

// Guard is the first look at every request, sockets included: is it meant for us,
// does it come from our own pages or those of another server of our record, who asks. It fails with
// KindForbidden where host or origin are another's, with ask.KindEncoding where the body is encoded, and as
// what follows does.
func (s *Door) Guard(c *fiber.Ctx) error {
	ask.Protect(c)
	host := string(c.Request().Host())
	if !s.hosts.ours(host) && !s.ownName(host) {
		return traveler.Fail(traveler.KindForbidden, "web.host", host)
	}
	safe := c.Method() == fiber.MethodGet || c.Method() == fiber.MethodHead
	if origin := c.Get(fiber.HeaderOrigin); !sameOrigin(origin, host, ask.Encrypted(c)) &&
		!s.cross(c, origin) {
		if upgrade := c.Get(fiber.HeaderUpgrade) != ""; !safe || upgrade {
			return traveler.Fail(traveler.KindForbidden, "web.origin", origin)
		}
	}
	if crosses(c) && c.Method() == fiber.MethodOptions {
		return preflight(c)
	}
	if err := plainBody(c); err != nil {
		return err
	}
	if strings.HasPrefix(c.Path(), "/api/") {
		c.Set(fiber.HeaderCacheControl, "no-store")
	}
	s.recognise(c)
	return c.Next()
}
