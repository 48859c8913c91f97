package web

import (
	"io"
	"log/slog"
	"net/http"
	"testing"
	"time"

	"tallywalk/traveler/rows/rowstest"
	"tallywalk/web/bigfloor"
)

// A page that is opened again costs a question for each file and no file (RFC
// 9110, 13.1.2 and 15.4.5), packed on the wire or not.
func TestFilesAreSentOnce(t *testing.T) {
	s := New(Config{
		Desk: &fullDesk{Floor: bigfloor.New(bigfloor.Batches)}, Tables: &rowstest.Tables{}, Now: time.Now,
		Real: time.Now,
		Log:  slog.New(slog.NewTextHandler(io.Discard, nil)), Open: true, PublicURL: "http://localhost",
		Zone: time.UTC, Kiosk: files,
	})
	get := func(path, tag, packed string) (status, bytes int, sent string) {
		req, err := http.NewRequest("GET", path, nil)
		if err != nil {
			t.Fatal(err)
		}
		req.Host = "localhost"
		req.Header.Set("If-None-Match", tag)
		req.Header.Set("Accept-Encoding", packed)
		resp, err := s.app.Test(req, -1)
		if err != nil {
			t.Fatal(err)
		}
		defer func() { _ = resp.Body.Close() }()
		body, err := io.ReadAll(resp.Body)
		if err != nil {
			t.Fatal(err)
		}
		return resp.StatusCode, len(body), resp.Header.Get("ETag")
	}
	for _, path := range []string{"/static/shell.js", "/static/vendor/ui.js", "/waits", "/static/mark.svg"} {
		for _, packed := range []string{"", "gzip"} {
			status, n, tag := get(path, "", packed)
			if status != http.StatusOK || n == 0 || tag == "" {
				t.Fatalf("%s: %d, %d bytes, tag %q", path, status, n, tag)
			}
			if status, n, _ := get(path, tag, packed); status != http.StatusNotModified || n != 0 {
				t.Errorf("%s again: %d with %d bytes", path, status, n)
			}
			if status, n, _ := get(path, `W/"0"`, packed); status != http.StatusOK || n == 0 {
				t.Errorf("%s of another version: %d with %d bytes", path, status, n)
			}
		}
	}
}
