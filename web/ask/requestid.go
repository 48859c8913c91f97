package ask

import (
	"crypto/rand"
	"encoding/hex"
	"log/slog"

	"github.com/gofiber/fiber/v2"
)

// RequestHeader is the header of an answer that has the id of its request.
const RequestHeader = fiber.HeaderXRequestID

// Identify gives a request its id, before anything else is done with it: 16 hex digits,
// drawn here. None is taken from whoever asks: it could be anyone's name, repeat another's,
// or make up lines of the log. It is no secret and nobody has to be unable to guess it. It
// lies in the answer's header alone, so that a scan costs nothing for it. It fails as what
// follows does.
func Identify(c *fiber.Ctx) error {
	identify(c)
	return c.Next()
}

func identify(c *fiber.Ctx) {
	var raw [8]byte
	_, _ = rand.Read(raw[:]) // never fails
	var text [16]byte
	hex.Encode(text[:], raw[:])
	c.Response().Header.SetBytesV(RequestHeader, text[:])
}

// RequestID is the id of a request. One that failed before anything was done with it,
// because it could not be read, is given its own now.
func RequestID(c *fiber.Ctx) string {
	if len(c.Response().Header.Peek(RequestHeader)) == 0 {
		identify(c)
	}
	return string(c.Response().Header.Peek(RequestHeader))
}

// LogOf is the log for what happens to a request: its lines have the request's id.
// Lines of the log name no person, no badge, and nothing that someone asked for: of an
// address they have the way in as the table of routes has it.
func (s *House) LogOf(c *fiber.Ctx) *slog.Logger { return s.Log.With("request", RequestID(c)) }
