package ask

import (
	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
)

// Route is one way into the API.
type Route struct {
	Method, Path string
	Deed         traveler.Deed // that one must be allowed to do; empty lets everybody in
	Handle       fiber.Handler
}
