package web

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

// statusOf is the one table from the kind of an error to its HTTP status.
var statusOf = map[traveler.ErrorKind]int{
	traveler.KindInvalid:   fiber.StatusBadRequest,
	traveler.KindNotFound:  fiber.StatusNotFound,
	traveler.KindForbidden: fiber.StatusForbidden,
	traveler.KindUnknown:   fiber.StatusUnauthorized,
	traveler.KindConflict:  fiber.StatusConflict,
	traveler.KindTooLarge:  fiber.StatusRequestEntityTooLarge,
	traveler.KindFull:      fiber.StatusInsufficientStorage,
	traveler.KindCorrupt:   fiber.StatusInternalServerError,
	traveler.KindBusy:      fiber.StatusServiceUnavailable,
	traveler.KindInternal:  fiber.StatusInternalServerError,
	kindEncoding:           fiber.StatusUnsupportedMediaType,
	kindTooMany:            fiber.StatusTooManyRequests,
}

// problem is an RFC 9457 problem document.
type problem struct {
	Type   string `json:"type"`
	Title  string `json:"title"`
	Status int    `json:"status"`
	Detail string `json:"detail,omitempty"`
	Field  string `json:"field,omitempty"`
	Kind   string `json:"kind"`
}

// problemOf makes the problem document of an error.
func problemOf(c *fiber.Ctx, err error) problem {
	p := problem{Type: "about:blank"}
	var te *traveler.Error
	var fe *fiber.Error
	switch {
	case errors.As(err, &te):
		p.Status, p.Kind, p.Field, p.Detail = statusOf[te.Kind], string(te.Kind), te.Field, outside(te.Say).Text(language(c))
		if te.Field != "" {
			p.Detail = te.Field + " " + p.Detail
		}
	case errors.As(err, &fe):
		p.Status, p.Kind, p.Detail = fe.Code, "http", fe.Message
	default:
		p.Status, p.Kind, p.Detail = fiber.StatusInternalServerError, string(traveler.KindInternal), msg("web.internal").Text(language(c))
	}
	p.Title = fiber.NewError(p.Status).Message
	return p
}

// outside is a sentence without the folders of this computer: of a file it names
// the last part only.
func outside(m traveler.Msg) traveler.Msg {
	if !strings.HasPrefix(m.Key, "store.") {
		return m
	}
	args := make([]string, len(m.Args))
	for i, a := range m.Args {
		args[i] = a[strings.LastIndexAny(a, `/\`)+1:]
	}
	return traveler.Msg{Key: m.Key, Args: args}
}

// fail answers an error as a problem document.
func (s *Server) fail(c *fiber.Ctx, err error) error {
	p := problemOf(c, err)
	if p.Status >= fiber.StatusInternalServerError {
		s.cfg.Log.Error("request failed", "method", c.Method(), "path", c.Path(), "err", err)
	}
	body, err := json.Marshal(p)
	if err != nil {
		return err
	}
	c.Status(p.Status)
	c.Set(fiber.HeaderContentType, "application/problem+json")
	c.Set(fiber.HeaderCacheControl, "no-store")
	return c.Send(body)
}

// param is a part of the path, as it was meant: works orders may hold a slash.
func param(c *fiber.Ctx, name string) string {
	v, err := url.PathUnescape(c.Params(name))
	if err != nil {
		return c.Params(name)
	}
	return v
}

// queryInt is a whole number of the query, or the usual one where none is named.
func queryInt(c *fiber.Ctx, name string, usual int) (int, error) {
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

func msg(key string, args ...string) traveler.Msg { return traveler.Msg{Key: key, Args: args} }

// language is the language the one who asks reads, as far as there is a
// catalogue for it.
func language(c *fiber.Ctx) string {
	return c.AcceptsLanguages("en")
}

// decode reads a JSON body strictly: one value, no unknown fields.
func decode(c *fiber.Ctx, v any) error {
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
