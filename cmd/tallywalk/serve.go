package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/netip"
	"net/url"
	"os"
	"runtime/debug"
	"strings"
	"syscall"
	"time"
	_ "time/tzdata" // zones by name on computers that have none

	"tallywalk/kiosk"
	"tallywalk/labels/ipp"
	"tallywalk/traveler"
	"tallywalk/traveler/ahead"
	"tallywalk/traveler/story"
	"tallywalk/web"
)

// Config is what a running server is made of.
type Config struct {
	Dir       string
	Listen    string
	PublicURL string
	Hosts     []string
	Proxies   []netip.Addr // whose X-Forwarded-For is believed
	Zone      string
	Language  string           // for those who have chosen none; empty = as it was, English at first
	Currency  string           // ISO 4217; empty = as kept, else usualCurrency
	TLS       string           // off, local or files; empty is off
	Cert, Key string           // files of the shop's own certificate
	Together  together         // where several servers keep one record
	Sites     group            // whose records are shown, read-only; none = a shop of its own
	Copies    timetable        // of copies that are made while it serves
	Open      bool             // the demo: nobody signs in
	Now       func() time.Time // the shop's clock
	Pace      float64          // how fast Now runs; 0 = as the real clock
	Pages     string           // the repository, to serve the pages from there; empty = as they are built in
	// Ahead makes what is ahead of the floor of a desk, for tests; nil = it is worked out.
	Ahead func(story.Desk) ahead.Source
	// Started is called once the server answers; the demo's driver begins there.
	Started func(ctx context.Context, desk story.Desk, baseURL string)
}

func cmdServe(h host, args []string) error {
	c, fresh, err := serveConfig(h, args)
	if err != nil {
		return err
	}
	if err := begunFresh(h, c.Dir, fresh); err != nil {
		return err
	}
	return Run(h.ctx, h, c)
}

// serveConfig reads the options of a server, and whether a trial is laid aside first.
func serveConfig(h host, args []string) (c Config, fresh string, err error) {
	f := flags(h, "serve")
	c.Now = h.now
	dir := dataFlag(f)
	f.StringVar(&c.Listen, "listen", "127.0.0.1:8080", "address and port to answer on")
	f.StringVar(&c.PublicURL, "public-url", "",
		"address that the cards will carry, such as http://shop.example:8080; fixed with the first card")
	f.StringVar(&c.Zone, "zone", "", "the shop's time zone, such as Europe/Berlin (the computer's own)")
	language := languageFlag(f, "for those who have chosen none")
	f.StringVar(&c.Currency, "currency", "",
		"the currency of the machines' rates and of costs, by ISO 4217 ("+usualCurrency+")")
	c.tlsFlags(f)
	c.Copies.flags(f)
	c.Together.flags(f)
	c.Sites.flags(f)
	asked := freshFlag(f)
	f.Func("host", "another name that this server goes by; may be repeated",
		func(s string) error { c.Hosts = append(c.Hosts, s); return nil })
	f.Func("proxy", "address of a proxy in front of this server, whose X-Forwarded-For says where requests come from; may be repeated", c.proxy)
	words, err := parse(h, f, args)
	if err != nil {
		return c, fresh, err
	}
	c.Dir, c.Language = *dir, *language
	if err := noWords(words); err != nil {
		return c, fresh, err
	}
	if err := needData(c.Dir); err != nil {
		return c, fresh, err
	}
	if len(c.Together.urls) > 0 && *asked != "" {
		return c, "", &usageError{"--fresh is for a record in one folder; move the record back to it first"}
	}
	return c, *asked, errors.Join(c.tlsFault(), c.Copies.settle(), c.settleSites(), c.Together.settle())
}

// proxy takes the address of a proxy.
func (c *Config) proxy(s string) error {
	ip, err := netip.ParseAddr(s)
	if err != nil {
		return errors.New("must be an address such as 127.0.0.1")
	}
	c.Proxies = append(c.Proxies, ip)
	return nil
}

// Memory is cheap next to a scan that waits: the collector runs when the heap
// has grown fivefold, or earlier when the program comes near what a small
// computer has to spare.
const (
	growth    = 400       // percent
	softLimit = 192 << 20 // bytes
)

// Run serves until ctx ends. It is the one place that wires the rooms together. It
// fails when the folder or the address cannot be had, or when what was decided last
// could not be kept.
func Run(ctx context.Context, h host, c Config) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	debug.SetGCPercent(growth)
	debug.SetMemoryLimit(softLimit)
	keepRoom()
	ln, err := listen(c.Listen)
	if err != nil {
		return err
	}
	defer func() { _ = ln.Close() }()
	hs, err := c.open(ctx, hostAt(h, &c), ln.Addr())
	if err != nil {
		return err
	}
	shown, err := c.Sites.open(ctx, hs)
	if err == nil {
		err = hs.serve(ctx, stop, h, c, ln, shown)
	}
	return errors.Join(err, shown.close(), hs.close())
}

