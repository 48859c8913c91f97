package web

import (
	"crypto/sha256"
	"encoding/hex"
	"io"
	"strings"
	"time"

	"github.com/gofiber/fiber/v2"
	"github.com/valyala/fasthttp"

	"tallywalk/traveler"
	"tallywalk/traveler/rows"
)

// How someone can be known.
const (
	byNobody  = ""
	byAccount = "account" // signed in with name and password
	byToken   = "token"   // bearer token of a program
	byStation = "station" // an enrolled device; the badge says who
	byScreen  = "screen"  // a wall screen's read-only link
	byOpen    = "open"    // the demo
)

// principal is who asks.
type principal struct {
	How  string
	Name string
	Role traveler.Role
	Key  string // row of the session, station, screen or token
	// Device is what a station's scans are kept with.
	Device traveler.DeviceID
}

// The tables of who may come in. Keys are SHA-256 sums of the secrets, so that
// a copy of the file opens no door.
const (
	tableAccounts = "accounts" // by name
	tableSessions = "sessions"
	tableTokens   = "tokens"
	tableStations = "stations"
	tableScreens  = "screens"
	tableOnce     = "once" // one-time codes: first account, enrolling
)

// pass is a row that lets someone in: a session, token, station or screen.
type pass struct {
	Name    string        `json:"name"`
	Role    traveler.Role `json:"role"`
	Machine string        `json:"machine,omitempty"`
	Made    time.Time     `json:"made"`
	By      string        `json:"by,omitempty"`
	Until   time.Time     `json:"until,omitzero"`
	Seen    time.Time     `json:"seen,omitzero"`
	Kind    string        `json:"kind,omitempty"` // of a one-time code
	Device  string        `json:"device,omitempty"`
	Wall    *wall         `json:"wall,omitempty"` // what a screen shows
	// Account is the ID of the account that a session is of: one that is made
	// again under the same name is another.
	Account string `json:"account,omitempty"`
}

// over reports whether its time has come.
func (p *pass) over(now time.Time) bool { return !p.Until.IsZero() && !now.Before(p.Until) }

// passID is how much of a pass's key names it; the whole is the hash of a secret.
const passID = 16

const (
	cookieSession = "tw_session"
	cookieStation = "tw_station"
	cookieScreen  = "tw_screen"
	sessionTime   = 12 * time.Hour
	stationTime   = 400 * 24 * time.Hour // browsers keep no cookie longer
)

func sumOf(secret string) string {
	h := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(h[:])
}

// secret makes a new secret of 32 random bytes, in hex.
func (s *Server) secret() (string, error) {
	b := make([]byte, 32)
	if _, err := io.ReadFull(s.cfg.Rand, b); err != nil {
		return "", err
	}
	return hex.EncodeToString(b), nil
}

// recognise finds out who asks and notes it in the context.
func (s *Server) recognise(c *fiber.Ctx) {
	c.Locals("who", s.find(&c.Request().Header))
}

// find finds out who asks by the header alone: the body may not be read yet.
func (s *Server) find(h *fasthttp.RequestHeader) principal {
	if auth := string(h.Peek(fiber.HeaderAuthorization)); auth != "" {
		if t, ok := strings.CutPrefix(auth, "Bearer "); ok {
			return s.byPass(tableTokens, byToken, strings.TrimSpace(t))
		}
		return principal{}
	}
	for _, x := range []struct{ cookie, table, how string }{
		{cookieSession, tableSessions, byAccount},
		{cookieStation, tableStations, byStation},
		{cookieScreen, tableScreens, byScreen},
	} {
		if v := string(h.Cookie(x.cookie)); v != "" {
			if p := s.byPass(x.table, x.how, v); p.How != byNobody {
				return p
			}
		}
	}
	if s.cfg.Open {
		return principal{How: byOpen, Name: "demo", Role: traveler.RoleAdministrator}
	}
	return principal{}
}

