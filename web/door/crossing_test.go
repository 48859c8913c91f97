package door_test

import (
	"encoding/json"
	"io"
	"net/http"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
	"tallywalk/web/door"
	"tallywalk/web/webtest"
)

// pair is two servers of one record, which hear of each other.
func pair(t *testing.T, o webtest.Options) (a, b *webtest.Rig, ofA, ofB *webtest.Servers) {
	t.Helper()
	ofA, ofB = &webtest.Servers{}, &webtest.Servers{}
	o.Servers = ofA
	a = webtest.New(t, o)
	o.Servers = ofB
	b = a.Beside(o)
	now := time.Now()
	if o.Now != nil {
		now = o.Now()
	}
	hear(a, b, ofA, ofB, now)
	return a, b, ofA, ofB
}

func hear(a, b *webtest.Rig, ofA, ofB *webtest.Servers, at time.Time) {
	one, two := story.Server{Name: "hall 1", URL: a.Base, Heard: at},
		story.Server{Name: "hall 2", URL: b.Base, Heard: at}
	mine, theirs := one, two
	mine.Self, theirs.Self, theirs.Writes = true, true, true
	ofA.Hear(mine, two)
	ofB.Hear(one, theirs)
}

// asked is how a page asks.
type asked struct {
	method, path, origin, pass, body string
	header                           map[string]string
}

// crossed asks a server and gives the answer.
func crossed(t *testing.T, r *webtest.Rig, q asked) (status int, h http.Header, body string) {
	t.Helper()
	req, err := http.NewRequestWithContext(t.Context(), q.method, r.Base+q.path, strings.NewReader(q.body))
	if err != nil {
		t.Fatal(err)
	}
	if q.body != "" {
		req.Header.Set("Content-Type", "application/json")
	}
	req.Header.Set("Origin", q.origin)
	if q.pass != "" {
		req.Header.Set("X-Tallywalk-Device", q.pass)
	}
	for k, v := range q.header {
		req.Header.Set(k, v)
	}
	client := r.HTTP
	if client == nil {
		client = http.DefaultClient
	}
	resp, err := client.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = resp.Body.Close() }()
	got, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return resp.StatusCode, resp.Header, string(got)
}

// passOf is the pass of a device at the other servers.
func passOf(t *testing.T, device *webtest.Rig) string {
	t.Helper()
	var given struct{ Pass string }
	if got := device.Do("POST", "/api/v1/crossing", map[string]any{}, &given); got != http.StatusOK ||
		len(given.Pass) != 64 {
		t.Fatalf("no pass: %d %q", got, given.Pass)
	}
	return given.Pass
}

// A station is known at the other server by its pass, as itself, until it is cut off; the
// pass is the same whenever it is asked for.
func TestStationCrosses(t *testing.T) {
	t.Parallel()
	a, b, _, _ := pair(t, webtest.Options{})
	boss := a.As(traveler.RoleSupervisor)
	tablet, device := a.Tablet(boss, "Tablet by T1")
	pass := passOf(t, tablet)
	if again := passOf(t, tablet); again != pass {
		t.Error("another pass the second time")
	}
	status, h, body := crossed(t, b, asked{method: "GET", path: "/api/v1/me", origin: a.Base, pass: pass})
	var me struct {
		How, Device string
		Servers     []struct {
			Name, URL string
			Self      bool
		}
	}
	if err := json.Unmarshal([]byte(body), &me); err != nil || me.How != "station" || me.Device != device {
		t.Fatalf("%d %s", status, body)
	}
	if len(me.Servers) != 2 || me.Servers[0].URL != a.Base || me.Servers[0].Self || !me.Servers[1].Self {
		t.Errorf("%+v", me.Servers)
	}
	if h.Get("Access-Control-Allow-Origin") != a.Base || h.Get("Access-Control-Allow-Credentials") != "" ||
		!strings.Contains(h.Get("Vary"), "Origin") {
		t.Errorf("%v", h)
	}
	scan := `{"scans":[{"id":"` + webtest.NewID() + `","at":"` + time.Now().UTC().Format(time.RFC3339) +
		`","station":"T1","card":"` + boss.Card("W-502") + `","action":"setup"}]}`
	for range 2 { // once more, as what was sent to a server that died
		status, _, body = crossed(t, b,
			asked{method: "POST", path: "/api/v1/scans", origin: a.Base, pass: pass, body: scan})
		if status != http.StatusOK || !strings.Contains(body, `"outcome":"kept"`) {
			t.Errorf("%d %s", status, body)
		}
	}
	if !strings.Contains(body, `"again":true`) {
		t.Errorf("the second time it is no news: %s", body)
	}
	if got := boss.Do("DELETE", "/api/v1/stations/"+stationID(t, boss), nil,
		nil); got != http.StatusNoContent {
		t.Fatal(got)
	}
	if status, _, body := crossed(t, b,
		asked{method: "GET", path: "/api/v1/me", origin: a.Base,
			pass: pass}); status != http.StatusUnauthorized {
		t.Errorf("cut off: %d %s", status, body)
	}
}

