package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"tallywalk/traveler/measure"
)

// The demo's history is folded by the same rules as a shop's; these tests hold the
// figures of its pages against one another and against what a second way gives.

// TestFiguresOfTheDemo asks one demo for all of them: making its half year takes
// longer than any answer.
func TestFiguresOfTheDemo(t *testing.T) {
	t.Parallel()
	r := demoRig(t, "--weeks", "26", "--pace", "1")
	for _, x := range []struct {
		name string
		test func(*testing.T, *rig)
	}{
		{"HistoryAddsUp", historyAddsUp},
		{"FiguresAgree", figuresAgree},
		{"ScrapAgrees", scrapAgrees},
		{"WalksAgree", walksAgree},
		{"TimesAgree", timesAgree},
		{"RatesAgree", ratesAgree},
		{"YieldsAgree", yieldsAgree},
		{"CaseStartsFromTheQuarter", caseStartsFromTheQuarter},
		{"LooksAreCounted", looksAreCounted},
		{"MachineCaseAnswers", machineCaseAnswers},
		{"ComparisonToPaperAndRoute", comparisonToPaperAndRoute},
		{"PoolsOfAlike", poolsOfAlike},
		{"PoolsOfPlannedTimes", poolsOfPlannedTimes},
	} {
		t.Run(x.name, func(t *testing.T) {
			of := *r
			of.t = t
			x.test(t, &of)
		})
	}
}

type historyJSON struct {
	Lead struct {
		N   int      `json:"n"`
		P50 *float64 `json:"p50_s"`
		P95 *float64 `json:"p95_s"`
	} `json:"lead"`
	Parts measure.Spent `json:"parts"`
	Ended int           `json:"ended"`
	Open  int           `json:"open"`
	Flow  struct {
		WIP      float64 `json:"wip"`
		PerDay   float64 `json:"per_day"`
		MeanDays float64 `json:"mean_days"`
	} `json:"flow"`
	Bins   []struct{ N int } `json:"bins"`
	Points []struct {
		Card string  `json:"card"`
		Lead float64 `json:"lead_s"`
	} `json:"points"`
	Series []struct {
		Lead struct{ N int } `json:"lead"`
	} `json:"series"`
}

// Little's law (WIP = rate * time) is an identity over a stated window; the
// parts of the lead time add up to it; a distribution counts every batch once.
func historyAddsUp(t *testing.T, r *rig) {
	var h historyJSON
	if status := r.do("GET", "/api/v1/history", nil, &h); status != 200 {
		t.Fatal(status)
	}
	if h.Ended < 10 || h.Open < 5 {
		t.Fatalf("too little history: %+v", h)
	}
	if d := h.Flow.PerDay*h.Flow.MeanDays - h.Flow.WIP; math.Abs(d) > 1e-6 {
		t.Errorf("WIP %v is not %v a day for %v days", h.Flow.WIP, h.Flow.PerDay, h.Flow.MeanDays)
	}
	mean, binned, inSeries := 0.0, 0, 0
	for _, p := range h.Points {
		mean += p.Lead / float64(len(h.Points))
	}
	for _, b := range h.Bins {
		binned += b.N
	}
	for _, s := range h.Series {
		inSeries += s.Lead.N
	}
	if math.Abs(mean-h.Parts.Sum()) > 60 {
		t.Errorf("the parts are %v s together, the mean lead time is %v s", h.Parts.Sum(), mean)
	}
	if binned != h.Ended || inSeries != h.Ended || h.Lead.N != h.Ended {
		t.Errorf("%d batches ended; %d are in bins, %d in the series, %d in the quantiles", h.Ended, binned,
			inSeries, h.Lead.N)
	}
	// One batch opened: its page shows the same lead time.
	var b struct {
		Lead     measure.Spent `json:"lead"`
		Released string        `json:"released"`
	}
	r.do("GET", "/api/v1/batches/"+h.Points[0].Card, nil, &b)
	if math.Abs(b.Lead.Sum()-h.Points[0].Lead) > 1 {
		t.Errorf("batch %s: %v s on its page, %v s in the history", h.Points[0].Card, b.Lead.Sum(),
			h.Points[0].Lead)
	}
	if status := r.do("GET", "/api/v1/history?from=2026-02-01&to=2026-01-01", nil, nil); status != 400 {
		t.Errorf("a period that ends before it begins: %d", status)
	}
	var none historyJSON
	if r.do("GET", "/api/v1/history?part=nothing", nil, &none); none.Ended != 0 || none.Lead.P50 != nil {
		t.Errorf("of no batches: %+v", none)
	}
}

