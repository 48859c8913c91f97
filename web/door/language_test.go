package door_test

import (
	"net/http"
	"strings"
	"testing"

	"tallywalk/traveler"
	"tallywalk/web/webtest"
)

// ask makes a request of a browser that takes some languages.
func ask(t *testing.T, c *webtest.Rig, path, accept string) string {
	t.Helper()
	req, err := http.NewRequest("GET", c.Base+path, nil)
	if err != nil {
		t.Fatal(err)
	}
	if accept != "" {
		req.Header.Set("Accept-Language", accept)
	}
	_, body := c.Send(req, nil)
	return string(body)
}

// pageIn is the language of a page.
func pageIn(t *testing.T, c *webtest.Rig, path, accept string) string {
	t.Helper()
	body := ask(t, c, path, accept)
	_, rest, ok := strings.Cut(body, `<html lang="`)
	code, rest, _ := strings.Cut(rest, `"`)
	if !ok || !strings.HasPrefix(rest, ` dir="ltr" data-languages="`) {
		t.Fatalf("%s: no page: %.200s", path, body)
	}
	return code
}

// saidIn is the language of what the server says.
func saidIn(t *testing.T, c *webtest.Rig, accept string) string {
	t.Helper()
	body := ask(t, c, "/api/v1/people/none-such", accept)
	for code, word := range map[string]string{
		"en": "is not known", "de": "ist nicht bekannt", "es": "no se conoce", "pl": "jest nieznany",
		"tr": "tanınmıyor",
	} {
		if strings.Contains(body, word) {
			return code
		}
	}
	t.Fatalf("said in no language: %s", body)
	return ""
}

// What someone reads: what the address names, what the browser says, the shop's own; a
// page in the best that it has.
func TestLanguages(t *testing.T) {
	r := webtest.New(t, webtest.Options{Language: "es"}).As(traveler.RoleAdministrator)
	for _, x := range []struct{ path, accept, page, said string }{
		{"/waits", "de-AT, en;q=0.5", "de", "de"},
		{"/waits", "fr, pl;q=0.8, de;q=0.9", "de", "de"},
		{"/waits", "fr", "es", "es"}, // the shop's
		{"/waits", "", "es", "es"},   // a program that says nothing
		{"/batches", "tr, de;q=0.2", "de", "tr"},
		{"/batches", "tr", "en", "tr"}, // no desk page is in Turkish or in Spanish
		{"/waits?language=pl", "tr", "pl", "tr"},
		{"/waits?language=xx", "tr", "tr", "tr"},
		{"/waits", "tr;q=0, pl;q=0.1", "pl", "pl"},
		{"/waits", "no, such;;q=list", "es", "es"},
	} {
		page, said := pageIn(t, r, x.path, x.accept), saidIn(t, r, x.accept)
		if page != x.page || said != x.said {
			t.Errorf("%s, %q: page %s and answers %s, wanted %s and %s", x.path, x.accept, page, said, x.page,
				x.said)
		}
	}
}

// What was chosen is kept: at a station with the station, by someone who is signed in
// with the account, in a browser that is nobody's as a cookie, for a wall with its link.
func TestLanguageIsKept(t *testing.T) {
	r := webtest.New(t, webtest.Options{})
	boss := r.As(traveler.RoleAdministrator)
	var enrol struct{ Code string }
	if got := boss.Do("POST", "/api/v1/enrol-codes", map[string]any{"name": "Tablet", "language": "pl"},
		&enrol); got != 201 {
		t.Fatalf("enrol code: %d", got)
	}
	tablet := r.Visitor()
	if got := tablet.Do("POST", "/api/v1/enrol", map[string]any{"code": enrol.Code}, nil); got != 200 {
		t.Fatalf("enrol: %d", got)
	}
	choose := func(c *webtest.Rig, code string, want int) {
		t.Helper()
		if got := c.Do("POST", "/api/v1/language", map[string]any{"language": code}, nil); got != want {
			t.Errorf("%q is chosen: %d", code, got)
		}
	}
	is := func(what string, c *webtest.Rig, path, want string) {
		t.Helper()
		if got := pageIn(t, c, path, "en"); got != want {
			t.Errorf("%s: %s, wanted %s", what, got, want)
		}
	}
	is("a station, as it was enrolled", tablet, "/station", "pl")
	choose(tablet, "tr", 200)
	is("a station that chose", tablet, "/station", "tr")
	choose(tablet, "", 200)
	is("a station that chose none", tablet, "/station", "en")
	choose(tablet, "xx", 400)

	anna := map[string]any{"name": "Anna", "password": "a long one of her own", "role": "planner"}
	if got := boss.Do("POST", "/api/v1/accounts", anna, nil); got != 201 {
		t.Fatalf("account: %d", got)
	}
	delete(anna, "role")
	signedIn := func() *webtest.Rig {
		t.Helper()
		c := r.Visitor()
		if got := c.Do("POST", "/api/v1/sign-in", anna, nil); got != 200 {
			t.Fatalf("sign in: %d", got)
		}
		return c
	}
	here := signedIn()
	choose(here, "de", 200)
	is("an account", here, "/", "de")
	is("an account in another browser", signedIn(), "/", "de")

	nobody := r.Visitor()
	choose(nobody, "de", 200)
	is("a browser that is nobody's", nobody, "/sign-in", "de")

	var link struct{ Link string }
	wall := map[string]any{"name": "Hall", "board": "pace", "language": "tr"}
	if got := boss.Do("POST", "/api/v1/screens", wall, &link); got != 201 {
		t.Fatalf("screen: %d", got)
	}
	screen := r.Visitor()
	ask(t, screen, link.Link[strings.Index(link.Link, "/wall/"):], "en")
	is("a wall", screen, "/pace?wall=1", "tr")
	wall["language"] = "xx"
	if got := boss.Do("POST", "/api/v1/screens", wall, nil); got != 400 {
		t.Errorf("a wall in no language: %d", got)
	}
}
