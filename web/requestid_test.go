package web_test

import (
	"encoding/json"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"github.com/gorilla/websocket"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
	"tallywalk/web/webtest"
)

// idForm is how ids of requests look.
var idForm = regexp.MustCompile(`^[0-9a-f]{16}$`)

// noAccounts is a disk on which no account can be removed.
type noAccounts struct{ story.Tables }

func (n noAccounts) Delete(table, key string) error {
	if table == "accounts" {
		return errors.New("the disk is gone")
	}
	return n.Tables.Delete(table, key)
}

// answeredWithID makes a request with an id of its own, and gives the answer.
func answeredWithID(t *testing.T, r *webtest.Rig, method, path string) (status int, header http.Header,
	body []byte) {
	t.Helper()
	req, err := http.NewRequestWithContext(t.Context(), method, r.Base+path, nil)
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Authorization", "Bearer "+r.Token)
	req.Header.Set("X-Request-ID", "0123456789abcdef")
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = resp.Body.Close() }()
	if body, err = io.ReadAll(resp.Body); err != nil {
		t.Fatal(err)
	}
	return resp.StatusCode, resp.Header, body
}

// TestRequestIDs checks that each answer has an id of its own that nobody chose, whatever
// it is, a problem document the same, and the log's line of what went wrong too; and that
// this line has nothing in it of whom it was about, or of what was asked.
func TestRequestIDs(t *testing.T) {
	t.Parallel()
	logged := &webtest.Lines{}
	r := webtest.New(t, webtest.Options{
		Log:    slog.New(slog.NewJSONHandler(logged, nil)),
		Tables: func(tables story.Tables) story.Tables { return noAccounts{tables} },
	}).As(traveler.RoleAdministrator)
	seen := map[string]bool{}
	for _, c := range []struct {
		method, path string
		status       int
	}{
		{"GET", "/healthz", 200}, {"GET", "/api/v1/accounts", 200}, {"GET", "/api/v1/nothing", 404},
		{"GET", "/api/v1/batches/B00000019", 404}, {"GET", "/", 200},
		{"DELETE", "/api/v1/accounts/Ada%20Moss?why=Ada", 500},
	} {
		status, header, body := answeredWithID(t, r, c.method, c.path)
		id := header.Get("X-Request-ID")
		if status != c.status || !idForm.MatchString(id) || id == "0123456789abcdef" || seen[id] {
			t.Errorf("%s: %d, %q", c.path, status, id)
		}
		seen[id] = true
		if c.status < 400 {
			continue
		}
		var p struct{ Request string }
		if err := json.Unmarshal(body, &p); err != nil || p.Request != id {
			t.Errorf("%s: %s (%v), want %s", c.path, body, err, id)
		}
		if c.status == 500 {
			oneLine(t, logged.String(), id)
		}
	}
}

// oneLine holds that one line was logged, with the id of its request, and nothing of the
// person it was about.
func oneLine(t *testing.T, logged, id string) {
	t.Helper()
	var line struct{ Request, Way, Method, Err string }
	if err := json.Unmarshal([]byte(logged), &line); err != nil || line.Request != id {
		t.Errorf("%v: %s, want %s", err, logged, id)
	}
	if line.Way != "/api/v1/accounts/:name" || line.Method != "DELETE" || line.Err != "the disk is gone" {
		t.Errorf("%+v", line)
	}
	for _, secret := range []string{"Ada", "Moss", "127.0.0.1"} {
		if strings.Contains(logged, secret) {
			t.Errorf("%s is in the log: %s", secret, logged)
		}
	}
}

// TestSocketHasAnID checks that the answer to a socket has one too.
func TestSocketHasAnID(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{Open: true})
	c, resp, err := websocket.DefaultDialer.Dial("ws"+strings.TrimPrefix(r.Base, "http")+"/live?board=waits",
		nil)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = c.Close(); _ = resp.Body.Close() }()
	if id := resp.Header.Get("X-Request-ID"); !idForm.MatchString(id) {
		t.Errorf("%q", id)
	}
}
