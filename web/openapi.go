package web

import (
	_ "embed"

	"github.com/gofiber/fiber/v2"
)

// The description is made of the tables of routes; a test holds it to them.
//
//go:generate go test . -run ^TestDescriptionIsOfTheRoutes$ -update

//go:embed openapi.json
var openAPI []byte

// OpenAPI is the description of the API as it is served.
func OpenAPI() []byte { return openAPI }

func getOpenAPI(c *fiber.Ctx) error {
	c.Set(fiber.HeaderContentType, fiber.MIMEApplicationJSON)
	return c.Send(openAPI)
}
