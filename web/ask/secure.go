package ask

import (
	"net"
	"strings"

	"github.com/gofiber/fiber/v2"
)

// Encrypted reports whether a request came over TLS that this server speaks itself; a
// proxy's is not seen.
func Encrypted(c *fiber.Ctx) bool { return EncryptedConn(c.Context().Conn()) }

// EncryptedConn reports the same of a connection.
func EncryptedConn(conn net.Conn) bool {
	e, ok := conn.(interface{ Encrypted() bool })
	return ok && e.Encrypted()
}

// HTTPS is the address over TLS of the server that plain HTTP reaches at a host, as a
// Host header has it: the same host and port. Without a port that is 80.
func HTTPS(host string) string {
	if _, _, err := net.SplitHostPort(host); err != nil {
		host = net.JoinHostPort(strings.Trim(host, "[]"), "80")
	}
	return "https://" + strings.TrimSuffix(host, ":443")
}

const contentPolicy = "default-src 'self'; img-src 'self' data:; style-src 'self'; script-src 'self'; " +
	"connect-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'self'; object-src 'none'"

// Protect says to browsers what an answer may do and who may have it. What was said of
// the content of this answer before stays.
func Protect(c *fiber.Ctx) {
	if len(c.Response().Header.Peek(fiber.HeaderContentSecurityPolicy)) == 0 {
		c.Set(fiber.HeaderContentSecurityPolicy, contentPolicy)
	}
	c.Set(fiber.HeaderXContentTypeOptions, "nosniff")
	c.Set(fiber.HeaderReferrerPolicy, "same-origin")
	c.Set("Cross-Origin-Opener-Policy", "same-origin")
	c.Set("Cross-Origin-Resource-Policy", "same-origin")
}