func stationID(t *testing.T, boss *webtest.Rig) string {
	t.Helper()
	var all struct{ Stations []struct{ ID string } }
	if boss.Do("GET", "/api/v1/stations", nil, &all); len(all.Stations) != 1 {
		t.Fatalf("%+v", all)
	}
	return all.Stations[0].ID
}

// What pages of other origins, other ways in and other credentials come to: nothing more
// than where one server keeps the record.
func TestCrossingIsNarrow(t *testing.T) {
	t.Parallel()
	a, b, _, _ := pair(t, webtest.Options{Public: "http://shop.test:8080"})
	boss := a.As(traveler.RoleSupervisor)
	tablet, _ := a.Tablet(boss, "Tablet by T1")
	pass := passOf(t, tablet)
	stationCookie := cookieAt(t, tablet)
	scans := `{"scans":[]}`
	for name, x := range map[string]struct {
		q      asked
		status int
		cors   bool
	}{
		"a stranger's page": {
			asked{method: "POST", path: "/api/v1/scans", origin: "http://elsewhere.test", pass: pass,
				body: scans}, 403, false},
		"a stranger's page looks": {
			asked{method: "GET", path: "/api/v1/me", origin: "http://elsewhere.test", pass: pass}, 401,
			false},
		"a stranger asks before": {
			asked{method: "OPTIONS", path: "/api/v1/scans", origin: "http://elsewhere.test",
				header: map[string]string{"Access-Control-Request-Method": "POST"}}, 403, false},
		"no origin at all": {
			asked{method: "POST", path: "/api/v1/scans", origin: "null", pass: pass, body: scans}, 403,
			false},
		"another port of the host": {
			asked{method: "POST", path: "/api/v1/scans", origin: "http://127.0.0.1:1", pass: pass,
				body: scans}, 403, false},
		"the other server asks before": {
			asked{method: "OPTIONS", path: "/api/v1/scans", origin: a.Base,
				header: map[string]string{"Access-Control-Request-Method": "POST"}}, 204, true},
		"before what is not open": {
			asked{method: "OPTIONS", path: "/api/v1/accounts", origin: a.Base,
				header: map[string]string{"Access-Control-Request-Method": "POST"}}, 403, false},
		"a way that is not open": {
			asked{method: "POST", path: "/api/v1/sign-in", origin: a.Base, pass: pass, body: `{}`}, 403,
			false},
		"a deed by a cookie": {
			asked{method: "POST", path: "/api/v1/scans", origin: a.Base, body: scans,
				header: map[string]string{"Cookie": stationCookie}}, 401, true},
		"a deed by a token": {
			asked{method: "POST", path: "/api/v1/scans", origin: a.Base, body: scans,
				header: map[string]string{"Authorization": "Bearer " + boss.Token}}, 401, true},
		"a pass nobody gave": {
			asked{method: "GET", path: "/api/v1/shop", origin: a.Base, pass: strings.Repeat("0", 64)}, 401,
			true},
		"the station's own secret": {
			asked{method: "GET", path: "/api/v1/shop", origin: a.Base,
				pass: strings.TrimPrefix(stationCookie, "tw_station=")}, 401, true},
		"the pass": {
			asked{method: "GET", path: "/api/v1/shop", origin: a.Base, pass: pass}, 200, true},
		"a page of the public URL": {
			asked{method: "GET", path: "/api/v1/shop", origin: "http://shop.test:8080", pass: pass}, 200,
			true},
		"the pass, as by its own page": {
			asked{method: "GET", path: "/api/v1/shop", origin: b.Base, pass: pass}, 401, false},
		"what a station may not do": {
			asked{method: "GET", path: "/api/v1/stations", origin: a.Base, pass: pass}, 401, false},
		"a pass for another": {
			asked{method: "POST", path: "/api/v1/crossing", origin: a.Base, pass: pass, body: `{}`}, 403,
			false},
		"whether the other takes scans": {asked{method: "GET", path: "/readyz", origin: a.Base}, 200, true},
		"a board that is a page of both": {
			asked{method: "GET", path: "/waits", origin: a.Base, pass: pass,
				header: map[string]string{"Accept": "application/json"}}, 200, false},
	} {
		status, h, body := crossed(t, b, x.q)
		if status != x.status || (h.Get("Access-Control-Allow-Origin") == x.q.origin) != x.cors {
			t.Errorf("%s: %d %q, want %d: %.200s", name, status, h.Get("Access-Control-Allow-Origin"),
				x.status, body)
		}
	}
	// Nobody but a device gets a pass, and none where one file keeps the record.
	if got := boss.Do("POST", "/api/v1/crossing", map[string]any{}, nil); got != http.StatusNotFound {
		t.Errorf("a pass for a program: %d", got)
	}
	alone := webtest.New(t, webtest.Options{})
	only, _ := alone.Tablet(alone.As(traveler.RoleSupervisor), "Tablet")
	if got := only.Do("POST", "/api/v1/crossing", map[string]any{}, nil); got != http.StatusNotFound {
		t.Errorf("a pass at a server alone: %d", got)
	}
	if _, h, _ := crossed(t, alone,
		asked{method: "GET", path: "/readyz", origin: a.Base}); h.Get("Access-Control-Allow-Origin") != "" {
		t.Error("a server alone answers pages of others")
	}
}

