package web_test

import (
	"net/url"
	"os"
	"regexp"
	"strings"
	"testing"

	"tallywalk/traveler"
	"tallywalk/web/webtest"
)

// The cookie of a wall screen opens the boards, what they are drawn with, and
// what is open to strangers; all else is shut, whatever is added to the tables.
func TestScreenSeesBoardsOnly(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{}).As(traveler.RoleSupervisor)
	var screen struct{ Link string }
	r.Do("POST", "/api/v1/screens", map[string]any{"name": "Hall"}, &screen)
	wall := r.Visitor()
	wall.Token = ""
	if got := wall.Do("GET", screen.Link[strings.Index(screen.Link, "/wall/"):], nil, nil); got != 302 {
		t.Fatalf("the link: %d", got)
	}
	open := map[string]int{
		"/waits": 200, "/ground": 200, "/pace": 200, "/live": 426, "/static/0/web/lib/wall.js": 307,
		"/api/v1/me":    200,
		"/api/v1/clock": 200, "/api/v1/shop": 200, "/api/v1/waits": 200, "/api/v1/ground": 200,
		"/api/v1/pace":        200,
		"/api/v1/ground/plan": 200, "/api/v1/ground/pictures/:ref": 404,
	}
	for path, want := range open {
		if got := wall.Do("GET", strings.Replace(path, ":ref", "x", 1), nil, nil); got != want {
			t.Errorf("%s: %d, want %d", path, got, want)
		}
	}
	for _, x := range r.Server.Routes() {
		if _, ok := open[x.Path]; ok && x.Method == "GET" || x.Deed == "" {
			continue
		}
		if got := wall.Do(x.Method, webtest.Fill(x.Path), nil, nil); got != 403 {
			t.Errorf("%s %s: %d", x.Method, x.Path, got)
		}
	}
	for _, f := range pageAddresses(t) {
		if _, ok := open[f[1]]; ok || f[2] == `""` {
			continue
		}
		if got := wall.Do("GET", webtest.Fill(f[1]), nil, nil); got != 403 {
			t.Errorf("the page %s: %d", f[1], got)
		}
	}
}

// pageAddresses are the address of each page, and what one must be allowed to do.
func pageAddresses(t *testing.T) [][]string {
	t.Helper()
	raw, err := os.ReadFile("pages.go")
	if err != nil {
		t.Fatal(err)
	}
	found := regexp.MustCompile(`\{"(/[^"]*)", (""|traveler\.\w+), desk\(`).FindAllStringSubmatch(
		string(raw), -1)
	if len(found) < 10 {
		t.Fatalf("%d pages", len(found))
	}
	return found
}

// A number in an address that is none is refused, not taken for the usual one.
func TestNumbersInAddresses(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{Open: true})
	for _, path := range []string{
		"load?weeks=", "batches?limit=", "compare?part=1001-04&size=",
		"pace/operation?part=1001-04&route_rev=1&operation=", "check?most=",
	} {
		for _, v := range []string{"99999999999999999999", "x", "1.5", "1e3", "-", "0x10"} {
			r.Refused("GET", "/api/v1/"+path+url.QueryEscape(v), nil, 400)
		}
	}
	for path, want := range map[string]int{
		"load?weeks=4": 200, "load?weeks=": 200, "load?weeks=53": 400, "batches?limit=-5": 200,
		"check?most=0": 400,
	} {
		if got := r.Do("GET", "/api/v1/"+path, nil, nil); got != want {
			t.Errorf("%s: %d, want %d", path, got, want)
		}
	}
}
