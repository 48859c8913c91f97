package main

import (
	"bytes"
	"encoding/json"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/people"
)

// FuzzScanEndpoint sends anything at all to the scans: it is answered, never
// with a fault of ours, and a refusal is a problem document.
func FuzzScanEndpoint(f *testing.F) {
	f.Add(`{"scans":[{"id":"018f3b6e-7c1a-7b3e-9c4d-0123456789ab","at":"2026-11-25T10:02:03Z","station":"T1","card":"W-502","action":"count","good":5}]}`)
	f.Add(`{"scans":[{"id":"018f3b6e-7c1a-7b3e-9c4d-0123456789ac","at":"2026-11-25T10:02:03+02:00","station":"Q1","card":"W-502","action":"decide","scrap":[{"reason":"size","n":2}],"present":false}]}`)
	f.Add(`{"scans":[{"id":"018f3b6e-7c1a-7b3e-9c4d-0123456789ad","at":"2026-11-25T10:02:03Z","station":"T1","card":"http://x://\x90/S/","action":"split","pieces":3}]}`)
	f.Add(`{"scans":null}`)
	f.Add(`[`)
	r := newRig(f, rigOptions{open: true})
	f.Fuzz(func(t *testing.T, body string) {
		resp, err := http.Post(r.base+"/api/v1/scans", "application/json", strings.NewReader(body))
		if err != nil {
			return // a body over the limit may be cut off
		}
		defer func() { _ = resp.Body.Close() }()
		raw, err := io.ReadAll(resp.Body)
		if err != nil {
			t.Fatal(err)
		}
		var any struct {
			Results []struct{ Outcome string }
			Status  int
			Title   string
		}
		if err := json.Unmarshal(raw, &any); err != nil {
			t.Fatalf("%d %s: %v", resp.StatusCode, raw, err)
		}
		if resp.StatusCode >= 500 || (resp.StatusCode != 200 && any.Status != resp.StatusCode) ||
			(resp.StatusCode == 200 && len(any.Results) == 0) {
			t.Errorf("%s: %d %s", body, resp.StatusCode, raw)
		}
	})
}

// FuzzRequest sends anything at all to the port: cookies, tokens, languages, addresses,
// parts of files, frames of a socket. What is answered is no fault of ours, and the next
// one is answered too.
func FuzzRequest(f *testing.F) {
	rigs := map[bool]*rig{true: newRig(f, rigOptions{open: true}), false: newRig(f, rigOptions{})}
	for _, head := range []string{
		"GET /api/v1/waits HTTP/1.1\r\nHost: HOST\r\nCookie: tw_session=00; tw_session=; a\r\nAccept-Language: de-AT;q=0.7,*;q=2,;q\r\n\r\n",
		"GET /api/v1/shop HTTP/1.1\r\nHost: HOST\r\nAuthorization: Bearer \x00\xff.\r\nX-Forwarded-For: 1, ::1%lo, [\r\nX-Forwarded-Proto: https\r\n\r\n",
		"GET /first?code=%zz HTTP/1.1\r\nHost: evil.example:99999\r\n\r\n",
		"POST /api/v1/releases HTTP/1.1\r\nHost: HOST\r\nContent-Type: application/json\r\nContent-Length: 20\r\n\r\n{\"batches\":[{\"id\":1}",
		"PUT /api/v1/plan/picture HTTP/1.1\r\nHost: HOST\r\nContent-Type: image/png\r\nContent-Length: 4\r\n\r\n\x89PNG",
		"POST /api/v1/lists/routes HTTP/1.1\r\nHost: HOST\r\nContent-Type: multipart/form-data; boundary=x\r\nContent-Length: 30\r\n\r\n--x\r\nContent-Disposition: form",
		"GET /live?board=waits HTTP/1.1\r\nHost: HOST\r\nUpgrade: websocket\r\nConnection: Upgrade\r\nSec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n\x81\x85\x00\x00\x00\x00hello\x88\x80",
		"POST /api/v1/scans HTTP/1.1\r\nHost: HOST\r\nTransfer-Encoding: chunked\r\n\r\nfffffffffffffff\r\n{",
		"\x16\x03\x01\x00\x05\x01\x00\x00\x01\x00",
	} {
		f.Add(true, head)
		f.Add(false, head)
	}
	f.Fuzz(func(t *testing.T, open bool, head string) {
		base := rigs[open].base
		addr := strings.TrimPrefix(base, "http://")
		answer := rawAnswer(t, addr, strings.ReplaceAll(head, "HOST", addr))
		if answer != "" && !strings.HasPrefix(answer, "HTTP/1.1 ") ||
			strings.HasPrefix(answer, "HTTP/1.1 5") {
			t.Errorf("%q: %.200s", head, answer)
		}
		resp, err := http.Get(base + "/healthz")
		if err != nil {
			t.Fatalf("after %q: %v", head, err)
		}
		if err := resp.Body.Close(); err != nil || resp.StatusCode != 200 {
			t.Errorf("after %q: %d %v", head, resp.StatusCode, err)
		}
	})
}

// rawAnswer says something on a socket, that this is all, and gives what is answered until
// the server hangs up.
func rawAnswer(t *testing.T, addr, what string) string {
	t.Helper()
	conn, err := net.Dial("tcp", addr)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = conn.Close() }()
	_, _ = io.WriteString(conn, what) // it may have hung up already
	if half, ok := conn.(*net.TCPConn); ok {
		_ = half.CloseWrite()
	}
	answer, _ := io.ReadAll(io.LimitReader(conn, 1<<16)) // it may hang up in the middle
	return string(answer)
}

// FuzzErased: a file of erased names that reads is written again with what came since, and
// says the same; one that does not is left as it is.
func FuzzErased(f *testing.F) {
	f.Add([]byte(`[{"person":"17","pseudonym":"P-0017","at":"2026-11-25T10:00:00Z"}]`))
	f.Add([]byte(`[{"person":"17"},{"person":"17","at":"2026-11-25T10:00:00+02:00"},{"person":""}]`))
	f.Add([]byte("null"))
	f.Add([]byte{})
	f.Fuzz(func(t *testing.T, text []byte) {
		dir := t.TempDir()
		if err := os.WriteFile(filepath.Join(dir, erasedName), text, 0o600); err != nil {
			t.Fatal(err)
		}
		first, err := readErased(dir)
		more := []people.Erased{
			{ID: "18", Pseudonym: "P-0018", At: time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)}}
		if merged := mergeErased(dir, more); (merged != nil) != (err != nil) {
			t.Fatalf("%q is read with %v, and goes on with %v", text, err, merged)
		}
		if err != nil {
			if left, _ := os.ReadFile(filepath.Join(dir, erasedName)); !bytes.Equal(left, text) {
				t.Fatalf("%q could not be read, and is %q now", text, left)
			}
			return
		}
		then, err := readErased(dir)
		if err != nil {
			t.Fatalf("%q was written so that it cannot be read: %v", text, err)
		}
		has := map[traveler.PersonID]bool{}
		for _, e := range then {
			has[e.ID] = true
		}
		for _, e := range append(first, more...) {
			if !has[e.ID] {
				t.Fatalf("%q: number %q is erased no more", text, e.ID)
			}
		}
	})
}
