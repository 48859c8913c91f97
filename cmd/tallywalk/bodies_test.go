package main

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"tallywalk/traveler"
)

// apiRoutes are the method and path of each way into the API, from the tables of
// the rooms themselves.
func apiRoutes(t testing.TB) (out [][2]string) {
	t.Helper()
	for _, f := range apiAddresses(t) {
		out = append(out, [2]string{f[1], f[2]})
	}
	return out
}

// apiAddresses are method, path, and deed of each way into the API; no deed
// where everybody may.
func apiAddresses(t testing.TB) (out [][]string) {
	t.Helper()
	line := regexp.MustCompile(`\{Method: "([A-Z]+)", Path: "([^"]+)"(?:, Deed: (traveler\.\w+))?`)
	files, err := filepath.Glob("../../web/*/*.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range append(files, "../../web/routes.go") {
		raw, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, line.FindAllStringSubmatch(string(raw), -1)...)
	}
	if len(out) < 50 {
		t.Fatalf("only %d routes are found in the tables", len(out))
	}
	return out
}

// wire sends a request as it stands and gives the answer's status; the
// connection stays open, so a server that waits for more is found out.
func (r *rig) wire(head string, body []byte) (status int, detail string) {
	r.t.Helper()
	c, err := net.Dial("tcp", strings.TrimPrefix(r.base, "http://"))
	if err != nil {
		r.t.Fatal(err)
	}
	defer func() { _ = c.Close() }()
	if r.token != "" {
		head += "Authorization: Bearer " + r.token + "\r\n"
	}
	go func() { _, _ = c.Write(append([]byte(head+"\r\n"), body...)) }()
	resp, err := http.ReadResponse(bufio.NewReader(c), nil)
	if err != nil {
		r.t.Fatalf("%.60q: %v", head, err)
	}
	defer func() { _ = resp.Body.Close() }()
	raw, err := io.ReadAll(resp.Body)
	if err != nil {
		r.t.Fatal(err)
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
	r := newRig(t, rigOptions{})
	bomb := gzipped(gzipped(make([]byte, 4<<20)))
	admin := r.as(traveler.RoleAdministrator)
	names := strings.NewReplacer(":code", "W-501", ":machine", "T1", ":ref", "11", ":kind", "plates.pdf", ":what", "visits", ":id", "x", ":name", "x")
	for _, x := range apiRoutes(t) {
		for _, encoding := range []string{"gzip, gzip", "gzip", "br", "deflate", "zstd", "x-unknown"} {
			for _, who := range []*rig{r, admin} {
				head := fmt.Sprintf("%s %s HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Encoding: %s\r\nContent-Length: %d\r\n", x[0], names.Replace(x[1]), encoding, len(bomb))
				if got, detail := who.wire(head, bomb); got != http.StatusUnsupportedMediaType {
					t.Fatalf("%s %s with %s: %d %s", x[0], x[1], encoding, got, detail)
				}
			}
		}
	}
	head := "POST /api/v1/sign-in HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Encoding: identity\r\nContent-Encoding: gzip\r\nContent-Length: 2\r\n"
	if got, detail := r.wire(head, []byte("{}")); got != http.StatusUnsupportedMediaType {
		t.Errorf("the second of two headers: %d %s", got, detail)
	}
	plain := "POST /api/v1/sign-in HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Encoding: identity\r\nContent-Length: 2\r\n"
	if got, detail := r.wire(plain, []byte("{}")); got != http.StatusUnauthorized {
		t.Errorf("a body that is not encoded, and says so: %d %s", got, detail)
	}
}

// How long a body may be is known before it is read, whether its length is
// announced or it comes in chunks that never end.
func TestBodiesHaveLimits(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{})
	admin := r.as(traveler.RoleAdministrator)
	for _, c := range []struct {
		who    *rig
		path   string
		length int
		want   int
	}{
		{r, "/api/v1/sign-in", 10 << 10, 400}, {r, "/api/v1/sign-in", 17 << 10, 413}, {r, "/api/v1/scans", 17 << 10, 413},
		{admin, "/api/v1/accounts", 60 << 10, 400}, {admin, "/api/v1/accounts", 65 << 10, 413}, {admin, "/api/v1/nothing", 65 << 10, 413},
		{admin, "/api/v1/scans", 900 << 10, 400}, {admin, "/api/v1/scans", 1<<20 + 1, 413},
	} {
		body := []byte(`{"x":"` + strings.Repeat(" ", c.length-8) + `"}`)
		head := "POST " + c.path + " HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
		// Announced: a body that is too long is refused though nothing of it comes.
		sent := body
		if c.want == 413 {
			sent = nil
		}
		if got, detail := c.who.wire(head+fmt.Sprintf("Content-Length: %d\r\n", len(body)), sent); got != c.want {
			t.Errorf("%d bytes to %s: %d %s, want %d", c.length, c.path, got, detail, c.want)
		}
		chunks := append(fmt.Appendf(nil, "%x\r\n", len(body)), body...)
		chunks = append(chunks, "\r\n"...)
		if c.want != 413 { // those that are too long do not end
			chunks = append(chunks, "0\r\n\r\n"...)
		}
		if got, detail := c.who.wire(head+"Transfer-Encoding: chunked\r\n", chunks); got != c.want {
			t.Errorf("%d bytes in chunks to %s: %d %s, want %d", c.length, c.path, got, detail, c.want)
		}
	}
}
