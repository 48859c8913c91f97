package web

import (
	"encoding/json"
	"net/http"
	"slices"
	"strings"
	"testing"
)

// What keeps the station page in a device names one whole version of it, and is
// itself never kept.
func TestStationWorkerNamesOneVersion(t *testing.T) {
	p := newPageServer(t, "")
	page, worker := p.get("/station"), p.get("/station-sw.js")
	if worker.status != http.StatusOK || worker.header.Get("Cache-Control") != "no-store" {
		t.Fatalf("the worker: %d, %v", worker.status, worker.header)
	}
	line, _, _ := strings.Cut(string(worker.body), ";\n")
	var g struct {
		Tag   string
		Page  string
		Files []string
		Live  bool
	}
	if err := json.Unmarshal([]byte(strings.TrimPrefix(line, "globalThis.GRAPH = ")), &g); err != nil {
		t.Fatal(err)
	}
	if g.Tag != page.header.Get("ETag") || g.Page != "/station" || g.Live {
		t.Errorf("%+v; the page has the tag %s", g, page.header.Get("ETag"))
	}
	for _, name := range links(page.body) {
		if !slices.Contains(g.Files, name) {
			t.Errorf("the page loads %s, which is not kept", name)
		}
	}
	size := len(p.get("/station", "Accept-Encoding", "gzip").body)
	for _, name := range g.Files {
		a := p.get(name, "Accept-Encoding", "gzip")
		if size += len(a.body); a.status != http.StatusOK {
			t.Errorf("%s: %d", name, a.status)
		}
	}
	t.Logf("a first load is %d files, %d kB on the wire", len(g.Files)+1, size/1000)
	if size > 200_000 {
		t.Errorf("a first load is %d bytes; below 200 kB is what a station may take", size)
	}
}

// While pages are edited nothing is kept.
func TestNothingIsKeptWhilePagesAreEdited(t *testing.T) {
	if body := string(newPageServer(t, "..").get("/station-sw.js").body); !strings.Contains(body, `"live":true`) {
		t.Errorf("%.300s", body)
	}
}

// Browsers install a page with a name, a start and icons that are there (W3C Web
// Application Manifest).
func TestStationManifest(t *testing.T) {
	p := newPageServer(t, "")
	a := p.get("/station.webmanifest")
	var m struct {
		Name  string
		Start string `json:"start_url"`
		Icons []struct{ Src, Sizes, Type string }
	}
	if err := json.Unmarshal(a.body, &m); err != nil || a.header.Get("Content-Type") != "application/manifest+json" {
		t.Fatalf("%v, %v", err, a.header)
	}
	if m.Name == "" || m.Start != "/station" || len(m.Icons) < 3 {
		t.Errorf("%+v", m)
	}
	for _, i := range m.Icons {
		if got := p.get(i.Src); got.status != http.StatusOK || got.header.Get("Content-Type") != i.Type {
			t.Errorf("%+v: %d %v", i, got.status, got.header)
		}
	}
}
