package webtest

import (
	"bytes"
	"encoding/json"
	"io"
	"math/rand/v2"
	"net/http"
	"sync"
	"testing"
	"time"

	"tallywalk/traveler/ahead"
	"tallywalk/traveler/story"
	"tallywalk/web/apidoc"
)

// ForExamples is a rig that answers the same each time: its clock stands, and what
// is random is not. It is as the demo, open.
func ForExamples(t testing.TB) *Rig {
	t.Helper()
	at := time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC)
	return New(
		t,
		Options{
			Open: true, Now: func() time.Time { return at }, Ahead: func(d story.Desk) ahead.Source {
				return &Foreseen{Desk: d, Now: func() time.Time { return at }, Zone: time.UTC}
			},
			Rand: &steady{from: rand.NewChaCha8([32]byte{4, 7, 1, 1})}, Version: "0.1.0",
		},
	)
}

// steady is a source of the same numbers each time; safe for concurrent use.
type steady struct {
	mu   sync.Mutex
	from io.Reader
}

// Read never fails.
func (s *steady) Read(b []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.from.Read(b)
}

// Answers sends the examples of the routes, in their order, and gives the answers by
// apidoc.Key.
func (r *Rig) Answers() map[string]json.RawMessage {
	r.T.Helper()
	out := map[string]json.RawMessage{}
	for _, x := range r.Server.Routes() {
		if x.Example.At == "" {
			continue
		}
		req, err := http.NewRequest(x.Method, r.Base+x.Example.At, bytes.NewReader([]byte(x.Example.Body)))
		if err != nil {
			r.T.Fatal(err)
		}
		var sent []byte
		if x.Example.Body != "" {
			sent = []byte(x.Example.Body)
			req.Header.Set("Content-Type", "application/json")
		}
		status, raw := r.Send(req, sent)
		want := x.Status
		if want == 0 {
			want = http.StatusOK
		}
		if status != want {
			r.T.Errorf("the example of %s %s: %d %s", x.Method, x.Path, status, raw)
			continue
		}
		out[apidoc.Key(&x)] = raw
	}
	return out
}