// open opens the folder: alone, or as one server's part.
func (c *Config) open(ctx context.Context, h host, addr net.Addr) (*house, error) {
	if len(c.Together.urls) == 0 {
		return openHouse(c.Dir, h)
	}
	c.Together.address = c.Together.addressAt(addr, c.secured())
	return openTogether(ctx, c.Dir, h, c.Together)
}

// hostAt is the host with the shop's clock. A demo's runs faster than any other,
// so there is none to compare it with.
func hostAt(h host, c *Config) host {
	h.now = c.Now
	if c.Pace != 0 {
		h.steady = nil
	}
	return h
}

func (hs *house) serve(ctx context.Context, stop context.CancelFunc, h host, c Config, ln net.Listener,
	shown mirrors) error {
	set, zone, err := hs.fix(c, ln.Addr())
	if err != nil {
		return err
	}
	base, log := over(localURL(ln.Addr()), c.secured()), slog.New(slog.NewTextHandler(h.err, nil))
	shows, err := c.holder(h, set, log)
	if err != nil {
		return err
	}
	hosts, err := hostsOf(c, shows)
	if err != nil {
		return err
	}
	source, wait := hs.foresee(ctx, c, zone, log)
	copies, copied := hs.keeping(ctx, c.Copies, zone, log)
	defer copied()
	defer wait()
	defer stop()
	srv := web.New(web.Config{
		Ahead: source,
		Desk:  hs.desk, Tables: hs.tables, Now: c.Now, Real: h.now, Rand: h.rand, Log: log, Trust: shows,
		Open: c.Open, Secure: !c.secured() && strings.HasPrefix(set.PublicURL, "https:"),
		PublicURL: set.base(), EntryURL: c.entry(set.base()), Hosts: hosts,
		Proxies: c.Proxies, Zone: zone, Currency: set.Currency, Language: set.Language, Version: version,
		Station: func(shop *traveler.Shop, f *story.Family, batch int, m traveler.MachineID,
			role traveler.Role, arrives bool, language string, now time.Time) any {
			return kiosk.Look(shop, f, batch, m, role, arrives, now).In(language)
		},
		Known: func(shop *traveler.Shop, f *story.Family, batch int, now time.Time) any {
			return kiosk.Know(shop, f, batch, now)
		},
		Refusals: kiosk.Refusals,
		Kiosk:    kiosk.Page(), Print: hs.printing(set), PrintBook: hs.printingBook(set),
		PrintLabels: printLabels, PrintSheet: printSheet, PrintComparison: printComparison, Pace: c.Pace,
		Pages:    c.Pages,
		Printers: &ipp.Client{}, Room: func() error { return roomIn(c.Dir) }, Disk: hs.disk,
		Keeper: copies.unless(c.Open),
		Sole:   hs.sole(), Servers: hs.others(), Sites: shown.sites(zone),
	})
	hs.onNews(srv.Look)
	hs.served = srv.Desk
	owner, err := hs.own(ctx, c.Dir)
	if err != nil {
		return err
	}
	defer owner()
	hello(h.out, c, set, base)
	if shows != nil && shows.Authority() != nil {
		if err := sayTrust(h.out, shows.Authority(), trustAddress(set, ln.Addr())); err != nil {
			return err
		}
	}
	go hs.keepNote(ctx, h)
	if !c.Open {
		hs.sayChecked(h.out)
		if err := hs.sayFirst(ctx, h, srv, c.entry(base)); err != nil {
			return err
		}
	}
	if c.Started != nil {
		go c.Started(ctx, hs.desk, base)
	}
	h.ready(base)
	err = srv.Serve(ctx, ln)
	stop()
	return err
}

// sayFirst says how the first account is made, where there is none. Of several servers the
// one that decides says it, since a new code ends the one before.
func (hs *house) sayFirst(ctx context.Context, h host, srv *web.Server, entry string) error {
	say := func() error {
		code, err := srv.FirstCode()
		if err == nil && code != "" {
			fmt.Fprintf(h.out, "First account, once, within a day: %s/first?code=%s\n", entry, code)
		}
		return err
	}
	if hs.servers == nil {
		return say()
	}
	go func() {
		if !hs.servers.Settled(ctx) {
			return
		}
		if err := say(); err != nil {
			fmt.Fprintln(h.err, "tallywalk serve:", sentence(err))
		}
	}()
	return nil
}

