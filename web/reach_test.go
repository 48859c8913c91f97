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
	if _, _, after := get(r, "/station-sw.js", "none"); after == before || !strings.Contains(after, "http://hall-2:8080") {
		t.Error("the worker is the same")
	}
	status, header, _ := get(r, "/station", tag)
	policy := header.Get("Content-Security-Policy")
	if status != http.StatusOK || !strings.Contains(policy, "connect-src 'self' http://hall-2:8080 ws://hall-2:8080;") {
		t.Errorf("%d %s", status, policy)
	}
	if !strings.Contains(policy, "script-src 'self' 'wasm-unsafe-eval';") {
		t.Errorf("scripts of others: %s", policy)
	}
}
