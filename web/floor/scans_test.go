package floor_test

import (
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/web/webtest"
)

// The example of record and story, over HTTP: the lathe's scans come hours
// late, and the inferred end gives way to them.
func TestExampleOverHTTP(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{}).As(traveler.RoleSupervisor)
	at := func(s string) string { return "2026-03-02T" + s + ":00Z" }
	release := map[string]any{
		"id": webtest.NewID(), "part": "1001-04", "route_rev": "1", "pieces": 50, "works_order": "W-900",
		"due": "2026-03-20", "released": at("06:00"),
	}
	var b struct{ Card string }
	if status := r.Do("POST", "/api/v1/batches", release, &b); status != 201 || b.Card == "" {
		t.Fatalf("release: %d %+v", status, b)
	}
	var again struct{ Card string }
	if status := r.Do("POST", "/api/v1/batches", release, &again); status != 201 || again.Card != b.Card {
		t.Errorf("released again: %d %s, was %s", status, again.Card, b.Card)
	}
	r.Scan(
		webtest.Said{"happened": at("08:00"), "station": "T1", "card": b.Card, "action": "setup"},
		webtest.Said{
			"happened": at("08:30"), "station": "T1", "card": "W-900", "action": "run", "anyway": true,
			"reason": "told",
		},
		webtest.Said{
			"happened": at("10:20"), "station": "F1",
			"card":   "http://127.0.0.1:1/s/" + strings.ToLower(b.Card),
			"action": "arrive",
		},
	)
	now := r.Scan(
		webtest.Said{"happened": at("10:21"), "station": "F1", "card": b.Card, "action": "stop",
			"reason": "tool"},
	)[0]
	v := now.Now.Visits
	if len(v) != 2 || v[0].State != "finished" || !v[0].Finished.Equal(time.Date(
		2026, 3, 2, 10, 20, 0, 0, time.UTC,
	)) || !slices.Contains(v[0].Inferred, "finish") {
		t.Fatalf("the card was read at F1, so T1 has ended by then: %+v", v)
	}
	late := webtest.Said{
		"at": at("10:02"), "station": "T1", "card": b.Card, "action": "finish", "good": 48,
		"scrap": []any{map[string]any{"reason": "size", "n": 2}}, "present": false,
	}
	now = r.Scan(late)[0]
	v = now.Now.Visits
	if now.Outcome != "kept" || v[0].Good != 48 || v[0].Scrap != 2 ||
		slices.Contains(v[0].Inferred, "finish") || !v[0].Finished.Equal(
		time.Date(2026, 3, 2, 10, 2, 0, 0, time.UTC),
	) {
		t.Fatalf("the late finish shows: %+v", v)
	}
	if v[1].TransportS == nil || *v[1].TransportS != 18*60 || v[0].SetupS != 30*60 || v[0].RunS != 92*60 ||
		v[1].WalkM != 18 {
		t.Errorf("transport 18 min, set-up 30 min, run 92 min, walk 18 m: %+v", v)
	}
	if a := r.Scan(late)[0]; !a.Again || a.Outcome != "kept" || a.Seq != now.Seq {
		t.Errorf("sent again: %+v", a)
	}
	late["good"] = 47
	var p struct{ Status int }
	if status := r.Do(
		"POST", "/api/v1/scans", map[string]any{"scans": []any{late}}, &p,
	); status != http.StatusConflict || p.Status != http.StatusConflict {
		t.Errorf("the same id with another body: %d", status)
	}
}

