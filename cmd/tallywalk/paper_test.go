package main

import (
	"bytes"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/web/webtest"
)

// pdfOf is the text of what is printed at an address.
func (r *rig) pdfOf(path string) string {
	r.t.Helper()
	req, err := http.NewRequest(http.MethodGet, r.base+path, nil)
	if err != nil {
		r.t.Fatal(err)
	}
	status, raw := r.caller().Send(req, nil)
	if status != http.StatusOK || !bytes.HasPrefix(raw, []byte("%PDF-")) {
		r.t.Fatalf("%s: %d %s", path, status, raw[:min(300, len(raw))])
	}
	return strings.Join(strings.Fields(pdfText(r.t.(*testing.T), raw)), " ")
}

// Labels say what the record has of a box: pieces on hold with their reason, each
// operation apart; what is sent is refused where it makes no sense.
func TestLabelsOfABatch(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{}).as(traveler.RoleAdministrator)
	id := func() string { return webtest.NewID() }
	for _, s := range []said{
		{"id": id(), "station": "T1", "card": "W-501", "action": "setup", "operator": "11"},
		{"id": id(), "station": "T1", "card": "W-501", "action": "run", "operator": "11", "anyway": true,
			"reason": "told"},
		{"id": id(), "station": "T1", "card": "W-501", "action": "count", "good": 10, "operator": "11",
			"review": []map[string]any{{"reason": "limit", "n": 3}},
			"scrap":  []map[string]any{{"reason": "size", "n": 2}}},
	} {
		s["at"] = time.Now().UTC().Format(time.RFC3339Nano)
		if a := r.scan(s)[0]; a.Outcome != "kept" {
			t.Fatalf("%v: %+v", s, a)
		}
	}
	for path, want := range map[string][]string{
		"?kind=review":                       {"ON HOLD", "W-501", "Pieces", " 3 ", "Reason:", "quarantine"},
		"?kind=scrap&size=100x150":           {"SCRAP", "W-501", " 2 "},
		"?kind=delivery&size=62&language=de": {"LIEFERUNG", "W-501"},
		"?kind=box&pieces=17&language=pl":    {"CZĘŚĆ PARTII", "17"},
		"?kind=rework":                       {"REWORK", "W-501"},
		"?kind=outside&size=100x150":         {"OUTSIDE WORK"},
	} {
		got := r.pdfOf("/api/v1/batches/W-501/label.pdf" + path)
		for _, w := range want {
			if !strings.Contains(got+" ", w) {
				t.Errorf("%s: no %q in %s", path, w, got)
			}
		}
	}
	for _, bad := range []string{"?kind=poem", "?size=A4", "?pieces=0", "?pieces=x"} {
		if got := r.do("GET", "/api/v1/batches/W-501/label.pdf"+bad, nil, nil); got < 400 || got >= 500 {
			t.Errorf("%s: %d", bad, got)
		}
	}
	if got := r.pdfOf("/api/v1/sheets/trust.pdf"); !strings.Contains(got, "/trust") {
		t.Errorf("the trust sheet says %s", got)
	}
	r.refused("GET", "/api/v1/sheets/devices.pdf", nil, http.StatusNotFound)
	var enrol struct{ Code string }
	r.do("POST", "/api/v1/enrol-codes", map[string]any{"name": "Tablet 7", "machine": "T1"}, &enrol)
	r.visitor().do("POST", "/api/v1/enrol", map[string]any{"code": enrol.Code}, nil)
	if got := r.pdfOf("/api/v1/sheets/devices.pdf"); !strings.Contains(got, "Tablet 7") ||
		!strings.Contains(got, "T1") {
		t.Errorf("device labels say %s", got)
	}
}

// The whole order book is one PDF, written as it is drawn; who reads along knows how far
// it is, and on the page it can be seen.
func TestOrderBook(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true}).as(traveler.RoleAdministrator)
	for i := range 130 {
		body := map[string]any{"id": webtest.NewID(), "part": "1001-04", "route_rev": "1", "pieces": 5,
			"works_order": fmt.Sprintf("X-%03d", i)}
		if got := r.do("POST", "/api/v1/batches", body, nil); got != http.StatusCreated {
			t.Fatalf("release: %d", got)
		}
	}
	for _, paper := range []string{"A5", "A4x2"} {
		got := r.pdfOf("/api/v1/cards.pdf?paper=" + paper)
		at := 0
		for i := range 130 {
			k := strings.Index(got[at:], fmt.Sprintf("X-%03d", i))
			if k < 0 {
				t.Fatalf("%s: order X-%03d is missing or not in its place", paper, i)
			}
			at += k
		}
	}
	b := browse(t, r).open("/printers").waitFor("book").click("book").waitFor("book-open")
	b.untilSays("book-step", "133 of 133")
	b.open("/batch/W-501").waitFor("labels").click("labels").waitFor("label-kind")
}

// A card that was filled in by hand is typed in: its rows become scans at their times,
// marked as typed from paper; what cannot be right is said at its field, and a row that is
// sent is not sent again.
func TestCardTypedIn(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true}).as(traveler.RoleAdministrator)
	b := browse(t, r).open("/typed?card=W-502").waitFor("typed-row")
	var batch struct {
		Operations []struct{ Operation int }
	}
	r.do("GET", "/api/v1/batches/W-502", nil, &batch)
	op := batch.Operations[0].Operation
	field := func(name string) string { return fmt.Sprintf("%s-%d", name, op) }
	choose := func(name, value string) {
		b.until(fmt.Sprintf(
			`(() => { const s = document.querySelector('[data-test="%s"]'); if (!s) return false;
			s.value = %q; s.dispatchEvent(new Event("change", {bubbles: true})); return s.value === %q })()`,
			field(name), value, value))
	}
	yesterday := time.Now().UTC().AddDate(0, 0, -1).Format(time.DateOnly)
	b.filled(field("good"), "18").click("typed-go").waitFor("problem")
	choose("machine", "T1")
	b.filled(field("person"), "11").filled(field("date"), yesterday)
	for name, at := range map[string]string{"from": "06:10", "to": "11:40"} {
		b.filled(field(name), at)
		b.until(fmt.Sprintf(`(() => { const f = document.querySelector('[data-test="%s"]');
			f.dispatchEvent(new Event("change", {bubbles: true})); f.dispatchEvent(new Event("blur")); return f.value === %q })()`, field(name), at))
	}
	b.click("typed-go").until(`document.querySelector('[data-test="typed-row"]').dataset.done === "true"`)
	b.click("typed-go")
	var story struct {
		Lines []struct {
			Scan struct {
				Action, Note, Operator, Station string
				Happened                        time.Time
				Good                            *int
			}
		}
	}
	r.do("GET", "/api/v1/batches/W-502/story", nil, &story)
	var got []string
	for _, l := range story.Lines {
		if s := l.Scan; s.Note == "typed from paper" {
			got = append(got,
				s.Action+" "+s.Happened.UTC().Format("2006-01-02 15:04")+" "+s.Operator+" "+s.Station)
		}
	}
	want := []string{"run " + yesterday + " 06:10 11 T1", "count " + yesterday + " 11:40 11 T1",
		"finish " + yesterday + " 11:40 11 T1"}
	if !slices.Equal(got, want) {
		t.Errorf("the record has %q, want %q", got, want)
	}
}
