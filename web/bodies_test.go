package web_test

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"

	"tallywalk/traveler"
	"tallywalk/web/ask"
	"tallywalk/web/webtest"

	"github.com/gorilla/websocket"
)

// A body that is announced as huge is refused before it is sent.
func TestHugeBody(t *testing.T) {
	r := webtest.New(t, webtest.Options{Open: true})
	c, err := net.Dial("tcp", strings.TrimPrefix(r.Base, "http://"))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = c.Close() }()
	if _, err := fmt.Fprintf(
		c,
		"POST /api/v1/scans HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: %d\r\n\r\n",
		2<<20,
	); err != nil {
		t.Fatal(err)
	}
	resp, err := http.ReadResponse(bufio.NewReader(c), nil)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = resp.Body.Close() }()
	var p ask.Problem
	if err := json.NewDecoder(resp.Body).Decode(&p); err != nil {
		t.Fatal(err)
	}
	if resp.StatusCode != http.StatusRequestEntityTooLarge || p.Kind != "too_large" || p.Detail == p.Title {
		t.Errorf("status %d, %+v", resp.StatusCode, p)
	}
	if id := resp.Header.Get("X-Request-ID"); !idForm.MatchString(id) || p.Request != id {
		t.Errorf("what was never read has the ids %q and %q", id, p.Request)
	}
}

// Foreign names for this server, and pages of others, are kept out, sockets
// included (DNS rebinding).
func TestForeignHostAndOrigin(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{Open: true})
	try := func(method, path, host, origin string) int {
		req, err := http.NewRequest(method, r.Base+path, bytes.NewReader([]byte(`{"scans":[]}`)))
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Content-Type", "application/json")
		if host != "" {
			req.Host = host
		}
		if origin != "" {
			req.Header.Set("Origin", origin)
		}
		resp, err := http.DefaultClient.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		_ = resp.Body.Close()
		return resp.StatusCode
	}
	for _, c := range []struct {
		method, path, host, origin string
		status                     int
	}{
		{"GET", "/api/v1/waits", "", "", 200},
		{"GET", "/api/v1/waits", "localhost:80", "", 200},
		{"GET", "/api/v1/waits", "evil.example", "", 403},
		{"GET", "/waits", "evil.example:8080", "", 403},
		{"POST", "/api/v1/scans", "", r.Base, 400},
		{"POST", "/api/v1/scans", "", "http://evil.example", 403},
		{"POST", "/api/v1/scans", "", "null", 403},
		{"GET", "/nothing", "", "", 404},
		{"GET", "/static/../../etc/passwd", "", "", 404},
		{"GET", "/live", "", "", 426},
	} {
		if got := try(c.method, c.path, c.host, c.origin); got != c.status {
			t.Errorf("%s %s host %q origin %q: %d, want %d", c.method, c.path, c.host, c.origin, got,
				c.status)
		}
	}
	ws := "ws" + strings.TrimPrefix(r.Base, "http") + "/live?board=waits"
	for origin, want := range map[string]int{"http://evil.example": 403, r.Base: 101, "": 101} {
		h := http.Header{}
		if origin != "" {
			h.Set("Origin", origin)
		}
		if got := knock(ws, h); got != want {
			t.Errorf("socket with origin %q: %d, want %d", origin, got, want)
		}
	}
}

// wire sends a request as it stands and gives the answer's status; the
// connection stays open, so a server that waits for more is found out.
func wire(r *webtest.Rig, head string, body []byte) (status int, detail string) {
	r.T.Helper()
	c, err := net.Dial("tcp", strings.TrimPrefix(r.Base, "http://"))
	if err != nil {
		r.T.Fatal(err)
	}
	defer func() { _ = c.Close() }()
	if r.Token != "" {
		head += "Authorization: Bearer " + r.Token + "\r\n"
	}
	go func() { _, _ = c.Write(append([]byte(head+"\r\n"), body...)) }()
	resp, err := http.ReadResponse(bufio.NewReader(c), nil)
	if err != nil {
		r.T.Fatalf("%.60q: %v", head, err)
	}
	defer func() { _ = resp.Body.Close() }()
	raw, err := io.ReadAll(resp.Body)
	if err != nil {
		r.T.Fatal(err)
	}
	return resp.StatusCode, string(raw)
}

