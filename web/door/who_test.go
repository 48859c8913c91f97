package door

import (
	"crypto/rand"
	"log/slog"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/gofiber/fiber/v2"
	"github.com/valyala/fasthttp"

	"tallywalk/traveler"
	"tallywalk/traveler/rows"
	"tallywalk/traveler/rows/rowstest"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
)

// A session is of one account: that of another of the same name, which was made
// while someone signed in, or that came back with a copy, opens nothing. Those
// from before accounts had IDs go on, until the account gets one.
func TestSessionsAreOfOneAccount(t *testing.T) {
	m, at := &rowstest.Tables{}, time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	real := at
	// each look is a second after the last one
	later := func() time.Time { real = real.Add(time.Second); return real }
	s := &Door{House: &ask.House{Tables: m, Now: func() time.Time { return at }, Real: later}}
	for _, c := range []struct {
		session, account string
		in               bool
	}{{"", "", true}, {"1", "1", true}, {"1", "2", false}, {"", "2", false}, {"1", "", false}} {
		write(t, m, tableAccounts, "Bob", account{ID: c.account, Name: "Bob", Role: traveler.RolePlanner})
		write(
			t, m, tableSessions, sumOf("secret"),
			pass{Name: "Bob", Role: traveler.RoleAdministrator, Until: at.Add(time.Hour), Account: c.session},
		)
		p := s.byPass(tableSessions, byAccount, "secret")
		if (p.How == byAccount) != c.in || c.in && p.Role != traveler.RolePlanner {
			t.Errorf("a session of account %q, where there is %q: %+v", c.session, c.account, p)
		}
		if c.in && !s.Still(p) {
			t.Error("let in, and not still")
		}
		p.Role = traveler.RoleAdministrator
		if s.Still(p) {
			t.Error("a socket goes on in a role that the account has not")
		}
	}
}

func write(t *testing.T, m story.Tables, table, key string, row any) {
	t.Helper()
	if err := rows.Write(m, table, key, row); err != nil {
		t.Fatal(err)
	}
}

// A sign-in from an address that has not guessed does not wait while those who
// guess have the turn.
func TestHonestSignInHasItsOwnTurn(t *testing.T) {
	m := &rowstest.Tables{}
	s := New(
		&ask.House{Tables: m, Now: time.Now, Real: time.Now, Rand: rand.Reader,
			Log: slog.New(slog.DiscardHandler)},
		nil, nil,
	)
	app := fiber.New()
	app.Post("/", s.postSignIn)
	a, err := s.newAccount("Ada", "long enough for this", traveler.RolePlanner, "a test")
	if err != nil {
		t.Fatal(err)
	}
	write(t, m, tableAccounts, "Ada", a)
	defer s.hashing.take(guessing)()
	for _, others := range []rank{guessing, fresh} { // the second time the address is known, and newcomers have the turn
		if others == fresh {
			defer s.hashing.take(fresh)()
		}
		req := httptest.NewRequest(
			"POST", "/", strings.NewReader(`{"name":"Ada","password":"long enough for this"}`),
		)
		req.Header.Set("Content-Type", "application/json")
		resp, err := app.Test(req, -1) // returns, or this test never ends
		if err != nil {
			t.Fatal(err)
		}
		if _ = resp.Body.Close(); resp.StatusCode != 200 {
			t.Errorf("%d", resp.StatusCode)
		}
	}
}

// A device's pass at other servers opens them over the kind of connection that it was given
// over alone: what crossed the network in the clear opens nothing over TLS.
func TestPassIsOfOneKindOfConnection(t *testing.T) {
	m, at := &rowstest.Tables{}, time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	now := func() time.Time { return at }
	s := &Door{House: &ask.House{Tables: m, Now: now, Real: now}}
	write(t, m, tableStations, "key", pass{Name: "Tablet", Role: traveler.RoleOperator, Device: "D1"})
	for given, tls := range map[string]bool{"over TLS": true, "in the clear": false} {
		write(t, m, tableCrossings, sumOf(given), crossing{ByStation, "key", tls})
		for _, asked := range []bool{true, false} {
			var h fasthttp.RequestHeader
			h.Set(deviceHeader, given)
			if p := s.byCrossing(&h, asked); (p.How == ByStation && p.Device == "D1") != (tls == asked) {
				t.Errorf("given %s, asked over TLS %v: %+v", given, asked, p)
			}
		}
	}
}
