package door

import (
	"crypto/subtle"
	"encoding/base64"
	"encoding/hex"
	"io"
	"strings"
	"sync"
	"time"

	"github.com/gofiber/fiber/v2"
	"golang.org/x/crypto/argon2"

	"tallywalk/traveler"
	"tallywalk/traveler/rows"
	"tallywalk/web/ask"
)

// account is someone who signs in with a name and a password.
type account struct {
	// ID is another each time the account is made or gets a password; those made
	// before there were IDs have none.
	ID   string        `json:"id,omitempty"`
	Name string        `json:"name"`
	Role traveler.Role `json:"role"`
	Salt string        `json:"salt"`
	Hash string        `json:"hash"`
	Made time.Time     `json:"made"`
	By   string        `json:"by"`
}

// argon2id with 19 MiB, two passes, one lane: the least that OWASP's password
// storage notes advise (from memory).
const (
	argonTime   = 2
	argonMemory = 19 * 1024
	argonLanes  = 1
	argonBytes  = 32

	leastPassword = 10
	mostPassword  = 200
)

func hashPassword(password string, salt []byte) string {
	return base64.RawStdEncoding.EncodeToString(argon2.IDKey([]byte(password), salt, argonTime, argonMemory, argonLanes, argonBytes))
}

func (s *Door) newAccount(name, password string, role traveler.Role, by string) (account, error) {
	a := account{Name: name, Role: role, Made: s.Time(), By: by}
	if !goodName(name) {
		return a, traveler.Invalid("name", "web.name")
	}
	if reserved(name) {
		return a, traveler.Invalid("name", "web.reserved", traveler.Importer)
	}
	if !role.Valid() || role == traveler.RoleWatcher {
		return a, traveler.Invalid("role", "web.rolename", string(role))
	}
	if n := len([]rune(password)); n < leastPassword || len(password) > mostPassword {
		return a, traveler.Invalid("password", "web.password")
	}
	random := make([]byte, 32)
	if _, err := io.ReadFull(s.Rand, random); err != nil {
		return a, err
	}
	salt := random[:16]
	a.Salt, a.ID = hex.EncodeToString(salt), hex.EncodeToString(random[16:])
	done := s.hashing.take(knew)
	a.Hash = hashPassword(password, salt)
	done()
	return a, nil
}

// goodName reports whether a text can be the name of an account, token, station
// or screen.
func goodName(name string) bool {
	return name != "" && traveler.CleanText(name, 60) && strings.TrimSpace(name) == name
}

func (a *account) opens(password string) bool {
	salt, err := hex.DecodeString(a.Salt)
	if err != nil || len(password) > mostPassword {
		return false
	}
	return subtle.ConstantTimeCompare([]byte(hashPassword(password, salt)), []byte(a.Hash)) == 1
}

// tries slows down guessing: after a few wrong passwords a name waits.
type tries struct {
	mu   sync.Mutex
	seen map[string]attempt
}

type attempt struct {
	n    int
	last time.Time
}

const (
	freeTries = 5
	triesWait = time.Minute
	mostTries = 10_000 // names remembered
)

// allow counts a try before it is made, so that tries at the same time count
// too; false means that the name must wait.
func (t *tries) allow(name string, now time.Time) bool {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.seen == nil || len(t.seen) >= mostTries {
		t.seen = map[string]attempt{}
	}
	a := t.seen[name]
	if now.Sub(a.last) >= triesWait {
		a.n = 0
	}
	if a.n >= freeTries {
		return false
	}
	t.seen[name] = attempt{a.n + 1, now}
	return true
}

// right forgets the tries of one who knew the password.
func (t *tries) right(name string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	delete(t.seen, name)
}

// signIn is who signs in.
type signIn struct {
	Name     string `json:"name"`
	Password string `json:"password"`
}

// signedIn is whose session was opened.
type signedIn struct {
	Name string        `json:"name"`
	Role traveler.Role `json:"role"`
}

// postSignIn opens a session.
func (s *Door) postSignIn(c *fiber.Ctx) error {
	var in signIn
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	now := s.Time()
	if len(in.Name) > mostPassword {
		return traveler.Fail(traveler.KindUnknown, "web.wrong")
	}
	// Counted for each computer apart: nobody can lock out someone else.
	from := in.Name + " " + s.address(c)
	if !s.tries.allow(from, now) {
		return tooMany(c)
	}
	address, turn, err := s.guess(&s.signIns, c)
	if err != nil {
		return err
	}
	var a account
	ok, err := s.row(tableAccounts, in.Name, &a)
	if err != nil {
		return err
	}
	if !ok {
		a = account{Salt: "00", Hash: "none"} // takes as long as a real one
	}
	done := s.hashing.take(turn)
	ok = a.opens(in.Password) && ok
	done()
	if !ok {
		return traveler.Fail(traveler.KindUnknown, "web.wrong")
	}
	s.tries.right(from)
	s.signIns.right(address)
	return s.openSession(c, a)
}

