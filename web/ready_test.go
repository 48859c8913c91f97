package web

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"strings"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/rows/rowstest"
	"tallywalk/traveler/story"
	"tallywalk/web/bigfloor"
)

// fullDesk is a desk whose disk takes no more, while err is set.
type fullDesk struct {
	*bigfloor.Floor
	err error
}

func (d *fullDesk) Epoch() string { return "e" }

func (d *fullDesk) Head() (traveler.Seq, story.Hash) { return 7, story.Hash{} }

func (d *fullDesk) ClockDoubt() *story.ClockDoubt { return nil }

func (d *fullDesk) Scans(_ context.Context, said []story.Said) ([]story.Answer, error) {
	return make([]story.Answer, len(said)), d.err
}

func (s *Server) ask(t *testing.T, method, path, body string) (int, string) {
	t.Helper()
	req, err := http.NewRequest(method, path, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	req.Host = "localhost"
	req.Header.Set("Content-Type", "application/json")
	resp, err := s.app.Test(req, -1)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = resp.Body.Close() }()
	raw, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return resp.StatusCode, string(raw)
}

// A server whose disk is full is not ready, by what the last commit said and by
// trying; it is again when one goes well, or after a while. No answer names a
// folder of the server.
func TestFullDiskIsNotReady(t *testing.T) {
	var log bytes.Buffer
	d, clock := &fullDesk{Floor: bigfloor.New(bigfloor.Batches)},
		time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	var room error
	now := func() time.Time { return clock }
	s := New(Config{
		Tables: &rowstest.Tables{}, Desk: d, Now: now, Real: now, Rand: rand.Reader,
		Log: slog.New(slog.NewTextHandler(&log, nil)), Open: true, Zone: time.UTC, Kiosk: files,
		Room: func() error { return room },
	})
	scan := `{"scans":[{"id":"018f3b6e-7c1a-7b3e-9c4d-0123456789ab","at":"2026-11-25T09:00:00Z","station":"M01","card":"x","action":"run"}]}`
	ready := func(what string, want int) {
		t.Helper()
		if got, body := s.ask(t, "GET", "/readyz", ""); got != want || strings.Contains(body, "/srv") {
			t.Errorf("%s: %d %s, want %d", what, got, body, want)
		}
	}
	ready("at the start", 200)
	d.err = &traveler.Error{
		Kind: traveler.KindFull,
		Say:  traveler.Msg{Key: "store.full", Args: []string{"/srv/shop/tallywalk.db"}},
		Err:  errors.New("no space left on device"),
	}
	if got, body := s.ask(
		t, "POST", "/api/v1/scans", scan,
	); got != http.StatusInsufficientStorage || strings.Contains(body, "/srv") ||
		!strings.Contains(body, "tallywalk.db") {
		t.Errorf("a scan on a full disk: %d %s", got, body)
	}
	if !strings.Contains(log.String(), "/srv/shop/tallywalk.db") {
		t.Error("the log does not say which file it was")
	}
	ready("after a commit that found no room", 503)
	d.err = nil
	if got, body := s.ask(t, "POST", "/api/v1/scans", scan); got != 200 {
		t.Errorf("a scan with room: %d %s", got, body)
	}
	ready("after a commit that found room", 200)
	room = errors.New("no space left on /srv/shop")
	ready("soon after it was tried", 200)
	clock = clock.Add(tryEvery)
	ready("when it is tried again", 503)
	room = nil
	clock = clock.Add(tryEvery)
	ready("when there is room", 200)
	d.err = &traveler.Error{
		Kind: traveler.KindFull,
		Say:  traveler.Msg{Key: "store.full", Args: []string{"/srv/shop/tallywalk.db"}},
	}
	s.ask(t, "POST", "/api/v1/scans", scan)
	ready("full again", 503)
	clock = clock.Add(fullFor)
	ready("after a while: whoever waits for it to be ready sends nothing", 200)
}

// The QR of an operation keeps the operation, however it is written; that of a
// batch has none.
func TestCardsOpenTheStation(t *testing.T) {
	card, ok := traveler.NewCode(traveler.KindBatch, 64)
	if !ok {
		t.Fatal("no code")
	}
	s := New(
		Config{
			Desk: &fullDesk{Floor: bigfloor.New(bigfloor.Batches)}, Tables: &rowstest.Tables{}, Now: time.Now,
			Real: time.Now, Rand: rand.Reader, Log: slog.New(slog.DiscardHandler), Open: true, Zone: time.UTC,
			Kiosk: files,
		},
	)
	for path, want := range map[string]string{
		"/s/" + string(card):                           "/station?card=" + string(card),
		"/S/" + string(card) + "/20":                   "/station?card=" + string(card) + "&operation=20",
		"/s/" + strings.ToLower(string(card)) + "/20/": "/station?card=" + string(card) + "&operation=20",
		"/s/nothing":                                   "/station?card=",
		"/s/" + string(card) + "/twenty":               "/station?card=" + string(card),
	} {
		req, err := http.NewRequest("GET", path, nil)
		if err != nil {
			t.Fatal(err)
		}
		req.Host = "localhost"
		resp, err := s.app.Test(req, -1)
		if err != nil {
			t.Fatal(err)
		}
		_ = resp.Body.Close()
		if got := resp.Header.Get("Location"); resp.StatusCode != http.StatusFound || got != want {
			t.Errorf("%s: %d %q, want %q", path, resp.StatusCode, got, want)
		}
	}
}