func (s *Server) byPass(table, how, secret string) principal {
	return s.byKey(table, how, sumOf(secret))
}

// byKey is who a pass lets in now.
func (s *Server) byKey(table, how, key string) principal {
	now, real := s.now(), s.cfg.Real()
	found, turn, ok := s.letIn.find(table, key, now, real)
	if ok {
		return found
	}
	var p pass
	if ok, err := s.row(table, key, &p); err != nil || !ok || p.over(now) {
		return principal{}
	}
	if how == byAccount {
		// The account is that of now: its role, and whether it is the same.
		var a account
		if ok, err := s.row(tableAccounts, p.Name, &a); err != nil || !ok || a.ID != p.Account {
			return principal{}
		}
		p.Role = a.Role
	}
	found = principal{How: how, Name: p.Name, Role: p.Role, Key: key}
	if how == byStation {
		found.Device = traveler.DeviceID(p.Device)
	}
	s.letIn.note(table, key, turn, known{found, p.Until, real})
	return found
}

// tableOf says where each kind of pass is kept.
var tableOf = map[string]string{byAccount: tableSessions, byToken: tableTokens, byStation: tableStations, byScreen: tableScreens}

// still reports whether someone who was let in would be let in now, as the same
// and to do the same.
func (s *Server) still(p principal) bool {
	if p.How == byOpen {
		return true
	}
	table := tableOf[p.How]
	return table != "" && s.byKey(table, p.How, p.Key) == p
}

func who(c *fiber.Ctx) principal {
	p, _ := c.Locals("who").(principal)
	return p
}

// forScreens are the addresses that a wall screen may ask for: the boards and
// what they are drawn with. A screen hangs where everybody can take its cookie.
var forScreens = map[string]bool{
	"/waits": true, "/ground": true, "/pace": true, "/live": true,
	"/api/v1/shop": true, "/api/v1/waits": true, "/api/v1/ground": true, "/api/v1/pace": true,
	"/api/v1/ground/plan": true, "/api/v1/ground/pictures/:ref": true,
}

// allow lets only those through who may do the deed: the one door of the API.
func (s *Server) allow(d traveler.Deed, h fiber.Handler) fiber.Handler {
	return func(c *fiber.Ctx) error {
		p := who(c)
		if p.How == byNobody {
			return traveler.Fail(traveler.KindUnknown, "web.signin")
		}
		if !traveler.May(p.Role, d) {
			return traveler.Fail(traveler.KindForbidden, "web.role", string(p.Role))
		}
		if p.How == byScreen && !forScreens[c.Route().Path] {
			return traveler.Fail(traveler.KindForbidden, "web.wall")
		}
		return h(c)
	}
}

// actor is who stands behind a scan: at a station, or where a program speaks
// for several people, the badge says who, and the badge's role counts.
func (s *Server) actor(p principal, operator traveler.PersonID) traveler.Actor {
	a := traveler.Actor{Name: p.Name, Role: p.Role}
	if p.How != byStation || operator == "" {
		return a
	}
	person, ok := personIn(s.cfg.Tables, string(operator))
	if !ok {
		return traveler.Actor{Name: p.Name}
	}
	// A clock number is easily guessed; only the badge itself, and not one that was
	// replaced, lends its role.
	if code, _ := badgeCode(string(operator)); code == person.Code && traveler.May(person.Role, traveler.DeedScan) {
		a.Role = person.Role
	}
	return a
}

func (s *Server) row(table, key string, v any) (bool, error) {
	return rows.Read(s.cfg.Tables, table, key, v)
}

func (s *Server) putRow(table, key string, v any) error {
	return rows.Write(s.cfg.Tables, table, key, v)
}

// reserved reports whether a name is the importer's: what goes by that name is
// taken for what was imported.
func reserved(name string) bool {
	return strings.EqualFold(strings.TrimSpace(name), traveler.Importer)
}
