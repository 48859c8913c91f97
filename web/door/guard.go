package door

import (
	"strings"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/web/ask"
)

// Guard is the first look at every request, sockets included: is it meant for us,
// does it come from our own pages, who asks. It fails with KindForbidden where host
// or origin are another's, with ask.KindEncoding where the body is encoded, and as
// what follows does.
func (s *Door) Guard(c *fiber.Ctx) error {
	ask.Protect(c)
	host := string(c.Request().Host())
	if !s.hosts.ours(host) {
		return traveler.Fail(traveler.KindForbidden, "web.host", host)
	}
	safe := c.Method() == fiber.MethodGet || c.Method() == fiber.MethodHead
	if upgrade := c.Get(fiber.HeaderUpgrade) != ""; (!safe || upgrade) && !sameOrigin(
		c.Get(fiber.HeaderOrigin), host, ask.Encrypted(c),
	) {
		return traveler.Fail(traveler.KindForbidden, "web.origin", c.Get(fiber.HeaderOrigin))
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
