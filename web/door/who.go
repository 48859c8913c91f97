package door

import (
	"encoding/hex"
	"io"
	"strings"
	"time"

	"github.com/gofiber/fiber/v2"
	"github.com/valyala/fasthttp"

	"tallywalk/traveler"
	"tallywalk/traveler/people"
	"tallywalk/traveler/rows"
	"tallywalk/web/ask"
)

// Change changes the shop in the name of who asks. It fails as the desk does: with
// KindConflict where a used revision would change, with KindBusy while the clock is
// in doubt, with KindFull when the disk is.
func (s *Door) Change(c *fiber.Ctx, ch *traveler.Change) error {
	p := Who(c)
	return s.Desk.Change(c.Context(), traveler.Actor{Name: p.Name, Role: p.Role}, ch)
}

// Names of cookies. Over TLS they carry a prefix (RFC 6265bis, 4.1.3.2), so that what was
// given over plain HTTP, where everybody could read it, opens nothing over TLS, and a
// station is a device of one origin: its counter and what it keeps are of that one.
const (
	overTLS       = "__Host-"
	cookieSession = "tw_session"
	cookieStation = "tw_station"
	cookieScreen  = "tw_screen"
	// cookieLanguage keeps what was chosen in this browser.
	cookieLanguage = "tw_language"
	sessionTime    = 12 * time.Hour
	stationTime    = 400 * 24 * time.Hour // browsers keep no cookie longer
)

// secret makes a new secret of 32 random bytes, in hex.
func (s *Door) secret() (string, error) {
	b := make([]byte, 32)
	if _, err := io.ReadFull(s.Rand, b); err != nil {
		return "", err
	}
	return hex.EncodeToString(b), nil
}

// recognise finds out who asks and notes it in the context.
func (s *Door) recognise(c *fiber.Ctx) {
	var p Principal
	if h := &c.Request().Header; crosses(c) {
		p = s.byCrossing(h, ask.Encrypted(c))
	} else {
		p = s.find(h, prefix(c))
	}
	c.Locals("who", p)
	s.Reads(c, p.Language, c.Cookies(prefix(c)+cookieLanguage))
}

// prefix is what the names of cookies begin with on a connection.
func prefix(c *fiber.Ctx) string {
	if ask.Encrypted(c) {
		return overTLS
	}
	return ""
}

// find finds out who asks by the header alone, with cookies of that prefix: the body may
// not be read yet.
func (s *Door) find(h *fasthttp.RequestHeader, prefix string) Principal {
	if auth := string(h.Peek(fiber.HeaderAuthorization)); auth != "" {
		if t, ok := strings.CutPrefix(auth, "Bearer "); ok {
			return s.byPass(tableTokens, byToken, strings.TrimSpace(t))
		}
		return Principal{}
	}
	for _, x := range []struct{ cookie, table, how string }{
		{cookieSession, tableSessions, byAccount},
		{cookieStation, tableStations, ByStation},
		{cookieScreen, tableScreens, ByScreen},
	} {
		if v := string(h.Cookie(prefix + x.cookie)); v != "" {
			if p := s.byPass(x.table, x.how, v); p.How != ByNobody {
				return p
			}
		}
	}
	return s.orOpen()
}

// orOpen is who nobody is: in the demo, someone who may do everything.
func (s *Door) orOpen() Principal {
	if s.Open {
		return Principal{How: byOpen, Name: "demo", Role: traveler.RoleAdministrator}
	}
	return Principal{}
}

func (s *Door) byPass(table, how, secret string) Principal {
	return s.byKey(table, how, sumOf(secret))
}

