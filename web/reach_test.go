package web_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"tallywalk/traveler/story"
	"tallywalk/web/webtest"
)

// A page that a device keeps is kept with its policy: where another server joins, the worker
// is another one, so that the page is kept again, and a browser that has the page gets the
// whole of it, since what did not change would keep the policy of before.
func TestKeptPagesReachNewServers(t *testing.T) {
	t.Parallel()
	heard := &webtest.Servers{}
	self := story.Server{Name: "hall 1", URL: "http://hall-1:8080", Self: true}
	heard.Hear(self)
	start := func() *webtest.Rig { return webtest.New(t, webtest.Options{Open: true, Servers: heard}) }
	get := func(r *webtest.Rig, path, tag string) (int, http.Header, string) {
		return answered(r, "GET "+path+" HTTP/1.1\r\nHost: localhost\r\nIf-None-Match: "+tag+"\r\n\r\n")
	}
	r := start()
	_, header, _ := get(r, "/station", "none")
	tag := header.Get("ETag")
	if status, _, _ := get(r, "/station", tag); status != http.StatusNotModified {
		t.Errorf("without another server it is sent again: %d", status)
	}
	_, _, before := get(r, "/station-sw.js", "none")
	heard.Hear(self, story.Server{Name: "hall 2", URL: "http://hall-2:8080", Heard: time.Now()})
	r = start()
	if _, _, after := get(r, "/station-sw.js", "none"); after == before ||
		!strings.Contains(after, "http://hall-2:8080") {
		t.Error("the worker is the same")
	}
	status, header, _ := get(r, "/station", tag)
	policy := header.Get("Content-Security-Policy")
	if status != http.StatusOK ||
		!strings.Contains(policy, "connect-src 'self' http://hall-2:8080 ws://hall-2:8080;") {
		t.Errorf("%d %s", status, policy)
	}
	if !strings.Contains(policy, "script-src 'self' 'wasm-unsafe-eval';") {
		t.Errorf("scripts of others: %s", policy)
	}
}

// A server that hears none that decides takes no scans, and says so; one that decides itself,
// or has heard one a moment ago, does.
func TestNotReadyWithoutADecision(t *testing.T) {
	t.Parallel()
	at := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	heard := &webtest.Servers{}
	r := webtest.New(t, webtest.Options{Open: true, Servers: heard, Now: func() time.Time { return at }})
	self, other := story.Server{Name: "hall 1", Self: true}, story.Server{Name: "hall 2", Writes: true}
	ago := func(s story.Server, d time.Duration) story.Server { s.Heard = at.Add(-d); return s }
	deciding := self
	deciding.Writes = true
	for name, x := range map[string]struct {
		list   []story.Server
		status int
	}{
		"nobody is heard":                {nil, 503},
		"nobody decides":                 {[]story.Server{self, {Name: "hall 2", Heard: at}}, 503},
		"who decides was heard just now": {[]story.Server{self, ago(other, time.Second)}, 200},
		"who decides is gone":            {[]story.Server{self, ago(other, 10*time.Second)}, 503},
		"it decides itself":              {[]story.Server{deciding}, 200},
	} {
		heard.Hear(x.list...)
		if got := r.Do("GET", "/readyz", nil, nil); got != x.status {
			t.Errorf("%s: %d, want %d", name, got, x.status)
		}
	}
	heard.Hear(self)
	if said := r.Refused("GET", "/readyz", nil, 503); !strings.Contains(said, "No server that decides") {
		t.Error(said)
	}
}
