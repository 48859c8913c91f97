package door

import (
	"encoding/hex"
	"io"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/rows"
	"tallywalk/web/ask"
)

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
	if easy(password, name) {
		return a, traveler.Invalid("password", "web.easy")
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
		s.Log.Warn("sign-in refused", "account", shortID(a.ID), "address", address)
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
	// The one of before ends when there is another: whoever can't be let in stays in.
	if err := s.endSession(c); err != nil {
		return err
	}
	s.cookie(c, cookieSession, secret, sessionTime)
	s.Log.Info("signed in", "account", shortID(a.ID), "session", shortID(sumOf(secret)), "role", a.Role,
		"address", s.address(c))
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
		Name: prefix(c) + name, Value: value, Path: "/", MaxAge: int(life / time.Second),
		HTTPOnly: true, Secure: s.Secure || ask.Encrypted(c), SameSite: fiber.CookieSameSiteLaxMode,
	})
}

func (s *Door) dropCookie(c *fiber.Ctx, name string) {
	c.Cookie(
		&fiber.Cookie{
			Name: prefix(c) + name, Path: "/", MaxAge: -1, Expires: time.Unix(1, 0), HTTPOnly: true,
			Secure: s.Secure || ask.Encrypted(c), SameSite: fiber.CookieSameSiteLaxMode,
		},
	)
}

// postSignOut ends the session.
func (s *Door) postSignOut(c *fiber.Ctx) error {
	if err := s.endSession(c); err != nil {
		return err
	}
	s.dropCookie(c, cookieSession)
	return c.SendStatus(fiber.StatusNoContent)
}

// endSession ends the session of who asks, if there is one.
func (s *Door) endSession(c *fiber.Ctx) error {
	p := Who(c)
	if p.How != byAccount {
		return nil
	}
	s.Log.Info("session ended", "session", shortID(p.Key), "address", s.address(c))
	return s.Tables.Delete(tableSessions, p.Key)
}
