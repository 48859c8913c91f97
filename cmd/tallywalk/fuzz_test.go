package main

import (
	"encoding/json"
	"io"
	"net/http"
	"strings"
	"testing"
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
		if resp.StatusCode >= 500 || (resp.StatusCode != 200 && any.Status != resp.StatusCode) || (resp.StatusCode == 200 && len(any.Results) == 0) {
			t.Errorf("%s: %d %s", body, resp.StatusCode, raw)
		}
	})
}
