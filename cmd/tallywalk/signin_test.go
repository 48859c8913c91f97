package main

import (
	"net/http"
	"net/http/cookiejar"
	"regexp"
	"strings"
	"testing"

	"tallywalk/traveler"
)

// visitor is a browser without its screen: it keeps cookies.
func (r *rig) visitor() *rig {
	jar, err := cookiejar.New(nil)
	if err != nil {
		r.t.Fatal(err)
	}
	n := *r
	n.client = &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	return &n
}

// The first account by the one-time link, a station by a code, a wall screen by
// its link: each may do what it is for, and nothing else.
func TestSignIn(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{})
	stranger := r.visitor()
	for path, want := range map[string]int{"/api/v1/waits": 401, "/api/v1/me": 401, "/live": 401, "/waits": 302, "/batch/B1": 302, "/healthz": 200, "/sign-in": 200, "/api/v1/openapi.json": 200} {
		if got := stranger.do("GET", path, nil, nil); got != want {
			t.Errorf("a stranger gets %d at %s, want %d", got, path, want)
		}
	}
	code := regexp.MustCompile(`/first\?code=(\S+)`).FindStringSubmatch(r.out.String())
	if code == nil {
		t.Fatalf("no one-time link in %q", r.out.String())
	}
	boss := r.visitor()
	first := map[string]any{"code": code[1], "name": "Ada", "password": "short"}
	if got := boss.do("POST", "/api/v1/first", first, nil); got != 400 {
		t.Errorf("a short password: %d", got)
	}
	first["password"] = "long enough for this"
	if got := boss.do("POST", "/api/v1/first", first, nil); got != 200 {
		t.Fatalf("the first account: %d", got)
	}
	if got := r.visitor().do("POST", "/api/v1/first", first, nil); got != 401 {
		t.Errorf("the code works once only, not %d", got)
	}
	if got := boss.do("GET", "/api/v1/accounts", nil, nil); got != 200 {
		t.Errorf("the administrator sees accounts: %d", got)
	}

	guess := r.visitor()
	for i := range 7 {
		want := 401
		if i >= 5 {
			want = 429
		}
		if got := guess.do("POST", "/api/v1/sign-in", map[string]any{"name": "Ada", "password": "guess guess guess"}, nil); got != want {
			t.Errorf("guess %d: %d, want %d", i, got, want)
		}
	}

	var enrol struct{ Code string }
	if got := boss.do("POST", "/api/v1/enrol-codes", map[string]any{"name": "Tablet by T1", "machine": "T1"}, &enrol); got != 201 {
		t.Fatalf("enrol code: %d", got)
	}
	tablet := r.visitor()
	var st struct{ Device, Machine string }
	if got := tablet.do("POST", "/api/v1/enrol", map[string]any{"code": strings.ToLower(enrol.Code)}, &st); got != 200 || st.Machine != "T1" || st.Device == "" {
		t.Fatalf("enrol: %d %+v", got, st)
	}
	card := boss.card("W-501")
	if a := tablet.scan(said{"station": "T1", "card": card, "action": "setup", "operator": "11"})[0]; a.Outcome != "kept" {
		t.Errorf("%+v", a)
	}
	if a := tablet.scan(said{"station": "T1", "card": card, "action": "hold", "operator": "11"})[0]; a.Outcome != "refused" {
		t.Errorf("an operator's badge may not hold: %+v", a)
	}
	if a := tablet.scan(said{"station": "T1", "card": card, "action": "hold", "operator": "31", "reason": "limit"})[0]; a.Outcome != "refused" {
		t.Errorf("an inspector's clock number is no badge: %+v", a)
	}
	var people struct {
		People []struct{ Person, Code string }
	}
	boss.do("GET", "/api/v1/people", nil, &people)
	for _, p := range people.People {
		if p.Person != "31" {
			continue
		}
		if a := tablet.scan(said{"station": "T1", "card": card, "action": "hold", "operator": p.Code, "reason": "limit"})[0]; a.Outcome != "kept" {
			t.Errorf("an inspector's badge may: %+v", a)
		}
	}
	var known struct{ Person, Name, Code string }
	if tablet.do("GET", "/api/v1/people/31", nil, &known); known.Person != "31" || known.Name != "" || known.Code != "" {
		t.Errorf("a station is told more than the number that was typed: %+v", known)
	}
	if a := tablet.scan(said{"station": "T1", "card": card, "action": "count", "operator": "99", "good": 1})[0]; a.Outcome != "refused" || !strings.Contains(a.Say, "99") {
		t.Errorf("an unknown badge: %+v", a)
	}
	if got := tablet.do("GET", "/api/v1/accounts", nil, nil); got != 403 {
		t.Errorf("a station sees no accounts: %d", got)
	}

	var screen struct{ Link string }
	boss.do("POST", "/api/v1/screens", map[string]any{"name": "Hall"}, &screen)
	wall := r.visitor()
	if got := wall.do("GET", screen.Link[strings.Index(screen.Link, "/wall/"):], nil, nil); got != 302 {
		t.Fatalf("the wall screen's link: %d", got)
	}
	if got := wall.do("GET", "/api/v1/waits", nil, nil); got != 200 {
		t.Errorf("a wall screen looks: %d", got)
	}
	if got := wall.do("POST", "/api/v1/scans", map[string]any{"scans": []said{{"id": newID()}}}, nil); got != 403 {
		t.Errorf("a wall screen says nothing: %d", got)
	}
	if got := boss.do("POST", "/api/v1/sign-out", map[string]any{}, nil); got != 204 {
		t.Errorf("sign out: %d", got)
	}
	if got := boss.do("GET", "/api/v1/me", nil, nil); got != 401 {
		t.Errorf("signed out: %d", got)
	}
}

// Each way into the API is closed to those it is not for.
func TestRolesOfTokens(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{})
	for role, want := range map[traveler.Role][3]int{
		traveler.RoleOperator:      {403, 403, 403},
		traveler.RoleSupervisor:    {400, 201, 403},
		traveler.RolePlanner:       {400, 403, 403},
		traveler.RoleAdministrator: {400, 201, 200},
	} {
		x := r.as(role)
		got := [3]int{
			x.do("POST", "/api/v1/batches", map[string]any{}, nil), x.do("POST", "/api/v1/screens", map[string]any{"name": "x"}, nil),
			x.do("GET", "/api/v1/accounts", nil, nil),
		}
		if got != want {
			t.Errorf("%s: %v, want %v", role, got, want)
		}
	}
	r.token = "tw_wrong"
	if got := r.do("GET", "/api/v1/waits", nil, nil); got != 401 {
		t.Errorf("a wrong token: %d", got)
	}
}