// Every page of figures answers as the OpenAPI document says, whatever is
// chosen, and pieces lost add up the same however they are added up.
func figuresAgree(t *testing.T, r *rig) {
	total := -1
	for _, by := range []string{"reason", "found", "caused", "part", "machine", "clampings"} {
		var l struct {
			Bars []struct{ Pieces int }
		}
		if status := r.do("GET", "/api/v1/losses?kind=scrap&by="+by, nil, &l); status != 200 {
			t.Fatalf("%s: %d", by, status)
		}
		n := 0
		for _, b := range l.Bars {
			n += b.Pieces
		}
		if total >= 0 && n != total {
			t.Errorf("by %s %d pieces are lost, by others %d", by, n, total)
		}
		total = n
	}
	if total <= 0 {
		t.Error("nothing was ever lost in the demo")
	}
	for _, path := range []string{
		"losses?kind=stop", "losses?kind=rework&by=part", "losses?kind=review", "machine-hours",
		"load?weeks=4", "fits", "trace?q=nothing", "ground/walks",
		"calendars", "ground/plan", "pace", "ground", "waits",
	} {
		if status := r.do("GET", "/api/v1/"+path, nil, nil); status != 200 {
			t.Errorf("%s: %d", path, status)
		}
	}
	for _, path := range []string{"losses?kind=x", "losses?by=x", "load?weeks=0",
		"machine-hours?from=2000-01-01", "history?from=x", "changes?part=x", "compare?part=x",
		"pace/operation?part=x&route_rev=1&operation=10"} {
		if status := r.do("GET", "/api/v1/"+path, nil, nil); status != 400 && status != 404 {
			t.Errorf("%s: %d", path, status)
		}
	}
	var hours struct {
		Machines []struct {
			Machine string
			Open    float64 `json:"open_s"`
			Run     float64 `json:"run_s"`
			Setup   float64 `json:"setup_s"`
		}
	}
	r.do("GET", "/api/v1/machine-hours", nil, &hours)
	if len(hours.Machines) < 10 {
		t.Errorf("%d machines", len(hours.Machines))
	}
	for _, m := range hours.Machines {
		if m.Run < 0 || m.Setup < 0 || m.Open < 0 || m.Run+m.Setup > 366*86400 {
			t.Errorf("%+v", m)
		}
	}
}

// askCompare is the demo's part that has an old route of many set-ups and a new
// one complete in one set-up.
var askCompare = map[string]any{
	"part": "2140-06", "size": 60, "good": 50,
	"costs": map[string]any{"currency": "EUR", "labour_per_h": 38, "manned": 0.6, "per_trip": 4,
		"per_piece": 6.5},
	"routes": []any{
		map[string]any{"route_rev": "3"}, map[string]any{"route_rev": "4"},
		map[string]any{"route_rev": "3", "name": "proposal", "use": "planned",
			"combine": map[string]any{"operations": []int{10, 20, 30, 40}, "second": []int{40},
				"work_centre": "MILLTURN"}},
	},
}

