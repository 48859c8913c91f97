package door_test

import (
	"strings"
	"testing"

	"tallywalk/traveler"
	"tallywalk/web/webtest"
)

// The first account by the one-time link, a station by a code, a wall screen by
// its link: each may do what it is for, and nothing else.
func TestSignIn(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{})
	stranger := r.Visitor()
	for path, want := range map[string]int{
		"/api/v1/waits": 401, "/api/v1/me": 401, "/live": 401, "/waits": 302, "/batch/B1": 302,
		"/healthz": 200,
		"/sign-in": 200, "/api/v1/openapi.json": 200,
	} {
		if got := stranger.Do("GET", path, nil, nil); got != want {
			t.Errorf("a stranger gets %d at %s, want %d", got, path, want)
		}
	}
	code, err := r.Server.FirstCode()
	if err != nil || code == "" {
		t.Fatalf("no one-time code: %v", err)
	}
	boss := r.Visitor()
	first := map[string]any{"code": code, "name": "Ada", "password": "short"}
	if got := boss.Do("POST", "/api/v1/first", first, nil); got != 400 {
		t.Errorf("a short password: %d", got)
	}
	first["password"] = "long enough for this"
	if got := boss.Do("POST", "/api/v1/first", first, nil); got != 200 {
		t.Fatalf("the first account: %d", got)
	}
	if got := r.Visitor().Do("POST", "/api/v1/first", first, nil); got != 401 {
		t.Errorf("the code works once only, not %d", got)
	}
	if got := boss.Do("GET", "/api/v1/accounts", nil, nil); got != 200 {
		t.Errorf("the administrator sees accounts: %d", got)
	}

	guessInVain(t, r)
	var enrol struct{ Code string }
	if got := boss.Do(
		"POST", "/api/v1/enrol-codes", map[string]any{"name": "Tablet by T1", "machine": "T1"}, &enrol,
	); got != 201 {
		t.Fatalf("enrol code: %d", got)
	}
	tablet := r.Visitor()
	var st struct{ Device, Machine string }
	if got := tablet.Do(
		"POST", "/api/v1/enrol", map[string]any{"code": strings.ToLower(enrol.Code)}, &st,
	); got != 200 || st.Machine != "T1" || st.Device == "" {
		t.Fatalf("enrol: %d %+v", got, st)
	}
	card := boss.Card("W-501")
	if a := tablet.Scan(
		webtest.Said{"station": "T1", "card": card, "action": "setup", "operator": "11"},
	)[0]; a.Outcome != "kept" {
		t.Errorf("%+v", a)
	}
	if a := tablet.Scan(
		webtest.Said{"station": "T1", "card": card, "action": "hold", "operator": "11"},
	)[0]; a.Outcome != "refused" {
		t.Errorf("an operator's badge may not hold: %+v", a)
	}
	if a := tablet.Scan(
		webtest.Said{"station": "T1", "card": card, "action": "hold", "operator": "31", "reason": "limit"},
	)[0]; a.Outcome != "refused" {
		t.Errorf("an inspector's clock number is no badge: %+v", a)
	}
	var people struct {
		People []struct{ Person, Code string }
	}
	boss.Do("GET", "/api/v1/people", nil, &people)
	for _, p := range people.People {
		if p.Person != "31" {
			continue
		}
		if a := tablet.Scan(
			webtest.Said{"station": "T1", "card": card, "action": "hold", "operator": p.Code,
				"reason": "limit"},
		)[0]; a.Outcome != "kept" {
			t.Errorf("an inspector's badge may: %+v", a)
		}
	}
	var known struct{ Person, Name, Code string }
	if tablet.Do(
		"GET", "/api/v1/people/31", nil, &known,
	); known.Person != "31" || known.Name != "" || known.Code != "" {
		t.Errorf("a station learns more than the number that was typed: %+v", known)
	}
	if a := tablet.Scan(
		webtest.Said{"station": "T1", "card": card, "action": "count", "operator": "99", "good": 1},
	)[0]; a.Outcome != "refused" || !strings.Contains(a.Say, "99") {
		t.Errorf("an unknown badge: %+v", a)
	}
	if got := tablet.Do("GET", "/api/v1/accounts", nil, nil); got != 403 {
		t.Errorf("a station sees no accounts: %d", got)
	}

	looksOnly(t, r, boss)
	if got := boss.Do("POST", "/api/v1/sign-out", map[string]any{}, nil); got != 204 {
		t.Errorf("sign out: %d", got)
	}
	if got := boss.Do("GET", "/api/v1/me", nil, nil); got != 401 {
		t.Errorf("signed out: %d", got)
	}
}

// guessInVain guesses a password: after five a name waits.
func guessInVain(t *testing.T, r *webtest.Rig) {
	t.Helper()
	guess := r.Visitor()
	for i := range 7 {
		want := 401
		if i >= 5 {
			want = 429
		}
		if got := guess.Do(
			"POST", "/api/v1/sign-in", map[string]any{"name": "Ada", "password": "guess guess guess"}, nil,
		); got != want {
			t.Errorf("guess %d: %d, want %d", i, got, want)
		}
	}
}

// looksOnly holds that a wall screen looks, and says nothing.
func looksOnly(t *testing.T, r, boss *webtest.Rig) {
	t.Helper()
	var screen struct{ Link string }
	boss.Do("POST", "/api/v1/screens", map[string]any{"name": "Hall"}, &screen)
	wall := r.Visitor()
	if got := wall.Do("GET", screen.Link[strings.Index(screen.Link, "/wall/"):], nil, nil); got != 302 {
		t.Fatalf("the wall screen's link: %d", got)
	}
	if got := wall.Do("GET", "/api/v1/waits", nil, nil); got != 200 {
		t.Errorf("a wall screen looks: %d", got)
	}
	if got := wall.Do(
		"POST", "/api/v1/scans", map[string]any{"scans": []webtest.Said{{"id": webtest.NewID()}}}, nil,
	); got != 403 {
		t.Errorf("a wall screen says nothing: %d", got)
	}
}

// Each way into the API is closed to those it is not for.
func TestRolesOfTokens(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{})
	for role, want := range map[traveler.Role][3]int{
		traveler.RoleOperator:      {403, 403, 403},
		traveler.RoleSupervisor:    {400, 201, 403},
		traveler.RolePlanner:       {400, 403, 403},
		traveler.RoleAdministrator: {400, 201, 200},
	} {
		x := r.As(role)
		got := [3]int{
			x.Do("POST", "/api/v1/batches", map[string]any{}, nil),
			x.Do("POST", "/api/v1/screens", map[string]any{"name": "x"}, nil),
			x.Do("GET", "/api/v1/accounts", nil, nil),
		}
		if got != want {
			t.Errorf("%s: %v, want %v", role, got, want)
		}
	}
	r.Token = "tw_wrong"
	if got := r.Do("GET", "/api/v1/waits", nil, nil); got != 401 {
		t.Errorf("a wrong token: %d", got)
	}
}
