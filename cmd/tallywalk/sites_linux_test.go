package main

import (
	"encoding/json"
	"io"
	"net/http"
	"path/filepath"
	"strings"
	"testing"

	"tallywalk/store/storetest/engines"
)

// siteNow is what a group's server says of a site.
type siteNow struct {
	Name    string
	Seq     uint64
	Reached bool
	Servers int
	AsOf    *string `json:"as_of"`
	Wrong   []string
	Now     struct{ Waits int }
}

// groupOf asks a group's server of its sites.
func (h *home) groupOf(base string) (out map[string]siteNow) {
	h.t.Helper()
	var v struct{ Sites []siteNow }
	if err := json.Unmarshal([]byte(h.ask("GET", base+"/api/v1/sites", "", http.StatusOK)), &v); err != nil {
		h.t.Fatal(err)
	}
	out = map[string]siteNow{}
	for _, s := range v.Sites {
		out[s.Name] = s
	}
	return out
}

// ask asks a server, with the token that is the rig's now, and wants a status.
func (h *home) ask(method, address, body string, want int) string {
	h.t.Helper()
	req, err := http.NewRequest(method, address, strings.NewReader(body))
	if err != nil {
		h.t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("Authorization", "Bearer "+h.tok)
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		h.t.Fatal(err)
	}
	defer func() { _ = resp.Body.Close() }()
	text, err := io.ReadAll(resp.Body)
	if err != nil || resp.StatusCode != want {
		h.t.Fatalf("%s %s: %d, %v: %s", method, address, resp.StatusCode, err, text)
	}
	return string(text)
}

// TestSites lets a group's server follow two sites: one that is scanned at, and one whose
// engine is down at the start, comes and goes. Nothing can be scanned or changed there.
func TestSites(t *testing.T) {
	t.Parallel()
	hall, works := newHome(t, 1), newKiller(t)
	far := engines.Start(t, 1)
	hall.runOut(hall.move(hall.dir, hall.urls(), "SHOP")...)
	works.runOut("move", "--from", works.dir, "--to", far.URLs()[0], "--stream", "WORKS")
	far.Kill(0)
	sites := []string{"--sites", "hall=" + hall.set.URLs()[0] + "/SHOP,works=" + far.URLs()[0] + "/WORKS"}
	group, scanner := t.TempDir(), hall.tok
	g := &home{killer: &killer{t: t, bin: hall.bin, dir: group}, set: hall.set}
	g.tok = strings.TrimSpace(g.run("token", "--role", "administrator"))
	g.with(group, sites, func(base string) {
		was := g.groupOf(base)
		if s := was["works"]; s.Reached || s.Seq != 0 || len(s.Wrong) != 1 || s.AsOf != nil {
			t.Errorf("a site that is down at the start: %+v", s)
		}
		if s := was["hall"]; !s.Reached || s.Seq == 0 || s.Now.Waits == 0 || len(s.Wrong) != 0 {
			t.Errorf("a site whose engine runs: %+v", s)
		}
		hall.with(hall.dir, hall.record(), func(at string) {
			hall.tok = scanner
			hall.scan(at, "00000001-0000-7000-8000-000000000001")
			g.set.Await("the scan is shown", func() bool {
				s := g.groupOf(base)["hall"]
				return s.Seq > was["hall"].Seq && s.Servers == 1 && s.AsOf != nil
			})
		})
		far.Begin(0)
		far.AwaitReady(0)
		g.set.Await("the site that came is shown", func() bool {
			s := g.groupOf(base)["works"]
			return s.Reached && s.Now.Waits > 0 && s.AsOf != nil
		})
		g.refusesAll(base)
		far.Kill(0)
		g.set.Await("the site that went is said to be away",
			func() bool { return !g.groupOf(base)["works"].Reached })
		if s := g.groupOf(base)["works"]; s.Now.Waits == 0 || s.AsOf == nil || len(s.Wrong) != 1 {
			t.Errorf("a site that went: %+v", s)
		}
	})
	g.with(group, sites, func(base string) {
		if s := g.groupOf(base)["works"]; s.Reached || s.Now.Waits == 0 || s.AsOf != nil {
			t.Errorf("a site that is away, after a start: %+v", s)
		}
	})
	if said := g.fails("serve", "--data", filepath.Join(group, "hall"), "--listen",
		"127.0.0.1:0"); !strings.Contains(said, "one server's part") {
		t.Errorf("a site's mirror was served as a shop: %s", said)
	}
}

// refusesAll tries to scan and to release at a group's server.
func (g *home) refusesAll(base string) {
	g.t.Helper()
	for path, body := range map[string]string{
		"/api/v1/scans":   `{"scans":[{"id":"00000001-0000-7000-8000-000000000009","at":"2026-11-25T10:00:00Z","station":"T1","card":"W-KILL-0","action":"count","good":1}]}`,
		"/api/v1/batches": `{"id":"00000001-0000-7000-8000-000000000008","part":"1001-04","route_rev":"1","pieces":5}`,
	} {
		if said := g.ask("POST", base+path, body, http.StatusForbidden); !strings.Contains(said,
			"only shows") {
			g.t.Errorf("%s: %s", path, said)
		}
	}
}

// TestSitesSaid reads what --sites may say.
func TestSitesSaid(t *testing.T) {
	t.Parallel()
	var g group
	if err := g.read("hall=nats://h1:4222,nats://h2:4222/SHOP,works=nats://w1:4222/SHOP2"); err != nil {
		t.Fatal(err)
	}
	if len(g.places) != 2 || strings.Join(g.places[0].urls, " ") != "nats://h1:4222 nats://h2:4222" ||
		g.places[0].stream != "SHOP" ||
		g.places[1].name != "works" || g.places[1].stream != "SHOP2" || g.names() != "hall, works" {
		t.Errorf("%+v", g)
	}
	for _, text := range []string{
		"", "hall", "hall=", "hall=nats://h1:4222", "hall=nats://h1:4222/", "hall=nats:///SHOP",
		"hall=http://h1/SHOP", "hall=nats://h1:/SHOP",
		"hall=nats://h1:4222,works=nats://w1:4222/S", "hall=nats://h1:4222/S,nats://h2:4222/S",
		"hall=nats://h1:4222/S,hall=nats://h2:4222/T",
		"../x=nats://h1:4222/S", "nats://h1:4222/S", "hall=nats://h1:4222/S P",
	} {
		if err := (&group{}).read(text); err == nil {
			t.Errorf("%q was taken", text)
		}
	}
	c := Config{Sites: g, Together: together{secret: "hall=a.key,works=b.key"}}
	if err := c.settleSites(); err != nil || c.Sites.places[0].secret != "a.key" ||
		c.Sites.places[1].secret != "b.key" || c.Together.secret != "" {
		t.Errorf("%v, %+v", err, c.Sites)
	}
	c = Config{Sites: g, Together: together{secret: "other=a.key"}}
	if c.settleSites() == nil {
		t.Error("a secret of no site was taken")
	}
	c = Config{Sites: g, Together: together{urls: []string{"nats://h1:4222"}, stream: "SHOP"}}
	if c.settleSites() == nil {
		t.Error("a record of its own was taken beside sites")
	}
}
