package ask

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
)

// PathParam is a part of the path, as it was meant: works orders may hold a slash.
func PathParam(c *fiber.Ctx, name string) string {
	v, err := url.PathUnescape(c.Params(name))
	if err != nil {
		return c.Params(name)
	}
	return v
}

// QueryInt is a whole number of the query, or the usual one where none is named. It
// fails with KindInvalid where the text is no whole number that fits.
func QueryInt(c *fiber.Ctx, name string, usual int) (int, error) {
	v := c.Query(name)
	if v == "" {
		return usual, nil
	}
	n, err := strconv.Atoi(v)
	if err != nil {
		return 0, traveler.Invalid(name, "web.whole", v)
	}
	return n, nil
}

// Msg is a sentence of the catalogue.
func Msg(key string, args ...string) traveler.Msg { return traveler.Msg{Key: key, Args: args} }

// Decode reads a JSON body strictly into v: one value, no unknown fields. It fails
// with KindInvalid, and names the field where it can, for anything else.
func Decode(c *fiber.Ctx, v any) error {
	if !strings.HasPrefix(c.Get(fiber.HeaderContentType), fiber.MIMEApplicationJSON) {
		return traveler.Invalid("", "web.content")
	}
	d := json.NewDecoder(bytes.NewReader(c.Request().Body()))
	d.DisallowUnknownFields()
	if err := d.Decode(v); err != nil {
		return badJSON(err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return traveler.Invalid("", "web.json", "something follows the end of it")
	}
	return nil
}

func badJSON(err error) error {
	var te *json.UnmarshalTypeError
	if errors.As(err, &te) && te.Field != "" {
		return traveler.Invalid(te.Field, "web.type", te.Value)
	}
	var pe *time.ParseError
	if errors.As(err, &pe) {
		return traveler.Invalid("", "web.time", strings.Trim(pe.Value, `"`))
	}
	if errors.As(err, &te) {
		return traveler.Invalid("", "web.type", te.Value)
	}
	return traveler.Invalid("", "web.json", strings.TrimPrefix(err.Error(), "json: "))
}

// IsUpgrade reports whether a request asks for a websocket (RFC 6455, 4.2.1).
func IsUpgrade(c *fiber.Ctx) bool {
	return strings.EqualFold(c.Get(fiber.HeaderUpgrade), "websocket") && strings.Contains(
		strings.ToLower(c.Get(fiber.HeaderConnection)), "upgrade",
	)
}
