// Package webtest is a server over a real desk on a file that is thrown away, for
// tests of handlers: no browser, and nothing of the program around it.
package webtest

import (
	"cmp"
	"context"
	"crypto/rand"
	"io"
	"io/fs"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"tallywalk/kiosk"
	"tallywalk/store"
	"tallywalk/store/desk"
	"tallywalk/traveler"
	"tallywalk/traveler/ahead"
	"tallywalk/traveler/paper"
	"tallywalk/traveler/story"
	"tallywalk/traveler/study"
	"tallywalk/web"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// Options are what a rig is made of; each may be left out.
type Options struct {
	// Real is the computer's clock; nil = time.Now.
	Real    func() time.Time
	Open    bool             // as in the demo: nobody signs in
	Empty   bool             // without the example shop
	Now     func() time.Time // the shop's clock; the real one
	Rand    io.Reader        // tokens and codes; crypto/rand
	Public  string           // the public URL; http://localhost
	Hosts   []string
	Proxies []netip.Addr
	Version string
	Kiosk   fs.FS // of the station page; the program's own
	// Language is the shop's own; English.
	Language string
	// Ahead makes what is ahead of the shop; nil = nothing is.
	Ahead func(story.Desk) ahead.Source
	// Tables stands before the tables of the server, to let them fail; nil = nothing does.
	Tables func(story.Tables) story.Tables
	// Log is the server's; nil = what it logs is dropped.
	Log *slog.Logger
	// Printers reaches printers; nil = there are none.
	Printers paper.Printers
	// Servers are those that keep the record together; nil = one file does.
	Servers story.Servers
	// Sites are those that it shows, in place of a shop of its own.
	Sites []ask.Site
	// Listen is where the server answers; any free port of 127.0.0.1.
	Listen string
}

// Rig is a server that answers on a loopback port, with the example shop in it.
// What a test sends and gets through it is held to the description of the API,
// and the record is verified when the test ends.
type Rig struct {
	Client
	root   string
	now    func() time.Time
	real   func() time.Time
	Desk   story.Desk
	Tables story.Tables
	Server *web.Server
	// Stop ends the server; the desk stays open.
	Stop func()
	cfg  web.Config
}

// New starts a server; it ends with the test.
func New(t testing.TB, o Options) *Rig {
	t.Helper()
	r := &Rig{Client: Client{T: t}, root: Root(t), now: o.Now}
	if r.real = o.Real; r.real == nil {
		r.real = time.Now
	}
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
	if o.Tables != nil {
		r.Tables = o.Tables(r.Tables)
	}
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
	r.configure(o, random)
	r.serve(cmp.Or(o.Listen, "127.0.0.1:0"))
	return r
}

func (r *Rig) configure(o Options, random io.Reader) {
	var source ahead.Source
	if o.Ahead != nil {
		source = o.Ahead(r.Desk)
	}
	r.cfg = web.Config{
		Ahead: source, Servers: o.Servers, Sites: o.Sites,
		Desk: r.Desk, Tables: r.Tables, Now: r.now, Real: r.real, Rand: random,
		Log:       cmp.Or(o.Log, slog.New(slog.DiscardHandler)),
		Open:      o.Open,
		PublicURL: cmp.Or(o.Public, "http://localhost"), Hosts: o.Hosts, Proxies: o.Proxies, Zone: time.UTC,
		Language: o.Language,
		Version:  cmp.Or(o.Version, "test"),
		Kiosk:    kioskOr(o.Kiosk), Station: station, Known: known, Refusals: kiosk.Refusals,
		Print: printCards, PrintSheet: printSheet,
		PrintBook: printBook, PrintLabels: printLabels,
		PrintComparison: printComparison, Printers: o.Printers,
	}
}

// Beside starts another server over the same desk and tables: of the options its public
// URL, its other names, its servers and where it listens count.
func (r *Rig) Beside(o Options) *Rig {
	r.T.Helper()
	n := *r
	n.Token, n.HTTP = "", nil
	n.cfg.PublicURL, n.cfg.Hosts, n.cfg.Servers = cmp.Or(o.Public, "http://localhost"), o.Hosts, o.Servers
	n.serve(cmp.Or(o.Listen, "127.0.0.1:0"))
	return &n
}

// Again starts a server that was ended, at the address that it had.
func (r *Rig) Again() {
	r.T.Helper()
	r.serve(strings.TrimPrefix(r.Base, "http://"))
}

func (r *Rig) serve(at string) {
	r.T.Helper()
	ln, err := net.Listen("tcp", at)
	if err != nil {
		r.T.Fatal(err)
	}
	r.Base = "http://" + ln.Addr().String()
	r.Server = web.New(r.cfg)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	server := r.Server
	go func() { done <- server.Serve(ctx, ln) }()
	r.Stop = sync.OnceFunc(func() {
		cancel()
		if err := <-done; err != nil {
			r.T.Errorf("the server ended with %v", err)
		}
	})
	r.T.Cleanup(r.Stop)
}

// What is printed is for other tests: here a head will do.
func printCards(w io.Writer, _ []paper.Printed, _, _ string) error { return pdf(w) }

func printBook(w io.Writer, _ int, _ func(int) (paper.Printed, error), _, _ string) error {
	return pdf(w)
}

func printLabels(w io.Writer, _ []paper.Label, _, _ string) error { return pdf(w) }

func printSheet(w io.Writer, _ paper.Sheet, _ string) error { return pdf(w) }

func printComparison(w io.Writer, _ *study.Comparison, _ string, _ time.Time, _ string) error {
	return pdf(w)
}

func pdf(w io.Writer) error {
	_, err := io.WriteString(w, "%PDF-1.7\n")
	return err
}

func station(
	shop *traveler.Shop, f *story.Family, batch int, m traveler.MachineID, role traveler.Role,
	arrives bool, language string, now time.Time,
) any {
	return kiosk.Look(shop, f, batch, m, role, arrives, now).In(language)
}

func kioskOr(own fs.FS) fs.FS {
	if own != nil {
		return own
	}
	return kiosk.Page()
}

func known(shop *traveler.Shop, f *story.Family, batch int, now time.Time) any {
	return kiosk.Know(shop, f, batch, now)
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

// Visitor is someone else, who keeps cookies as a browser does.
func (r *Rig) Visitor() *Rig {
	n := *r
	n.Client = *r.Client.Visitor()
	return &n
}

// From is a visitor who comes from another address of this computer.
func (r *Rig) From(address string) *Rig {
	n := r.Visitor()
	d := net.Dialer{LocalAddr: &net.TCPAddr{IP: net.ParseIP(address)}}
	n.HTTP.Transport = &http.Transport{DialContext: d.DialContext}
	return n
}

// Tablet enrols a station at T1 and gives its device.
func (r *Rig) Tablet(admin *Rig, name string) (tablet *Rig, device string) {
	r.T.Helper()
	var enrol struct{ Code string }
	body := map[string]any{"name": name, "machine": "T1"}
	if got := admin.Do("POST", "/api/v1/enrol-codes", body, &enrol); got != http.StatusCreated {
		r.T.Fatalf("enrol code: %d", got)
	}
	var st struct{ Device string }
	tablet = r.Visitor()
	got := tablet.Do("POST", "/api/v1/enrol", map[string]any{"code": enrol.Code}, &st)
	if got != http.StatusOK || st.Device == "" {
		r.T.Fatalf("enrol: %d", got)
	}
	return tablet, st.Device
}

// As is the rig with a token of a role.
func (r *Rig) As(role traveler.Role) *Rig {
	r.T.Helper()
	n := *r
	secret, _, err := door.NewToken(r.Tables, rand.Reader, door.TokenAsk{Role: role}, "a test", r.now())
	if err != nil {
		r.T.Fatal(err)
	}
	n.Token = secret
	return &n
}

// Fill puts what names stand for into the path of a route: a batch, a machine, a
// person, and so on, of the example shop.
func Fill(path string) string {
	return strings.NewReplacer(
		":code", "W-501", ":machine", "T1", ":ref", "11", ":kind", "plates.pdf", ":list", "machines", ":what",
		"visits", ":id", "x",
		":name", "x",
	).Replace(path)
}