// byKey is who a pass lets in now.
func (s *Door) byKey(table, how, key string) Principal {
	now, real := s.Time(), s.Real()
	found, turn, ok := s.letIn.find(table, key, now, real)
	if ok {
		return found
	}
	var p pass
	if ok, err := s.row(table, key, &p); err != nil || !ok || p.over(now) {
		return Principal{}
	}
	if how == byAccount {
		// The account is that of now: its role, and whether it is the same.
		var a account
		if ok, err := s.row(tableAccounts, p.Name, &a); err != nil || !ok || a.ID != p.Account {
			return Principal{}
		}
		p.Role, p.Language = a.Role, a.Language
	}
	if p.Wall != nil {
		p.Language = p.Wall.Language
	}
	found = Principal{How: how, Name: p.Name, Role: p.Role, Key: key, Language: p.Language}
	if how == ByStation {
		found.Device = traveler.DeviceID(p.Device)
	}
	s.letIn.note(table, key, turn, known{found, p.Until, real})
	return found
}

// tableOf says where each kind of pass is kept.
var tableOf = map[string]string{
	byAccount: tableSessions, byToken: tableTokens, ByStation: tableStations, ByScreen: tableScreens,
}

// Still reports whether someone who was let in would be let in now, as the same
// and to do the same.
func (s *Door) Still(p Principal) bool {
	if p.How == byOpen {
		return true
	}
	table := tableOf[p.How]
	if table == "" {
		return false
	}
	now := s.byKey(table, p.How, p.Key)
	now.Language = p.Language // another choice of language ends no socket
	return now == p
}

// Who is the one who asks, as Guard found out.
func Who(c *fiber.Ctx) Principal {
	p, _ := c.Locals("who").(Principal)
	return p
}

// forScreens are the addresses that a wall screen may ask for: the boards and
// what they are drawn with. A screen hangs where everybody can take its cookie.
var forScreens = map[string]bool{
	"/waits": true, "/ground": true, "/pace": true, "/live": true,
	"/api/v1/shop": true, "/api/v1/waits": true, "/api/v1/ground": true, "/api/v1/pace": true,
	"/api/v1/ground/plan": true, "/api/v1/ground/pictures/:ref": true,
}

// Allow lets only those through who may do the deed: the one door of the API.
func (s *Door) Allow(d traveler.Deed, h fiber.Handler) fiber.Handler {
	return func(c *fiber.Ctx) error {
		p := Who(c)
		if p.How == ByNobody {
			return traveler.Fail(traveler.KindUnknown, "web.signin")
		}
		if !traveler.May(p.Role, d) {
			s.Log.Warn("not allowed", "who", p.How, "pass", shortID(p.Key), "role", p.Role, "deed", d,
				"method", c.Method(), "way", c.Route().Path)
			return traveler.Fail(traveler.KindForbidden, "web.role", string(p.Role))
		}
		if p.How == ByScreen && !forScreens[c.Route().Path] {
			return traveler.Fail(traveler.KindForbidden, "web.wall")
		}
		return h(c)
	}
}

// Actor is who answers for a scan: at a station, or where a program speaks
// for several people, the badge says who, and the badge's role counts.
func (s *Door) Actor(p Principal, operator traveler.PersonID) traveler.Actor {
	a := traveler.Actor{Name: p.Name, Role: p.Role}
	if p.How != ByStation || operator == "" {
		return a
	}
	person, ok := people.Find(s.Tables, string(operator))
	if !ok {
		return traveler.Actor{Name: p.Name}
	}
	// A clock number is easily guessed; only the badge itself, and not one that was
	// replaced, lends its role.
	if code, _ := people.BadgeCode(string(operator)); code == person.Code && traveler.May(
		person.Role, traveler.DeedScan,
	) {
		a.Role = person.Role
	}
	return a
}

func (s *Door) row(table, key string, v any) (bool, error) {
	return rows.Read(s.Tables, table, key, v)
}

func (s *Door) putRow(table, key string, v any) error {
	return rows.Write(s.Tables, table, key, v)
}

// reserved reports whether a name is the importer's: what goes by that name is
// taken for what was imported.
func reserved(name string) bool {
	return strings.EqualFold(strings.TrimSpace(name), traveler.Importer)
}