// cookieAt is the cookie of a station, as a browser sends it.
func cookieAt(t *testing.T, tablet *webtest.Rig) string {
	t.Helper()
	req, err := http.NewRequestWithContext(t.Context(), "GET", tablet.Base, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range tablet.HTTP.Jar.Cookies(req.URL) {
		if c.Name == "tw_station" {
			return c.Name + "=" + c.Value
		}
	}
	t.Fatal("no cookie")
	return ""
}

// A wall screen's board is opened at the other server with its pass, and the policy of its
// page names that server; a person's page names none.
func TestScreenCrosses(t *testing.T) {
	t.Parallel()
	a, b, _, _ := pair(t, webtest.Options{})
	var given struct{ Link string }
	if got := a.As(traveler.RoleSupervisor).Do("POST", "/api/v1/screens", map[string]any{"name": "Hall"},
		&given); got != http.StatusCreated {
		t.Fatal(got)
	}
	screen := a.Visitor()
	screen.Do("GET", given.Link[strings.Index(given.Link, "/wall/"):], nil, nil)
	pass := passOf(t, screen)
	dial := func(origin string, protocols ...string) (*websocket.Conn, int) {
		d := websocket.Dialer{Subprotocols: protocols}
		c, resp, err := d.Dial("ws"+strings.TrimPrefix(b.Base, "http")+"/live?board=pace",
			http.Header{"Origin": {origin}})
		if resp == nil {
			t.Fatal(err)
		}
		_ = resp.Body.Close()
		return c, resp.StatusCode
	}
	c, status := dial(a.Base, "tallywalk", "pass."+pass)
	if status != http.StatusSwitchingProtocols || c.Subprotocol() != "tallywalk" {
		t.Fatalf("%d", status)
	}
	defer func() { _ = c.Close() }()
	var message struct{ Whole bool }
	if err := c.ReadJSON(&message); err != nil || !message.Whole {
		t.Errorf("%+v %v", message, err)
	}
	if _, status := dial(a.Base, "tallywalk"); status != http.StatusUnauthorized {
		t.Errorf("without the pass: %d", status)
	}
	if _, status := dial("http://elsewhere.test", "tallywalk", "pass."+pass); status != http.StatusForbidden {
		t.Errorf("from elsewhere: %d", status)
	}
	at := strings.TrimPrefix(b.Base, "http://")
	for path, names := range map[string]bool{"/waits?wall=1": true, "/station": true, "/waits": false,
		"/api/v1/me": false} {
		who := screen
		if path == "/station" {
			who = a.Visitor()
		}
		status, h, _ := crossed(t, who, asked{method: "GET", path: path, origin: a.Base})
		policy := h.Get("Content-Security-Policy")
		if got := strings.Contains(policy, "connect-src 'self' http://"+at+" ws://"+at+";"); status != 200 ||
			got != names {
			t.Errorf("%s: %d %s", path, status, policy)
		}
	}
}

// A server that was down for a week-end is one of the record's still, one with another
// address only at that, and one of which nothing was heard for a month none any more.
func TestServersAreRemembered(t *testing.T) {
	t.Parallel()
	var hours atomic.Int64
	morning := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	now := func() time.Time { return morning.Add(time.Duration(hours.Load()) * time.Hour) }
	a, b, ofA, ofB := pair(t, webtest.Options{Now: now})
	lets := func(r *webtest.Rig, origin string) bool {
		_, h, _ := crossed(t, r, asked{method: "GET", path: "/readyz", origin: origin})
		return h.Get("Access-Control-Allow-Origin") == origin
	}
	if !lets(b, a.Base) || !lets(a, b.Base) {
		t.Fatal("they do not know each other")
	}
	b2 := func() *webtest.Rig { return a.Beside(webtest.Options{Servers: ofB}) } // started again: it remembers nothing itself
	self := story.Server{Name: "hall 2", URL: b.Base, Self: true}
	ofB.Hear(self)
	hours.Store(70)
	if !lets(b2(), a.Base) {
		t.Error("after a week-end it is forgotten")
	}
	hours.Store(24 * 31)
	if r := b2(); lets(r, a.Base) {
		t.Error("after a month it is known")
	}
	moved := "http://127.0.0.1:9"
	ofB.Hear(self, story.Server{Name: "hall 1", URL: moved, Heard: now()})
	if r := b2(); lets(r, a.Base) || !lets(r, moved) {
		t.Error("it is not known at its new address alone")
	}
	ofA.Hear()
}

// Every way that is open to pages of other servers is a way of this program.
func TestCrossingsAreWays(t *testing.T) {
	t.Parallel()
	a, _, _, _ := pair(t, webtest.Options{})
	ways := []string{}
	for _, r := range a.Server.Routes() {
		ways = append(ways, r.Method+" "+r.Path)
	}
	for _, w := range door.Crossings() {
		if !slices.Contains(ways, w) {
			t.Errorf("%s is no way", w)
		}
	}
}

// standing are tables that keep no row of a server, as while more than half of the engines
// are gone.
type standing struct {
	story.Tables
	end <-chan struct{}
}

func (s standing) Put(table, key string, value []byte) error {
	if table == "servers" {
		<-s.end
	}
	return s.Tables.Put(table, key, value)
}

// TestPagesAreReadWhileTheEnginesKeepNothing asks a server that notes another one at the
// same time.
func TestPagesAreReadWhileTheEnginesKeepNothing(t *testing.T) {
	end := make(chan struct{})
	defer close(end)
	heard := &webtest.Servers{}
	heard.Hear(story.Server{Name: "hall 1", URL: "http://hall1:8080", Heard: time.Now(), Self: true})
	still := func(all story.Tables) story.Tables { return standing{all, end} }
	r := webtest.New(t, webtest.Options{Open: true, Servers: heard, Tables: still})
	if status, _, body := crossed(t, r,
		asked{method: http.MethodGet, path: "/api/v1/me"}); status != http.StatusOK {
		t.Errorf("GET /api/v1/me gives %d: %s", status, body)
	}
}
