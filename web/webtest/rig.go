// Package webtest is a server over a real desk on a file that is thrown away, for
// tests of handlers: no browser, and nothing of the program around it.
package webtest

import (
	"bytes"
	"cmp"
	"context"
	"crypto/rand"
	"encoding/json"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tallywalk/kiosk"
	"tallywalk/store"
	"tallywalk/store/desk"
	"tallywalk/traveler"
	"tallywalk/traveler/paper"
	"tallywalk/traveler/story"
	"tallywalk/traveler/study"
	"tallywalk/web"
	"tallywalk/web/door"
)

// Options are what a rig is made of; each may be left out.
type Options struct {
	Open    bool             // as in the demo: nobody signs in
	Empty   bool             // without the example shop
	Now     func() time.Time // the shop's clock; the real one
	Rand    io.Reader        // tokens and codes; crypto/rand
	Public  string           // the public URL; http://localhost
	Hosts   []string
	Proxies []netip.Addr
	Version string
}

// Rig is a server that answers on a loopback port, with the example shop in it.
// What a test sends and gets through it is held to the description of the API,
// and the record is verified when the test ends.
type Rig struct {
	t      testing.TB
	root   string
	now    func() time.Time
	Base   string // http://127.0.0.1:port
	Desk   story.Desk
	Tables story.Tables
	Server *web.Server
	Token  string // that requests are made with; empty = none
}

// New starts a server; it ends with the test.
func New(t testing.TB, o Options) *Rig {
	t.Helper()
	r := &Rig{t: t, root: Root(t), now: o.Now}
	if r.now == nil {
		r.now = time.Now
	}
	random := o.Rand
	if random == nil {
		random = rand.Reader
	}
	file, err := store.Open(t.TempDir(), store.Options{Now: r.now, Rand: random, NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	desk, err := desk.New(file, desk.Options{Now: r.now, Rand: random})
	if err != nil {
		t.Fatal(err)
	}
	r.Desk, r.Tables = desk, file.Tables()
	t.Cleanup(func() {
		if err := desk.Close(); err != nil {
			t.Error(err)
		}
		if _, err := store.VerifyNewest(file, 1<<20); err != nil {
			t.Errorf("the record: %v", err)
		}
		if err := file.Close(); err != nil {
			t.Error(err)
		}
	})
	if !o.Empty {
		r.example()
	}
	r.Server = web.New(web.Config{
		Desk: desk, Tables: r.Tables, Now: r.now, Real: time.Now, Rand: random, Log: slog.New(slog.DiscardHandler), Open: o.Open,
		PublicURL: cmp.Or(o.Public, "http://localhost"), Hosts: o.Hosts, Proxies: o.Proxies, Zone: time.UTC, Version: cmp.Or(o.Version, "test"),
		Kiosk: kiosk.Page(), Station: station, Print: printCards, PrintSheet: printSheet, PrintComparison: printComparison,
	})
	r.serve()
	return r
}

func (r *Rig) serve() {
	r.t.Helper()
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		r.t.Fatal(err)
	}
	r.Base = "http://" + ln.Addr().String()
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- r.Server.Serve(ctx, ln) }()
	r.t.Cleanup(func() {
		cancel()
		if err := <-done; err != nil {
			r.t.Errorf("the server ended with %v", err)
		}
	})
}

// What is printed is for other tests: here a head will do.
func printCards(w io.Writer, _ []paper.Printed, _ string) error { return pdf(w) }

func printSheet(w io.Writer, _ paper.Sheet) error { return pdf(w) }

func printComparison(w io.Writer, _ *study.Comparison, _ string, _ time.Time) error { return pdf(w) }

func pdf(w io.Writer) error {
	_, err := io.WriteString(w, "%PDF-1.7\n")
	return err
}

func station(shop *traveler.Shop, f *story.Family, batch int, m traveler.MachineID, role traveler.Role, now time.Time) any {
	return kiosk.Look(shop, f, batch, m, role, now)
}

// Root is the folder of the project.
func Root(t testing.TB) string {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir
		}
		up := filepath.Dir(dir)
		if up == dir {
			t.Fatal("no go.mod above this test")
		}
		dir = up
	}
}

// As is the rig with a token of a role.
func (r *Rig) As(role traveler.Role) *Rig {
	r.t.Helper()
	n := *r
	var err error
	if n.Token, _, err = door.NewToken(r.Tables, rand.Reader, door.TokenAsk{Role: role}, "a test", r.now()); err != nil {
		r.t.Fatal(err)
	}
	return &n
}

// Do makes a request and gives the status of its answer. A body that is no string
// is sent as JSON; a JSON answer goes into v, if v is not nil.
func (r *Rig) Do(method, path string, body, v any) int {
	r.t.Helper()
	var sent []byte
	switch b := body.(type) {
	case nil:
	case string:
		sent = []byte(b)
	default:
		var err error
		if sent, err = json.Marshal(b); err != nil {
			r.t.Fatal(err)
		}
	}
	req, err := http.NewRequest(method, r.Base+path, bytes.NewReader(sent))
	if err != nil {
		r.t.Fatal(err)
	}
	if sent != nil {
		req.Header.Set("Content-Type", "application/json")
	}
	resp, raw := r.Send(req, sent)
	if v != nil {
		if err := json.Unmarshal(raw, v); err != nil {
			r.t.Fatalf("%s %s: %d: %v: %s", method, path, resp.StatusCode, err, raw)
		}
	}
	return resp.StatusCode
}

// Send sends a request, whose body is sent, and reads the whole answer. It does
// not follow to other addresses.
func (r *Rig) Send(req *http.Request, sent []byte) (*http.Response, []byte) {
	r.t.Helper()
	if r.Token != "" {
		req.Header.Set("Authorization", "Bearer "+r.Token)
	}
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	resp, err := client.Do(req)
	if err != nil {
		r.t.Fatal(err)
	}
	defer func() { _ = resp.Body.Close() }()
	raw, err := io.ReadAll(resp.Body)
	if err != nil {
		r.t.Fatal(err)
	}
	HoldToContract(r.t, req, sent, resp, raw)
	return resp, raw
}

// Refused is the detail of the refusal that a request must get.
func (r *Rig) Refused(method, path string, body any, status int) string {
	r.t.Helper()
	var p struct{ Detail string }
	if got := r.Do(method, path, body, &p); got != status {
		r.t.Errorf("%s %s %v: %d, want %d: %s", method, path, body, got, status, p.Detail)
	}
	return p.Detail
}

// Card is the code of the batch of a works order.
func (r *Rig) Card(order string) string {
	r.t.Helper()
	cards := r.Desk.FindCard(order)
	if len(cards) != 1 {
		r.t.Fatalf("%d batches of %s", len(cards), order)
	}
	return string(cards[0])
}

// Fill puts what names stand for into the path of a route: a batch, a machine, a
// person, and so on, of the example shop.
func Fill(path string) string {
	return strings.NewReplacer(":code", "W-501", ":machine", "T1", ":ref", "11", ":kind", "plates.pdf", ":what", "visits", ":id", "x", ":name", "x").Replace(path)
}
