package main

import (
	"context"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"slices"
	"sync/atomic"
	"testing"
	"time"

	"tallywalk/cmd/tallywalk/demo"
	"tallywalk/kiosk"
	"tallywalk/traveler/story"
	"tallywalk/web"
	"tallywalk/web/trust"
)

// plainReader is a desk that reads every batch whole, each by itself, whatever a
// reader can do without.
type plainReader struct{ story.Desk }

func (d plainReader) Facts(q story.FactQuery, yield func(*story.BatchFact) bool) error {
	roots := q.Roots
	q.Roots, q.Without, q.Lent, q.Bare = nil, 0, false, false
	return d.Desk.Facts(q, func(b *story.BatchFact) bool {
		return roots != nil && !slices.Contains(roots, b.Root) || yield(b)
	})
}

// servePages serves the pages of a desk.
func servePages(t testing.TB, desk story.Desk, hs *house, now time.Time) string {
	t.Helper()
	return "http://" + servePagesOver(t, desk, hs, now, nil)
}

// servePagesOver serves them over TLS too, with a certificate; it gives host and port.
func servePagesOver(t testing.TB, desk story.Desk, hs *house, now time.Time, shows trust.Holder) string {
	t.Helper()
	zone, err := time.LoadLocation(demo.Zone)
	if err != nil {
		t.Fatal(err)
	}
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	srv := web.New(web.Config{
		Desk: desk, Tables: hs.tables, Now: func() time.Time { return now }, Real: time.Now,
		Rand: rand.Reader, Open: true, Zone: zone,
		Log: slog.New(slog.NewTextHandler(io.Discard, nil)), Kiosk: kiosk.Page(), Trust: shows,
	})
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- srv.Serve(ctx, ln) }()
	t.Cleanup(func() {
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
	})
	return ln.Addr().String()
}

// ownAuthority is a holder for this computer, and a client that trusts it.
func ownAuthority(t *testing.T) (trust.Holder, *http.Client) {
	t.Helper()
	a, err := trust.OpenAuthority(t.TempDir(), []string{"localhost"}, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	l := trust.NewLocal(a, trust.Place{Names: a.Names, Addresses: trust.OwnAddresses}, time.Now)
	roots := x509.NewCertPool()
	roots.AddCert(l.Authority())
	return l, &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}}}
}

func pageOf(t testing.TB, base, path string) string {
	t.Helper()
	resp, err := http.Get(base + path)
	if err != nil {
		t.Fatal(err)
	}
	raw, err := io.ReadAll(resp.Body)
	if cerr := resp.Body.Close(); err != nil || cerr != nil || resp.StatusCode != http.StatusOK {
		t.Fatalf("%s: %d %v %s", path, resp.StatusCode, err, raw)
	}
	return string(raw)
}

// The pages of history say the same, to the last digit, of what they read in
// part and of all that the record has: on the demo's history, with batches on
// the floor and off it, families of several, and all that goes wrong there.
func TestPagesReadInPart(t *testing.T) {
	t.Parallel()
	s, hs := simulatedShop(t, 4, 3)
	fast, plain := servePages(t, hs.desk, hs, s.Opens()), servePages(t, plainReader{hs.desk}, hs, s.Opens())
	var last story.BatchFact
	kept := 0
	if err := hs.desk.Facts(story.FactQuery{}, func(b *story.BatchFact) bool {
		if kept++; len(b.Lots) > 0 && b.Order != "" && len(b.Deliveries) > 0 {
			last = *b
		}
		return true
	}); err != nil || kept < 50 || last.Card == "" {
		t.Fatalf("%d batches off the floor, the last %+v: %v", kept, last, err)
	}
	from := s.Opens().AddDate(0, 0, -21).Format(time.DateOnly)
	to := s.Opens().AddDate(0, 0, -7).Format(time.DateOnly)
	pages := []string{"load", "fits", "history", "history?from=" + from + "&to=" + to,
		"machine-hours?machine=T1", "machine-hours?machine=F5&from=" + from + "&to=" + to}
	for _, kind := range []string{"scrap", "rework", "review", "stop"} {
		for _, by := range []string{"reason", "found", "caused", "part", "machine", "clampings"} {
			pages = append(pages, "losses?kind="+kind+"&by="+by,
				fmt.Sprintf("losses?kind=%s&by=%s&operation=20&from=%s", kind, by, from))
		}
	}
	for _, q := range []string{last.Lots[0], last.Order, last.Customer, string(last.Card),
		last.Deliveries[0].Note, "nothing"} {
		pages = append(pages, "trace?q="+url.QueryEscape(q))
	}
	for _, page := range pages {
		got, want := pageOf(t, fast, "/api/v1/"+page), pageOf(t, plain, "/api/v1/"+page)
		if got != want {
			t.Errorf("%s:\n%.1500s\nof all there is\n%.1500s", page, got, want)
		}
	}
	if found := pageOf(t, fast, "/api/v1/trace?q="+url.QueryEscape(last.Lots[0])); len(found) < 300 {
		t.Errorf("the lot %s leads to no batch: %s", last.Lots[0], found)
	}
}

