package web

import (
	"encoding/json"
	"net/http"
	"slices"
	"strings"
	"testing"

	"tallywalk/web/live"
)

// keptGraph is what a worker keeps.
type keptGraph struct {
	Tag   string
	Page  string
	Files []string
	Live  bool
}

// graphOf reads what a worker keeps of a page, and looks that it is the whole of it.
func (p *pageServer) graphOf(t *testing.T, page, worker string) (g keptGraph) {
	t.Helper()
	shown, script := p.get(page), p.get(worker)
	if script.status != http.StatusOK || script.header.Get("Cache-Control") != "no-store" {
		t.Fatalf("%s: %d, %v", worker, script.status, script.header)
	}
	line, _, _ := strings.Cut(string(script.body), ";\n")
	if err := json.Unmarshal([]byte(strings.TrimPrefix(line, "globalThis.GRAPH = ")), &g); err != nil {
		t.Fatal(err)
	}
	if g.Tag != shown.header.Get("ETag") || g.Page != page || g.Live {
		t.Errorf("%+v; the page has the tag %s", g, shown.header.Get("ETag"))
	}
	for _, name := range links(shown.body) {
		if !slices.Contains(g.Files, name) {
			t.Errorf("%s loads %s, which is not kept", page, name)
		}
	}
	return g
}

// What keeps a board in a wall screen names one whole version of it.
func TestBoardWorkersNameOneVersion(t *testing.T) {
	p := newPageServer(t, "")
	for _, name := range live.Names {
		p.graphOf(t, "/"+name+"?wall=1", "/"+name+"-sw.js")
	}
}

// What keeps the station page in a device names one whole version of it, and is
// itself never kept.
func TestStationWorkerNamesOneVersion(t *testing.T) {
	p := newPageServer(t, "")
	g := p.graphOf(t, "/station", "/station-sw.js")
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
	if body := string(newPageServer(t, "..").get("/station-sw.js").body); !strings.Contains(body,
		`"live":true`) {
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
	if err := json.Unmarshal(a.body, &m); err != nil ||
		a.header.Get("Content-Type") != "application/manifest+json" {
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