// A comparison answers, prints one page, makes a workbook with real numbers, and
// its proposal becomes a route revision that batches can be released on.
func comparisonToPaperAndRoute(t *testing.T, r *rig) {
	var v struct {
		Routes []struct {
			Name   string
			Steps  []struct{ Operation int }
			Result struct {
				EachCost *float64 `json:"each_cost"`
			}
		}
		Against []struct{ Figures []struct{ Figure string } }
	}
	if status := r.do("POST", "/api/v1/compare", askCompare, &v); status != 200 || len(v.Routes) != 3 ||
		len(v.Against) != 2 {
		t.Fatalf("%d: %+v", status, v)
	}
	if n := len(v.Routes[0].Steps) - len(v.Routes[2].Steps); n != 3 {
		t.Errorf("combining four operations leaves %d fewer", n)
	}
	text := pdfText(t, r.raw("/api/v1/compare/page.pdf", askCompare))
	for _, want := range []string{"Routes of part 2140-06", "Cost of a good piece", "Route 4",
		fmt.Sprintf("%.2f", *v.Routes[2].Result.EachCost)} {
		if !strings.Contains(text, want) {
			t.Errorf("the page lacks %q:\n%s", want, text)
		}
	}
	book, err := excelize.OpenReader(bytes.NewReader(r.raw("/api/v1/compare/sheet.xlsx", askCompare)))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = book.Close() }()
	kind, err := book.GetCellType("figures", "C2")
	if cell, _ := book.GetCellValue("figures", "C2"); err != nil || cell != "60" ||
		kind == excelize.CellTypeSharedString {
		t.Errorf("pieces started are %q of type %v (%v)", cell, kind, err)
	}
	release := map[string]any{"part": "2140-06", "route": askCompare["routes"].([]any)[2], "route_rev": "9"}
	var route struct {
		Operations []struct {
			Operation  int
			WorkCentre string `json:"work_centre"`
		}
	}
	if status := r.do("POST", "/api/v1/compare/release", release, &route); status != 201 ||
		len(route.Operations) != len(v.Routes[2].Steps) || route.Operations[0].WorkCentre != "MILLTURN" {
		t.Fatalf("%d: %+v", status, route)
	}
	if status := r.do("POST", "/api/v1/compare/release", release, nil); status != 409 {
		t.Errorf("the same revision again: %d", status)
	}
	var b struct{ Card string }
	if status := r.do("POST", "/api/v1/batches",
		map[string]any{"id": "018f3b6e-7c1a-7b3e-9c4d-0123456789ab", "part": "2140-06", "route_rev": "9",
			"pieces": 5}, &b); status != 201 {
		t.Errorf("a batch on the new revision: %d", status)
	}
	for what, bad := range map[string]map[string]any{
		"currency": {"part": "2140-06", "size": 10, "costs": map[string]any{"currency": "XQX"},
			"routes": []any{map[string]any{"route_rev": "3"}}},
		"size":  {"part": "2140-06", "size": 0, "routes": []any{map[string]any{"route_rev": "3"}}},
		"route": {"part": "2140-06", "size": 10, "routes": []any{map[string]any{"route_rev": "77"}}},
		"yield": {"part": "2140-06", "size": 10,
			"routes": []any{
				map[string]any{"route_rev": "3",
					"overrides": []any{map[string]any{"operation": 10, "what": "yield", "likely": 1.2}}}}},
	} {
		if status := r.do("POST", "/api/v1/compare", bad, nil); status != 400 {
			t.Errorf("a comparison with a bad %s: %d", what, status)
		}
	}
}

// A machine case answers for half and double the demand.
func machineCaseAnswers(t *testing.T, r *rig) {
	ask := map[string]any{
		"machine": map[string]any{"work_centre": "MILLTURN", "price": 420000, "one_off": 30000,
			"open_h_week": 80, "weeks": 46, "busy": 0.3},
		"members": []any{
			map[string]any{"part": "2140-06", "demand": 3000, "size": 60,
				"now": map[string]any{"route_rev": "3"}, "then": map[string]any{"route_rev": "4"}}},
		"costs": map[string]any{"currency": "CHF", "labour_per_h": 60, "manned": 0.5, "per_piece": 8},
		"worth": map[string]any{"replaced": 0.5, "hour": 90, "labour": 0},
	}
	var v struct {
		Currency string
		Cases    []struct {
			Factor, Load float64
			Taken        float64 `json:"taken_h"`
		}
	}
	if status := r.do("POST", "/api/v1/machine-case", ask, &v); status != 200 || v.Currency != "CHF" ||
		len(v.Cases) != 3 {
		t.Fatalf("%d: %+v", status, v)
	}
	if v.Cases[1].Factor != 0.5 || math.Abs(v.Cases[2].Taken-2*v.Cases[0].Taken) > 1e-6 ||
		v.Cases[2].Load <= v.Cases[0].Load {
		t.Errorf("%+v", v.Cases)
	}
}

// Looks are counted only when there is more to see.
func looksAreCounted(t *testing.T, r *rig) {
	var v struct{ Looks int }
	for range 3 {
		r.do("GET", "/api/v1/changes?"+
			url.Values{"part": {"2140-06"}, "before": {"3"}, "after": {"4"}}.Encode(), nil, &v)
	}
	if v.Looks < 1 || v.Looks > 2 { // a batch may end between two looks
		t.Errorf("%d looks at the same batches", v.Looks)
	}
}

// raw posts JSON and gives the answer's bytes.
func (r *rig) raw(path string, body any) []byte {
	r.t.Helper()
	in, err := json.Marshal(body)
	if err != nil {
		r.t.Fatal(err)
	}
	resp, err := http.Post(r.base+path, "application/json", bytes.NewReader(in))
	if err != nil {
		r.t.Fatal(err)
	}
	defer func() { _ = resp.Body.Close() }()
	b, err := io.ReadAll(resp.Body)
	if err != nil || resp.StatusCode != 200 {
		r.t.Fatalf("%s: %d %s (%v)", path, resp.StatusCode, b, err)
	}
	return b
}

// pdfText reads a PDF by poppler's pdftotext.
func pdfText(t *testing.T, pdf []byte) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "page.pdf")
	if err := os.WriteFile(name, pdf, 0o644); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("pdftotext", "-layout", name, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}
