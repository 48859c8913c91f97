package web

import (
	_ "embed"

	"github.com/gofiber/fiber/v2"
)

//go:embed openapi.json
var openAPI []byte

func getOpenAPI(c *fiber.Ctx) error {
	c.Set(fiber.HeaderContentType, fiber.MIMEApplicationJSON)
	return c.Send(openAPI)
}