// endlessShop has batches without end; over is closed when nobody reads them any
// more.
type endlessShop struct {
	story.Desk
	asked, over chan struct{}
}

func (d endlessShop) Facts(_ story.FactQuery, yield func(*story.BatchFact) bool) error {
	close(d.asked)
	defer close(d.over)
	for yield(&story.BatchFact{State: story.StateCancelled, Ended: demoNow.AddDate(0, 0, -1),
		Released: demoNow.AddDate(0, 0, -2)}) {
	}
	return nil
}

// Who closes a page of history before it has come stops the work on it, over TLS too,
// where a closing alert comes before the end of the connection.
func TestHistoryStopsWhenNobodyWaits(t *testing.T) {
	t.Parallel()
	_, hs := simulatedShop(t, 1, 1)
	shows, trusting := ownAuthority(t)
	for i, page := range []string{"history", "losses", "machine-hours", "fits", "load", "trace?q=none"} {
		// The boards read the history too, before the server answers.
		desk := &laterEndless{Desk: hs.desk}
		base, client := "https://"+servePagesOver(t, desk, hs, demoNow, shows), trusting
		if i%2 == 1 {
			base, client = servePages(t, desk, hs, demoNow), http.DefaultClient
		}
		shop := endlessShop{hs.desk, make(chan struct{}), make(chan struct{})}
		desk.shop.Store(&shop)
		ctx, leave := context.WithCancel(context.Background())
		req, err := http.NewRequestWithContext(ctx, http.MethodGet, base+"/api/v1/"+page, nil)
		if err != nil {
			t.Fatal(err)
		}
		answered := make(chan error, 1)
		go func() {
			resp, err := client.Do(req)
			if err == nil {
				err = resp.Body.Close()
			}
			answered <- err
		}()
		<-shop.asked
		leave()
		<-shop.over
		if err := <-answered; err == nil {
			t.Errorf("%s was answered", page)
		}
	}
}

// laterEndless becomes an endless shop once it is said so.
type laterEndless struct {
	story.Desk
	shop atomic.Pointer[endlessShop]
}

func (d *laterEndless) Facts(q story.FactQuery, yield func(*story.BatchFact) bool) error {
	if s := d.shop.Load(); s != nil {
		return s.Facts(q, yield)
	}
	return d.Desk.Facts(q, yield)
}

// BenchmarkPages asks for pages of two years of the demo's history; beside each,
// the same of batches that are read whole.
func BenchmarkPages(b *testing.B) {
	s, hs := simulatedShop(b, 1, demo.MaxWeeks)
	fast, plain := servePages(b, hs.desk, hs, s.Opens()), servePages(b, plainReader{hs.desk}, hs, s.Opens())
	for _, page := range []string{"history?from=2020-01-01", "losses?from=2020-01-01", "machine-hours",
		"load", "fits", "trace?q=none"} {
		for name, base := range map[string]string{"in-part": fast, "whole": plain} {
			b.Run(page+"/"+name, func(b *testing.B) {
				for b.Loop() {
					pageOf(b, base, "/api/v1/"+page)
				}
			})
		}
	}
}