// noteEvery is how often the end of the record is noted beside the file.
const noteEvery = 10 * time.Second

// keepNote notes where the record ends, so that a tail that is cut off shows even
// when the program was not ended in order.
func (hs *house) keepNote(ctx context.Context, h host) {
	repeat(ctx, noteEvery, func() {
		if err := hs.file.Note(); err != nil {
			fmt.Fprintln(h.err, "tallywalk serve:", sentence(err))
		}
	})
}

// repeat does something each time that a pause is over, until ctx ends.
func repeat(ctx context.Context, pause time.Duration, do func()) {
	every := time.NewTicker(pause)
	defer every.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-every.C:
			do()
		}
	}
}

func hello(w io.Writer, c Config, set settings, base string) {
	if c.Open && c.Together.stream != "" {
		helloTogether(w, c, base)
		return
	}
	fmt.Fprintf(w, "tallywalk %s answers on %s\n", version, base)
	if c.Open {
		base = c.entry(base)
		fmt.Fprintf(w, "An invented shop. Waits: %s/waits   Station: %s/station   Questions: %s/questions\nEnd with Ctrl-C; nothing is kept.\n", base, base, base)
		return
	}
	if len(c.Sites.places) > 0 {
		fmt.Fprintf(w, "Shows the records of %s, and takes no scans. End with Ctrl-C.\n", c.Sites.names())
		return
	}
	fmt.Fprintf(w, "Cards carry %s. End with Ctrl-C.\n", set.base())
	if set.TLSPrinted && !set.TLS {
		fmt.Fprintln(w, "Cards were printed with https: phones open those only while the server speaks TLS (--tls).")
	}
}

// fix settles the public URL and the zone: given now, or fixed before.
func (hs *house) fix(c Config, addr net.Addr) (settings, *time.Location, error) {
	set, err := hs.settings()
	if err != nil {
		return set, nil, err
	}
	was := set
	if c.PublicURL != "" {
		u, err := url.Parse(c.PublicURL)
		if err != nil || (u.Scheme != "http" && u.Scheme != "https") || u.Host == "" ||
			strings.Trim(u.Path, "/") != "" {
			return set, nil,
				&usageError{"--public-url must be such as http://shop.example:8080, without a path"}
		}
		given := u.Scheme + "://" + u.Host
		if c.secured() {
			given = over(given, false)
		}
		if set.Printed && set.PublicURL != given {
			return set, nil,
				fmt.Errorf("cards were printed with %s; serve under that address, for the cards on the floor lead there", set.PublicURL)
		}
		set.PublicURL, set.Given = given, true
	}
	if set.PublicURL == "" || (!set.Given && !set.Printed) {
		set.PublicURL = publicURL(addr)
	}
	set.TLS = c.secured()
	if c.Zone != "" {
		set.Zone = c.Zone
	}
	set.Language = cmp.Or(c.Language, set.Language)
	zone, err := zoneOf(set.Zone)
	if err != nil {
		return set, nil, err
	}
	if set.Currency, err = currencyOf(cmp.Or(c.Currency, set.Currency)); err != nil {
		return set, nil, err
	}
	if set != was {
		err = hs.keep(set)
	}
	return set, zone, err
}

// publicURL is the address under which others may reach a listener.
func publicURL(addr net.Addr) string {
	host, port, err := net.SplitHostPort(addr.String())
	if ip := net.ParseIP(host); err != nil || ip == nil || !ip.IsUnspecified() {
		return "http://" + addr.String()
	}
	name, err := os.Hostname()
	if err != nil || name == "" {
		name = "localhost"
	}
	return "http://" + net.JoinHostPort(strings.ToLower(name), port)
}

// localURL is the address under which this computer reaches a listener.
func localURL(addr net.Addr) string {
	host, port, err := net.SplitHostPort(addr.String())
	if err != nil {
		return "http://" + addr.String()
	}
	if ip := net.ParseIP(host); ip != nil && ip.IsUnspecified() {
		host = "127.0.0.1"
	}
	return "http://" + net.JoinHostPort(host, port)
}

func listen(addr string) (net.Listener, error) {
	ln, err := net.Listen("tcp", addr)
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		return nil, fmt.Errorf(
			"%s is in use by another program; end that one, or choose another port with --listen", addr)
	case errors.Is(err, syscall.EACCES):
		return nil, fmt.Errorf("this account may not answer on %s; choose a port from 1024 on with --listen",
			addr)
	case err != nil:
		return nil, fmt.Errorf(
			"cannot answer on %s; say --listen HOST:PORT with an address of this computer: %w", addr, err)
	}
	return ln, nil
}
