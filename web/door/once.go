package door

import (
	"io"
	"strings"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/rows"
	"tallywalk/web/ask"
)

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

// FirstCode makes the one-time code for the first account; empty when there is an
// account already. Earlier such codes end. It fails as the tables and the source of
// random numbers do.
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
	} else {
		s.Log.Warn("code refused", "for", kind, "address", address)
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
