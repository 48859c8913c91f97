package web_test

import (
	"bufio"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"

	"tallywalk/traveler"
	"tallywalk/web/webtest"
)

// answered sends a request as it stands and gives the answer.
func answered(r *webtest.Rig, request string) (status int, header http.Header, said string) {
	r.T.Helper()
	c, err := net.Dial("tcp", strings.TrimPrefix(r.Base, "http://"))
	if err != nil {
		r.T.Fatal(err)
	}
	defer func() { _ = c.Close() }()
	if _, err := fmt.Fprint(c, request); err != nil {
		r.T.Fatal(err)
	}
	resp, err := http.ReadResponse(bufio.NewReader(c), nil)
	if err != nil {
		r.T.Fatalf("%.60q: %v", request, err)
	}
	defer func() { _ = resp.Body.Close() }()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		r.T.Fatal(err)
	}
	return resp.StatusCode, resp.Header, string(body)
}

// Every answer asks browsers to guess no type, to load ours alone, to show it in no
// frame and to give it to no other page (OWASP ASVS 5.0, 3.4.3 to 3.4.6): refusals too,
// of hosts of others, of bodies that are too long, and of what is no request.
func TestHeadersOfEveryAnswer(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{})
	watcher := "Authorization: Bearer " + r.As(traveler.RoleWatcher).Token + "\r\n"
	for request, status := range map[string]int{
		"GET / HTTP/1.1\r\nHost: localhost\r\n" + watcher:                                        200,
		"GET /sign-in HTTP/1.1\r\nHost: localhost\r\n":                                           200,
		"GET /api/v1/waits HTTP/1.1\r\nHost: localhost\r\n" + watcher:                            200,
		"GET /api/v1/waits HTTP/1.1\r\nHost: localhost\r\n":                                      401,
		"GET /api/v1/accounts HTTP/1.1\r\nHost: localhost\r\n" + watcher:                         403,
		"GET /api/v1/waits HTTP/1.1\r\nHost: elsewhere.test\r\n":                                 403,
		"GET /nothing HTTP/1.1\r\nHost: localhost\r\nAccept: text/html\r\n" + watcher:            404,
		"GET /waits HTTP/1.1\r\nHost: localhost\r\n":                                             302,
		"GET /healthz HTTP/1.1\r\nHost: localhost\r\n":                                           200,
		"POST /api/v1/sign-in HTTP/1.1\r\nHost: localhost\r\nContent-Length: 90000\r\n":          413,
		"POST /api/v1/sign-in HTTP/1.1\r\nHost: localhost\r\nOrigin: http://elsewhere.test\r\n":  403,
		"GET /healthz HTTP/1.1\r\nHost: localhost\r\nX: " + strings.Repeat("x", 32<<10) + "\r\n": 431,
	} {
		got, header, body := answered(r, request+"\r\n")
		if got != status {
			t.Errorf("%.80q: %d, want %d: %.200s", request, got, status, body)
		}
		policy := header.Get("Content-Security-Policy")
		for _, must := range []string{"default-src 'self'", "object-src 'none'", "base-uri 'none'",
			"frame-ancestors 'none'"} {
			if !strings.Contains(policy, must) {
				t.Errorf("%.80q: no %s in %q", request, must, policy)
			}
		}
		if got := header.Get("X-Content-Type-Options"); got != "nosniff" {
			t.Errorf("%.80q: types may be guessed: %q", request, got)
		}
		if got := header.Get("Referrer-Policy"); got != "same-origin" {
			t.Errorf("%.80q: others hear where someone was: %q", request, got)
		}
		if kept := header.Get("Cache-Control"); strings.Contains(request, "/api/") && kept != "no-store" {
			t.Errorf("%.80q: browsers keep it: %q", request, kept)
		}
	}
}

// No method but the known ones is answered, nothing that was sent comes back, and no
// folder is listed.
func TestOldMethodsAndListings(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{Open: true})
	for request, status := range map[string]int{
		"TRACE / HTTP/1.1\r\nHost: localhost\r\nX-Said: hush-hush\r\n":   404,
		"GET /static/ HTTP/1.1\r\nHost: localhost\r\n":                   404,
		"GET /static/test/ HTTP/1.1\r\nHost: localhost\r\n":              404,
		"GET /static/test/web/lib/ HTTP/1.1\r\nHost: localhost\r\n":      404,
		"GET /static/test/web/lib/css/ HTTP/1.1\r\nHost: localhost\r\n":  404,
		"GET /.git/config HTTP/1.1\r\nHost: localhost\r\n":               404,
		"GET /debug/pprof/ HTTP/1.1\r\nHost: localhost\r\n":              404,
		"GET /static/test/web/server.go HTTP/1.1\r\nHost: localhost\r\n": 404,
	} {
		got, _, body := answered(r, request+"\r\n")
		if got != status || strings.Contains(body, "hush-hush") || strings.Contains(body, "shell.js") {
			t.Errorf("%.60q: %d %.200s", request, got, body)
		}
	}
}
