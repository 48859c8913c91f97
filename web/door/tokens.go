package door

import (
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/rows"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
)

// How long a token holds, in days.
const (
	TokenDays    = 365
	MaxTokenDays = 3650
)

// Token is what is known of a program's bearer token; of the secret only its
// hash is kept.
type Token struct {
	ID    string        `json:"id"`
	Name  string        `json:"name"`
	Role  traveler.Role `json:"role" api:"enum=watcher|operator|inspector|supervisor|planner|administrator"`
	By    string        `json:"by"`
	Made  time.Time     `json:"made"`
	Until time.Time     `json:"until,omitzero"` // missing: made before tokens had an end
}

// TokenAsk is a token that is wanted: an empty name is chosen, zero days are
// TokenDays.
type TokenAsk struct {
	Name string        `json:"name,omitempty"` // chosen when it is missing
	Role traveler.Role `json:"role" api:"enum=watcher|operator|inspector|supervisor|planner|administrator"`
	Days int           `json:"days,omitempty" api:"min=0,max=3650"` // 365 when it is missing
}

// NewToken lets a program in that shows the secret that it returns. It fails with
// KindInvalid where what is asked for makes no sense, with KindConflict where there
// is a token of that name, and as the tables and random do.
func NewToken(
	t story.Tables, random io.Reader, ask TokenAsk, by string, now time.Time,
) (string, Token, error) {
	b := make([]byte, 32)
	if _, err := io.ReadFull(random, b); err != nil {
		return "", Token{}, err
	}
	if err := ask.fill(t, now); err != nil {
		return "", Token{}, err
	}
	secret := "tw_" + hex.EncodeToString(b)
	p := pass{Name: ask.Name, Role: ask.Role, Made: now, By: by, Until: now.AddDate(0, 0, ask.Days)}
	row, err := json.Marshal(p)
	if err != nil {
		return "", Token{}, err
	}
	key := sumOf(secret)
	return secret, tokenOf(key, &p), t.Put(tableTokens, key, row)
}

// fill checks what is asked for, and puts in what was left out.
func (a *TokenAsk) fill(t story.Tables, now time.Time) error {
	if !a.Role.Valid() {
		return traveler.Invalid("role", "web.tokenrole", string(a.Role))
	}
	if a.Days == 0 {
		a.Days = TokenDays
	}
	if a.Days < 1 || a.Days > MaxTokenDays {
		return traveler.Invalid("days", "web.days", fmt.Sprint(MaxTokenDays))
	}
	if reserved(a.Name) {
		return traveler.Invalid("name", "web.reserved", traveler.Importer)
	}
	if a.Name != "" && !goodName(a.Name) {
		return traveler.Invalid("name", "web.name")
	}
	names, err := tokenNames(t, now)
	if err != nil {
		return err
	}
	if a.Name != "" && names[a.Name] {
		return &traveler.Error{Kind: traveler.KindConflict, Field: "name", Say: ask.Msg("web.taken", a.Name)}
	}
	for n := 1; a.Name == ""; n++ {
		name := "token " + string(a.Role)
		if n > 1 {
			name += fmt.Sprint(" ", n)
		}
		if !names[name] {
			a.Name = name
		}
	}
	return nil
}

// tokenNames are the names of the tokens that hold; what is over is swept.
func tokenNames(t story.Tables, now time.Time) (map[string]bool, error) {
	all, err := rows.All[pass](t, tableTokens)
	if err != nil {
		return nil, err
	}
	names := map[string]bool{}
	for key, p := range all {
		if p.over(now) {
			if err := t.Delete(tableTokens, key); err != nil {
				return nil, err
			}
			continue
		}
		names[p.Name] = true
	}
	return names, nil
}

func tokenOf(key string, p *pass) Token {
	return Token{ID: key[:passID], Name: p.Name, Role: p.Role, By: p.By, Made: p.Made, Until: p.Until}
}

// Tokens lists the tokens, the oldest first. It fails as the tables do.
func Tokens(t story.Tables) ([]Token, error) {
	return rows.List(t, tableTokens, tokenOf, func(a, b Token) int { return a.Made.Compare(b.Made) })
}

// RevokeToken ends the tokens of a name or an id at once, and says how many. It
// fails with KindNotFound where there is none, and as the tables do.
func RevokeToken(t story.Tables, ref string) (n int, err error) {
	all, err := rows.All[pass](t, tableTokens)
	if err != nil {
		return 0, err
	}
	for key, p := range all {
		if p.Name != ref && key[:passID] != ref {
			continue
		}
		if err := t.Delete(tableTokens, key); err != nil {
			return n, err
		}
		n++
	}
	if n == 0 {
		return 0, traveler.Fail(traveler.KindNotFound, "web.notoken", ref)
	}
	return n, nil
}

type tokensView struct {
	Tokens []Token `json:"tokens"`
}

func (s *Door) getTokens(c *fiber.Ctx) error {
	all, err := Tokens(s.Tables)
	if err != nil {
		return err
	}
	return c.JSON(tokensView{all})
}

// tokenGiven is a new token with its secret, which is shown this once.
type tokenGiven struct {
	Token
	Secret string `json:"secret"`
}

func (s *Door) postToken(c *fiber.Ctx) error {
	var in TokenAsk
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	secret, t, err := NewToken(s.Tables, s.Rand, in, Who(c).Name, s.Time())
	if err != nil {
		return err
	}
	return c.Status(fiber.StatusCreated).JSON(tokenGiven{t, secret})
}
