package webtest

import (
	"net/http"
	"strings"
	"testing"
)

// hearing is a test that only counts what is reported.
type hearing struct {
	testing.TB
	said []string
}

func (h *hearing) Helper() {}

func (h *hearing) Errorf(format string, _ ...any) { h.said = append(h.said, format) }

// What is not as described is reported: a request that was taken, an answer that
// lacks something or has too much, a way in that nobody described. A request that
// was refused may be anything.
func TestContractHolds(t *testing.T) {
	const fine = `{"now":"2026-11-25T10:00:00Z","doubt":""}`
	for _, c := range []struct {
		method, path, sent string
		status             int
		got                string
		reports            int
	}{
		{"GET", "/api/v1/clock", "", 200, fine, 0},
		{"GET", "/api/v1/clock", "", 200, `{"now":"2026-11-25T10:00:00Z"}`, 1},
		{"GET", "/api/v1/clock", "", 200, `{"now":"2026-11-25T10:00:00Z","doubt":"","more":1}`, 1},
		{"GET", "/api/v1/clock", "", 200, `{"now":"noon","doubt":""}`, 1},
		{"POST", "/api/v1/clock", `{"right":true}`, 200, fine, 0},
		{"POST", "/api/v1/clock", `{"right":"yes"}`, 200, fine, 1},
		{"POST", "/api/v1/clock", `{"right":true,"left":true}`, 200, fine, 1},
		{
			"POST", "/api/v1/clock", `{"right":"yes"}`, 400,
			`{"type":"about:blank","title":"Bad Request","status":400,"kind":"invalid","request":"9f3c11ab77e04d21"}`, 0,
		},
		{
			"GET", "/api/v1/load?weeks=many", "", 200,
			`{"weeks":[],"batches":[],"waits":[],"days":1,"at":"2026-11-25T10:00:00Z"}`, 1,
		},
		{"GET", "/api/v1/nothing", "", 404, `{}`, 1},
		{"GET", "/waits", "", 200, `<html>`, 0},
	} {
		req, err := http.NewRequest(c.method, "http://localhost"+c.path, strings.NewReader(c.sent))
		if err != nil {
			t.Fatal(err)
		}
		var sent []byte
		if c.sent != "" {
			sent = []byte(c.sent)
			req.Header.Set("Content-Type", "application/json")
		}
		kind := "application/json"
		if c.status >= 400 {
			kind = "application/problem+json"
		}
		h := &hearing{TB: t}
		HoldToContract(
			h, req, sent, &http.Response{StatusCode: c.status, Header: http.Header{"Content-Type": {kind}}},
			[]byte(c.got),
		)
		if len(h.said) != c.reports {
			t.Errorf("%s %s %s -> %d %s: %q", c.method, c.path, c.sent, c.status, c.got, h.said)
		}
	}
}