// A count above what can be there is refused with the numbers, may be said
// anyway, and then waits on the morning list until a supervisor settles it.
func TestCountAboveIsAskedAndSettled(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{}).As(traveler.RoleSupervisor)
	card := r.Card("W-502")
	r.Scan(
		webtest.Said{"station": "T1", "card": card, "action": "run"},
		webtest.Said{"station": "T1", "card": card, "action": "finish", "good": 48, "missing": 72},
	)
	r.Scan(webtest.Said{"station": "Q1", "card": card, "action": "run"})
	over := webtest.Said{"station": "Q1", "card": card, "action": "count", "good": 52}
	a := r.Scan(over)[0]
	if a.Outcome != "refused" || !a.Offer ||
		a.Say != "Operation 20 has 48 pieces from operation 10; 52 were counted. Count again, or ask a supervisor to correct operation 10." {
		t.Fatalf("%+v", a)
	}
	if a := r.Scan(over)[0]; a.Outcome != "refused" || !a.Again {
		t.Errorf("a refusal is answered as the first time: %+v", a)
	}
	a = r.Scan(
		webtest.Said{
			"station": "Q1", "card": card, "action": "count", "good": 52, "anyway": true, "reason": "told",
		},
	)[0]
	if a.Outcome != "kept" || len(a.Now.Questions) != 1 {
		t.Fatalf("%+v", a)
	}
	for _, q := range a.Now.Questions {
		choice := q.Choices[0]
		if q.Kind == "over" {
			choice = "raise"
		}
		if got := r.Scan(
			webtest.Said{"station": "office", "card": card, "action": "decide", "for": q.Question,
				"reason": choice},
		)[0]; got.Outcome != "kept" {
			t.Errorf("settling %s: %+v", q.Question, got)
		}
	}
	var open struct{ Open, Settled []any }
	r.Do("GET", "/api/v1/questions", nil, &open)
	if len(open.Open) != 0 || len(open.Settled) == 0 {
		t.Errorf("%+v", open)
	}
}

// Bad input is refused with an RFC 9457 problem document, or is harmless.
func TestBadInput(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{}).As(traveler.RoleSupervisor)
	card := r.Card("W-501")
	scan := func(more string) string {
		return `{"scans":[{"id":"` + webtest.NewID() +
			`","at":"2026-11-25T10:00:00Z","station":"T1","card":"` +
			card + `","action":"count"` + more + `}]}`
	}
	for _, c := range []struct {
		name, body string
		status     int
	}{
		{"fine", scan(`,"good":1,"note":"<script>alert(1)</script>"`), 200},
		{"unknown field", scan(`,"colour":"red"`), 400},
		{"wrong type", scan(`,"good":"many"`), 400},
		{"fraction of a piece", scan(`,"good":1.5`), 400},
		{"negative", scan(`,"good":-1`), 400},
		{"absurd", scan(`,"good":99999999999`), 400},
		{"beyond 64 bits", scan(`,"good":1e400`), 400},
		{"control character", scan(`,"note":"a\u0007b"`), 400},
		{"reversed text", scan(`,"note":"a\u202eb"`), 400},
		{"long note", scan(`,"note":"` + strings.Repeat("x", 501) + `"`), 400},
		{"no scans", `{"scans":[]}`, 400},
		{"no JSON", `scan`, 400},
		{"two documents", scan("") + scan(""), 400},
		{
			"not an id", `{"scans":[{"id":"1","at":"2026-11-25T10:00:00Z","station":"T1","card":"x","action":"run"}]}`,
			400,
		},
		{
			"no such action",
			`{"scans":[{"id":"` + webtest.NewID() +
				`","at":"2026-11-25T10:00:00Z","station":"T1","card":"x","action":"dance"}]}`,
			400,
		},
		{
			"year 1",
			`{"scans":[{"id":"` + webtest.NewID() +
				`","at":"0001-01-01T00:00:00Z","station":"T1","card":"x","action":"run"}]}`,
			400,
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			var p struct {
				Status               int
				Title, Detail, Field string
			}
			if status := r.Do(
				"POST", "/api/v1/scans", c.body, &p,
			); status != c.status || (status != 200 && (p.Status != status || p.Title == "")) {
				t.Errorf("status %d, want %d: %+v", status, c.status, p)
			}
		})
	}
	a := r.Scan(webtest.Said{"station": "T1", "card": "nothing", "action": "run"},
		webtest.Said{"station": "Nowhere", "card": card, "action": "run"},
		webtest.Said{"station": "T1", "card": card, "action": "run",
			"happened": time.Now().AddDate(1, 0, 0).Format(time.RFC3339)})
	for _, x := range a {
		if x.Outcome != "refused" || x.Say == "" {
			t.Errorf("%+v", x)
		}
	}
	// A flat battery: the work is kept, and asked about.
	flat := r.Scan(webtest.Said{"station": "T1", "card": card, "action": "run",
		"at": "2000-01-01T00:00:00Z"})[0]
	if flat.Outcome != "question" || !strings.Contains(flat.Say, "2000-01-01") {
		t.Errorf("%+v", flat)
	}
}