func (s *Door) openSession(c *fiber.Ctx, a account) error {
	secret, err := s.secret()
	if err != nil {
		return err
	}
	now := s.Time()
	if err := s.sweep(tableSessions, now); err != nil {
		return err
	}
	row := pass{Name: a.Name, Role: a.Role, Made: now, Until: now.Add(sessionTime), Account: a.ID}
	if err := s.putRow(tableSessions, sumOf(secret), row); err != nil {
		return err
	}
	s.cookie(c, cookieSession, secret, sessionTime)
	return c.JSON(signedIn{a.Name, a.Role})
}

// sweep removes rows that no longer hold.
func (s *Door) sweep(table string, now time.Time) error {
	all, err := rows.All[pass](s.Tables, table)
	if err != nil {
		return err
	}
	for key, p := range all {
		if p.over(now) {
			if err := s.Tables.Delete(table, key); err != nil {
				return err
			}
		}
	}
	return nil
}

func (s *Door) cookie(c *fiber.Ctx, name, value string, life time.Duration) {
	c.Cookie(&fiber.Cookie{
		Name: name, Value: value, Path: "/", MaxAge: int(life / time.Second),
		HTTPOnly: true, Secure: s.Secure, SameSite: fiber.CookieSameSiteLaxMode,
	})
}

func (s *Door) dropCookie(c *fiber.Ctx, name string) {
	c.Cookie(&fiber.Cookie{Name: name, Path: "/", MaxAge: -1, Expires: time.Unix(1, 0), HTTPOnly: true, Secure: s.Secure, SameSite: fiber.CookieSameSiteLaxMode})
}

// postSignOut ends the session.
func (s *Door) postSignOut(c *fiber.Ctx) error {
	if p := Who(c); p.How == byAccount {
		if err := s.Tables.Delete(tableSessions, p.Key); err != nil {
			return err
		}
	}
	s.dropCookie(c, cookieSession)
	return c.SendStatus(fiber.StatusNoContent)
}

// firstAccount is the first account, with the one-time code for it.
type firstAccount struct {
	Code     string `json:"code"`
	Name     string `json:"name"`
	Password string `json:"password"`
}

// postFirst makes the first account, an administrator, with the one-time code
// that the first start printed.
func (s *Door) postFirst(c *fiber.Ctx) error {
	var in firstAccount
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	if _, err := s.guessOnce(c, in.Code, "first", false); err != nil {
		return err
	}
	a, err := s.newAccount(in.Name, in.Password, traveler.RoleAdministrator, "first start")
	if err != nil {
		return err
	}
	if _, err := s.takeOnce(in.Code, "first", true); err != nil {
		return err
	}
	if err := s.putRow(tableAccounts, a.Name, a); err != nil {
		return err
	}
	return s.openSession(c, a)
}

// FirstCode makes the one-time code for the first account; empty when there is
// an account already. Earlier such codes end.
func (s *Door) FirstCode() (string, error) {
	all, err := rows.All[account](s.Tables, tableAccounts)
	if err != nil || len(all) > 0 {
		return "", err
	}
	codes, err := rows.All[pass](s.Tables, tableOnce)
	if err != nil {
		return "", err
	}
	for key, p := range codes {
		if p.Kind == "first" {
			if err := s.Tables.Delete(tableOnce, key); err != nil {
				return "", err
			}
		}
	}
	return s.giveOnce(pass{Kind: "first"}, 24*time.Hour)
}

// giveOnce makes a code that works once: eight characters that can be typed.
func (s *Door) giveOnce(p pass, life time.Duration) (string, error) {
	b := make([]byte, 8)
	if _, err := io.ReadFull(s.Rand, b); err != nil {
		return "", err
	}
	const letters = "23456789ABCDEFGHJKMNPQRSTVWXYZ23" // 32, none that look alike
	for i := range b {
		b[i] = letters[b[i]&31]
	}
	p.Made, p.Until = s.Time(), s.Time().Add(life)
	code := string(b)
	return code[:4] + "-" + code[4:], s.putRow(tableOnce, sumOf(code), p)
}

// guessOnce looks a one-time code up for someone who may be guessing.
func (s *Door) guessOnce(c *fiber.Ctx, code, kind string, take bool) (pass, error) {
	address, _, err := s.guess(&s.guesses, c)
	if err != nil {
		return pass{}, err
	}
	p, err := s.takeOnce(code, kind, take)
	if err == nil {
		s.guesses.right(address)
	}
	return p, err
}

func (s *Door) takeOnce(code, kind string, take bool) (pass, error) {
	s.once.Lock()
	defer s.once.Unlock()
	now := s.Time()
	key := sumOf(strings.ToUpper(strings.ReplaceAll(strings.TrimSpace(code), "-", "")))
	var p pass
	ok, err := s.row(tableOnce, key, &p)
	if err != nil {
		return p, err
	}
	ok = ok && p.Kind == kind && now.Before(p.Until)
	if !ok {
		return p, traveler.Fail(traveler.KindUnknown, "web.code")
	}
	if take {
		return p, s.Tables.Delete(tableOnce, key)
	}
	return p, nil
}
