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
