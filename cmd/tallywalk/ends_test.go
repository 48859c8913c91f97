package main

import (
	"net/http"
	"regexp"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"tallywalk/traveler"
)

// endsWithin is how long a socket may stay open that should be closed. It is to
// close within a second; pings, by which it was found out before, come every
// twenty.
const endsWithin = 12 * time.Second

// watch opens a board as who the rig is.
func (r *rig) watch() *websocket.Conn {
	r.t.Helper()
	h := http.Header{}
	if r.token != "" {
		h.Set("Authorization", "Bearer "+r.token)
	}
	d := websocket.Dialer{}
	if r.client != nil {
		d.Jar = r.client.Jar
	}
	ws, resp, err := d.Dial("ws"+strings.TrimPrefix(r.base, "http")+"/live?board=waits", h)
	if err != nil {
		r.t.Fatal(err)
	}
	_ = resp.Body.Close()
	r.t.Cleanup(func() { _ = ws.Close() })
	if _, _, err := ws.ReadMessage(); err != nil {
		r.t.Fatal(err)
	}
	return ws
}

// ended waits until the server closes a board.
func (r *rig) ended(what string, ws *websocket.Conn) {
	r.t.Helper()
	if err := ws.SetReadDeadline(time.Now().Add(endsWithin)); err != nil {
		r.t.Fatal(err)
	}
	for {
		_, _, err := ws.ReadMessage()
		if err == nil {
			continue
		}
		if strings.Contains(err.Error(), "timeout") {
			r.t.Errorf("%s: the board stays open", what)
		}
		return
	}
}

// gone checks that someone is let in no more.
func (r *rig) gone(what string) {
	r.t.Helper()
	if got := r.do("GET", "/api/v1/waits", nil, nil); got != http.StatusUnauthorized {
		r.t.Errorf("%s: %d at the boards", what, got)
	}
}

// What lets someone in ends for good when it is taken away: the session, and
// the board that is open. A name that is made again is someone else.
func TestWhatIsTakenAwayEnds(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{})
	admin := r.as(traveler.RoleAdministrator)
	make := func(password string) {
		t.Helper()
		if got := admin.do("POST", "/api/v1/accounts",
			map[string]any{"name": "Bob", "password": password, "role": "supervisor"}, nil); got != 201 {
			t.Fatalf("account: %d", got)
		}
	}
	enter := func(password string) *rig {
		t.Helper()
		bob := r.visitor()
		if got := bob.do("POST", "/api/v1/sign-in", map[string]any{"name": "Bob", "password": password},
			nil); got != 200 {
			t.Fatalf("sign in: %d", got)
		}
		return bob
	}
	make("the first password")
	first := enter("the first password")
	board := first.watch()
	make("the second password")
	first.ended("another password", board)
	first.gone("another password")
	second := enter("the second password")
	board = second.watch()
	if got := admin.do("DELETE", "/api/v1/accounts/Bob", nil, nil); got != 204 {
		t.Errorf("delete: %d", got)
	}
	second.ended("the account is deleted", board)
	second.gone("the account is deleted")
	make("the second password")
	second.gone("an account of the same name and password")
	first.gone("an account of the same name")

	tablet, _ := r.tabletOf(admin, "Tablet")
	var screen struct{ Link string }
	admin.do("POST", "/api/v1/screens", map[string]any{"name": "Hall"}, &screen)
	wall := r.visitor()
	wall.do("GET", screen.Link[strings.Index(screen.Link, "/wall/"):], nil, nil)
	var list struct{ Stations, Screens []struct{ ID string } }
	admin.do("GET", "/api/v1/stations", nil, &list)
	for what, x := range map[string]struct {
		*rig
		path string
	}{"a station": {tablet, "/api/v1/stations/" + list.Stations[0].ID},
		"a wall screen": {wall, "/api/v1/screens/" + list.Screens[0].ID}} {
		board := x.watch()
		if got := admin.do("DELETE", x.path, nil, nil); got != 204 {
			t.Errorf("%s: %d", what, got)
		}
		x.ended(what, board)
		x.gone(what)
	}
}

// A token has a name, an end and a list; it is revoked by the command and by the
// page, and ends by itself.
func TestTokensEnd(t *testing.T) {
	t.Parallel()
	var ahead atomic.Int64
	r := newRig(t, rigOptions{
		runFrom: func() time.Time { return time.Now().Add(time.Duration(ahead.Load())) }})
	admin := r.as(traveler.RoleAdministrator)
	with := func(secret string) *rig { n := *r; n.token = strings.TrimSpace(secret); return &n }
	cell := with(r.cli("token", "--role", "operator", "--name", "cell 3", "--days", "30"))
	other := with(r.cli("token", "--role", "operator"))
	if got := r.turnedDown("token", "--role", "operator", "--name", "cell 3"); !strings.Contains(got,
		"cell 3") {
		t.Error(got)
	}
	text := r.cli("token", "--list")
	end := time.Now().UTC().AddDate(0, 0, 30).Format(time.DateOnly)
	if !regexp.MustCompile(`(?m)^[0-9a-f]{16}\s+operator\s+until `+end+`\s+cell 3$`).MatchString(text) ||
		strings.Count(text, "\n") != 3 || strings.Contains(text, cell.token) {
		t.Errorf("the list:\n%s", text)
	}
	board := cell.watch()
	r.cli("token", "--revoke", "cell 3")
	cell.ended("a token that was revoked by name", board)
	cell.gone("a token that was revoked by name")
	if got := r.turnedDown("token", "--revoke", "cell 3"); !strings.Contains(got, "--list") {
		t.Error(got)
	}

	var given struct{ ID, Secret, Name, Until string }
	if got := admin.do("POST", "/api/v1/tokens",
		map[string]any{"name": "cell 3", "role": "operator", "days": 1}, &given); got != 201 {
		t.Fatalf("a token by the page: %d", got)
	}
	paged := with(given.Secret)
	board = paged.watch()
	var list struct {
		Tokens []struct{ ID, Name, Role, Until string }
	}
	if admin.do("GET", "/api/v1/tokens", nil, &list); len(list.Tokens) != 3 ||
		list.Tokens[2].Name != "cell 3" || list.Tokens[2].ID != given.ID ||
		list.Tokens[2].Until != given.Until {
		t.Errorf("%+v", list)
	}
	if got := admin.do("DELETE", "/api/v1/tokens/"+given.ID, nil, nil); got != 204 {
		t.Errorf("revoke: %d", got)
	}
	paged.ended("a token that was revoked by the page", board)
	paged.gone("a token that was revoked by the page")
	for _, body := range []map[string]any{{"role": "boss"}, {"role": "operator", "days": -1},
		{"role": "operator", "days": 3651}, {"role": "operator", "name": "Import"},
		{"role": "operator", "name": " x"}} {
		admin.refused("POST", "/api/v1/tokens", body, 400)
	}
	if got := r.as(traveler.RoleSupervisor).do("GET", "/api/v1/tokens", nil, nil); got != 403 {
		t.Errorf("tokens for a supervisor: %d", got)
	}

	board = other.watch()
	ahead.Store(int64(366 * 24 * time.Hour))
	other.ended("a token whose time is over", board)
	other.gone("a token whose time is over")
}
