package door_test

import (
	"log/slog"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"tallywalk/traveler"
	"tallywalk/web/webtest"
)

const ownPassword = "long enough for this"

// first makes the first account of a rig, and gives who is signed in so.
func first(t *testing.T, r *webtest.Rig, password string) *webtest.Rig {
	t.Helper()
	code, err := r.Server.FirstCode()
	if err != nil {
		t.Fatal(err)
	}
	boss := r.Visitor()
	if got := boss.Do("POST", "/api/v1/first",
		map[string]any{"code": code, "name": "Ada", "password": password}, nil); got != 200 {
		t.Fatalf("the first account: %d", got)
	}
	return boss
}

// Who comes in, who is refused and who may not is logged, each with its time and zone,
// on a line of its own; no name, no password, no code, nothing that was typed.
func TestEntriesAreLogged(t *testing.T) {
	t.Parallel()
	var log webtest.Lines
	r := webtest.New(t, webtest.Options{Log: slog.New(slog.NewTextHandler(&log, nil))})
	boss := first(t, r, ownPassword)
	forged := "Ada\ntime=2026 level=INFO msg=\"signed in\""
	for _, body := range []map[string]any{
		{"name": "Ada", "password": "not that one at all"},
		{"name": forged, "password": "not that one at all"},
	} {
		if got := r.Visitor().Do("POST", "/api/v1/sign-in", body, nil); got != 401 {
			t.Errorf("%v: %d", body, got)
		}
	}
	r.Visitor().Do("POST", "/api/v1/enrol", map[string]any{"code": "ABCD-EFGH"}, nil)
	r.As(traveler.RoleOperator).Do("GET", "/api/v1/accounts", nil, nil)
	boss.Do("POST", "/api/v1/accounts",
		map[string]any{"name": "Ben", "password": "another long one", "role": "planner"}, nil)
	boss.Do("DELETE", "/api/v1/accounts/Ben", nil, nil)
	boss.Do("POST", "/api/v1/sign-out", map[string]any{}, nil)
	said := log.String()
	for event, n := range map[string]int{
		`"signed in"`: 1, `"sign-in refused"`: 2, `"code refused"`: 1, `"not allowed"`: 1,
		`"account made or changed"`: 1,
		`"account removed"`:         1, `"session ended"`: 1,
	} {
		if got := strings.Count(said, "msg="+event); got != n {
			t.Errorf("%s is logged %d times, not %d:\n%s", event, got, n, said)
		}
	}
	whole := regexp.MustCompile(
		`^time=\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d+(Z|[+-]\d\d:\d\d) level=(INFO|WARN) msg="`)
	for line := range strings.Lines(said) {
		if !whole.MatchString(line) {
			t.Errorf("not a line of the log: %q", line)
		}
	}
	for _, never := range []string{"Ada", "Ben", ownPassword, "not that one", "another long one", "ABCD"} {
		if strings.Contains(said, never) {
			t.Errorf("%q is in the log:\n%s", never, said)
		}
	}
}

// A sign-in gives another session, and ends the one that the browser had: each is 32
// bytes by chance (OWASP ASVS 5.0, 7.2.3 asks for 16).
func TestSessionOfBeforeEnds(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{})
	boss := first(t, r, ownPassword)
	had := sessionOf(t, boss)
	if got := boss.Do("POST", "/api/v1/sign-in", map[string]any{"name": "Ada", "password": ownPassword},
		nil); got != 200 {
		t.Fatalf("signed in again: %d", got)
	}
	has := sessionOf(t, boss)
	if has == had || !regexp.MustCompile(`^[0-9a-f]{64}$`).MatchString(has) {
		t.Errorf("the session %s after %s", has, had)
	}
	for session, want := range map[string]int{had: 401, has: 200} {
		req, err := http.NewRequest("GET", r.Base+"/api/v1/me", nil)
		if err != nil {
			t.Fatal(err)
		}
		req.AddCookie(&http.Cookie{Name: "tw_session", Value: session})
		if got, _ := r.Send(req, nil); got != want {
			t.Errorf("session %s: %d, want %d", session, got, want)
		}
	}
}

// sessionOf is the session that a browser has.
func sessionOf(t *testing.T, c *webtest.Rig) string {
	t.Helper()
	req, err := http.NewRequest("GET", c.Base, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range c.HTTP.Jar.Cookies(req.URL) {
		if k.Name == "tw_session" {
			return k.Value
		}
	}
	t.Fatal("no session")
	return ""
}

// A session's cookie is for no script, and goes with no request that another site makes
// but a link that someone follows.
func TestCookiesSayWhatTheyAreFor(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{})
	first(t, r, ownPassword)
	req, err := http.NewRequest("POST", r.Base+"/api/v1/sign-in",
		strings.NewReader(`{"name":"Ada","password":"`+ownPassword+`"}`))
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/json")
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	_ = resp.Body.Close()
	cookies := resp.Cookies()
	if len(cookies) != 1 || !cookies[0].HttpOnly || cookies[0].SameSite != http.SameSiteLaxMode ||
		cookies[0].Path != "/" || cookies[0].Domain != "" {
		t.Errorf("%+v", cookies)
	}
}

// Any characters and any length up to 200 will do, taken as they are typed; not what is
// guessed first. No password ends by the calendar: what is kept of it has no end.
func TestPasswordsThatAreGuessed(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{})
	boss := first(t, r, ownPassword)
	for password, want := range map[string]int{
		"tallywalk1": 400, "Tallywalk2026!": 400, "passwordpassword": 400, "Benjamin12": 400,
		"benjamin benjamin": 400,
		"supervisor1":       400, "aaaaaaaaaaaaaaaa": 400, "1234567890": 400, "qwertyuiop12": 400,
		"password123456": 400, "qwerty123456": 400, "abc123abc123": 400, "iloveyouiloveyou": 400,
		"1234512345":     400,
		"workshop2026!!": 400, "benjamin_2026": 400, "hasło123456": 400,
		"correct horse battery staple": 201, "only lower case letters": 201, "59302716485": 201,
		"ünïcödé wörds ßß":        201,
		"  spaces at both ends  ": 201, "tallywalk, and seven other things": 201,
		strings.Repeat("a1b2c3d4", 16): 201,
	} {
		body := map[string]any{"name": "Benjamin", "password": password, "role": "planner"}
		if got := boss.Do("POST", "/api/v1/accounts", body, nil); got != want {
			t.Errorf("%q: %d, want %d", password, got, want)
		}
	}
	const kept = "  Spaces and Cases  "
	boss.Do("POST", "/api/v1/accounts",
		map[string]any{"name": "Benjamin", "password": kept, "role": "planner"}, nil)
	for password, want := range map[string]int{kept: 200, strings.TrimSpace(kept): 401,
		strings.ToLower(kept): 401} {
		if got := r.Visitor().Do("POST", "/api/v1/sign-in",
			map[string]any{"name": "Benjamin", "password": password}, nil); got != want {
			t.Errorf("%q signs in: %d, want %d", password, got, want)
		}
	}
}