func gzipped(b []byte) []byte {
	var out bytes.Buffer
	w := gzip.NewWriter(&out)
	_, _ = w.Write(b)
	_ = w.Close()
	return out.Bytes()
}

// No handler takes a body in an encoding, whoever asks: a few kilobytes of
// zeros, packed twice, would unpack to all the memory there is. 415 is the
// answer to that (RFC 9110, 15.5.16).
func TestBodiesAreTakenPlain(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{})
	bomb := gzipped(gzipped(make([]byte, 4<<20)))
	admin := r.As(traveler.RoleAdministrator)
	for _, x := range r.Server.Routes() {
		for _, encoding := range []string{"gzip, gzip", "gzip", "br", "deflate", "zstd", "x-unknown"} {
			for _, who := range []*webtest.Rig{r, admin} {
				head := fmt.Sprintf(
					"%s %s HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Encoding: %s\r\nContent-Length: %d\r\n",
					x.Method, webtest.Fill(x.Path), encoding, len(bomb),
				)
				if got, detail := wire(who, head, bomb); got != http.StatusUnsupportedMediaType {
					t.Fatalf("%s %s with %s: %d %s", x.Method, x.Path, encoding, got, detail)
				}
			}
		}
	}
	head := "POST /api/v1/sign-in HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Encoding: identity\r\nContent-Encoding: gzip\r\nContent-Length: 2\r\n"
	if got, detail := wire(r, head, []byte("{}")); got != http.StatusUnsupportedMediaType {
		t.Errorf("the second of two headers: %d %s", got, detail)
	}
	plain := "POST /api/v1/sign-in HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Encoding: identity\r\nContent-Length: 2\r\n"
	if got, detail := wire(r, plain, []byte("{}")); got != http.StatusUnauthorized {
		t.Errorf("a body that is not encoded, and says so: %d %s", got, detail)
	}
}

// How long a body may be is known before it is read, whether its length is
// announced or it comes in chunks that never end.
func TestBodiesHaveLimits(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{})
	admin := r.As(traveler.RoleAdministrator)
	for _, c := range []struct {
		who    *webtest.Rig
		path   string
		length int
		want   int
	}{
		{r, "/api/v1/sign-in", 10 << 10, 400}, {r, "/api/v1/sign-in", 17 << 10, 413},
		{r, "/api/v1/scans", 17 << 10, 413}, {admin, "/api/v1/accounts", 60 << 10, 400},
		{admin, "/api/v1/accounts", 65 << 10, 413}, {admin, "/api/v1/nothing", 65 << 10, 413},
		{admin, "/api/v1/scans", 900 << 10, 400}, {admin, "/api/v1/scans", 1<<20 + 1, 413},
	} {
		body := []byte(`{"x":"` + strings.Repeat(" ", c.length-8) + `"}`)
		head := "POST " + c.path + " HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
		// Announced: a body that is too long is refused though nothing of it comes.
		sent := body
		if c.want == 413 {
			sent = nil
		}
		if got, detail := wire(c.who, head+fmt.Sprintf("Content-Length: %d\r\n", len(body)),
			sent); got != c.want {
			t.Errorf("%d bytes to %s: %d %s, want %d", c.length, c.path, got, detail, c.want)
		}
		chunks := append(fmt.Appendf(nil, "%x\r\n", len(body)), body...)
		chunks = append(chunks, "\r\n"...)
		if c.want != 413 { // those that are too long do not end
			chunks = append(chunks, "0\r\n\r\n"...)
		}
		if got, detail := wire(c.who, head+"Transfer-Encoding: chunked\r\n", chunks); got != c.want {
			t.Errorf("%d bytes in chunks to %s: %d %s, want %d", c.length, c.path, got, detail, c.want)
		}
	}
}

// knock tries to open a socket and gives the status.
func knock(ws string, h http.Header) int {
	c, resp, err := websocket.DefaultDialer.Dial(ws, h)
	if resp == nil {
		return 0
	}
	defer func() { _ = resp.Body.Close() }()
	if err == nil {
		_ = c.Close()
	}
	return resp.StatusCode
}
