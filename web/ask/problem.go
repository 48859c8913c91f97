package ask

import (
	"encoding/json"
	"errors"
	"strings"

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
	KindEncoding:           fiber.StatusUnsupportedMediaType,
	KindTooMany:            fiber.StatusTooManyRequests,
}

// Problem is an RFC 9457 problem document.
type Problem struct {
	Type   string `json:"type"`
	Title  string `json:"title"`
	Status int    `json:"status"`
	Detail string `json:"detail,omitempty"`
	Field  string `json:"field,omitempty"`
	Kind   string `json:"kind"`
	// Request is the id of the request, as the answer's header X-Request-ID has it
	// too. The server's log names what went wrong by it.
	Request string `json:"request"`
}

// ProblemOf makes the problem document of an error: its own sentence where it is a
// traveler.Error or one of fiber, else that something went wrong here.
func ProblemOf(c *fiber.Ctx, err error) Problem {
	p := Problem{Type: "about:blank", Request: RequestID(c)}
	var te *traveler.Error
	var fe *fiber.Error
	switch {
	case errors.As(err, &te):
		p.Status, p.Kind, p.Field = statusOf[te.Kind], string(te.Kind), te.Field
		p.Detail = outside(te.Say).Text(Language(c))
		if te.Field != "" {
			p.Detail = te.Field + " " + p.Detail
		}
	case errors.As(err, &fe) && fe.Code == fiber.StatusRequestEntityTooLarge:
		p.Status, p.Kind, p.Detail = fe.Code, string(traveler.KindTooLarge), Msg("web.body").Text(Language(c))
	case errors.As(err, &fe):
		p.Status, p.Kind, p.Detail = fe.Code, "http", fe.Message
	default:
		p.Status, p.Kind = fiber.StatusInternalServerError, string(traveler.KindInternal)
		p.Detail = Msg("web.internal").Text(Language(c))
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

// Fail answers an error as a problem document; the server's own faults are logged.
// It fails when the answer cannot be written.
func (s *House) Fail(c *fiber.Ctx, err error) error {
	p := ProblemOf(c, err)
	if p.Status >= fiber.StatusInternalServerError {
		s.LogOf(c).Error("request failed", "method", c.Method(), "way", c.Route().Path, "err", err)
	}
	body, err := json.Marshal(p)
	if err != nil {
		return err
	}
	Protect(c) // what cannot be read at all comes here first
	c.Status(p.Status)
	c.Set(fiber.HeaderContentType, "application/problem+json")
	c.Set(fiber.HeaderCacheControl, "no-store")
	return c.Send(body)
}

// KindTooMany is the kind of what is asked too often.
const KindTooMany traveler.ErrorKind = "too_many"

// KindEncoding is the kind of a body whose encoding is not taken.
const KindEncoding traveler.ErrorKind = "encoding"
