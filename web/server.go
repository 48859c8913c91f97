// Package web serves the pages, the JSON API and the live boards on one port:
// fiber for requests, gorilla/websocket for the boards. Its rooms answer; here
// they are wired to their ways in. It keeps nothing of its own but who is signed
// in, which it keeps in story.Tables.
//
// # Decisions, with their reasons
//
//   - A port that speaks TLS goes on speaking plain HTTP. People are sent to TLS from
//     there: pages by 307, by way of the page that helps a browser to trust the server
//     (/trust?next=...), passwords and tokens by 308, so that what was posted is posted
//     again. Devices are not: a station's page and its scans, and a wall screen, are
//     answered as before, for what a station keeps unsent is kept by its browser for the
//     address it has, and a redirect would leave it there. The station offers the change
//     once nothing waits. HSTS is not set.
//   - Cookies of both ways have different names (web/door/who.go).
package web

import (
	"cmp"
	"context"
	"io"
	"io/fs"
	"log/slog"
	"net"
	"net/netip"
	"strings"
	"sync"
	"time"

	"github.com/gofiber/fiber/v2"
	"github.com/gofiber/fiber/v2/middleware/compress"
	"github.com/gofiber/fiber/v2/middleware/recover"
	"github.com/valyala/fasthttp"

	"tallywalk/traveler"
	"tallywalk/traveler/ahead"
	"tallywalk/traveler/ground"
	"tallywalk/traveler/paper"
	"tallywalk/traveler/story"
	"tallywalk/traveler/study"
	webahead "tallywalk/web/ahead"
	"tallywalk/web/ask"
	"tallywalk/web/door"
	"tallywalk/web/health"
	"tallywalk/web/live"
	"tallywalk/web/page"
	"tallywalk/web/printers"
	"tallywalk/web/trust"
)

// Config is what a server is made of. All fields but Servers, EntryURL, Hosts, Proxies, Trust,
// Ahead, Room, Keeper, Disk, Pace, Sites and Printers are needed.
type Config struct {
	Desk   story.Desk
	Tables story.Tables
	// Servers knows the servers that keep the record together; nil is for one file.
	Servers story.Servers
	Now     func() time.Time // the shop's clock
	Real    func() time.Time // for deadlines of sockets: the demo's Now runs faster
	Rand    io.Reader        // for tokens and codes
	Log     *slog.Logger

	Open      bool   // the demo: nobody signs in, everybody may do everything
	Secure    bool   // a proxy speaks TLS for this server: cookies say so
	PublicURL string // as printed on the cards
	EntryURL  string // where a device begins that may not trust the server yet; empty = PublicURL
	Hosts     []string
	Proxies   []netip.Addr // whose X-Forwarded-For is believed
	Zone      *time.Location
	Language  string // the shop's, for those who say none; empty is English
	Currency  string // of rates and costs, ISO 4217
	Version   string
	// Trust has the certificate with which the server's port speaks TLS beside plain
	// HTTP; nil is for plain HTTP alone.
	Trust trust.Holder

	// Station says what a scan of a batch at a machine could mean, for someone in
	// a role, in a language; see package kiosk. The answer is sent as JSON.
	Station func(
		shop *traveler.Shop, f *story.Family, batch int, m traveler.MachineID, role traveler.Role,
		arrives bool, language string, now time.Time,
	) any
	// Known says what a station needs to judge by itself what is said of a batch, and
	// Refusals are the keys of the sentences that it then refuses with; see package
	// kiosk.
	Known    func(shop *traveler.Shop, f *story.Family, batch int, now time.Time) any
	Refusals []string
	// Kiosk holds the page an operator sees: its main.js, and what that loads.
	Kiosk fs.FS
	// Pages is the folder of the repository whose pages are served, read again at
	// each look; empty is for those that the program carries.
	Pages string
	// Print writes job cards as PDF, in a language; size is A5, A4 or A4x2.
	Print func(w io.Writer, cards []paper.Printed, size, language string) error
	// PrintBook writes job cards too, asking for each when it comes to it, from two
	// goroutines.
	PrintBook func(
		w io.Writer, n int, card func(int) (paper.Printed, error), size, language string,
	) error
	// PrintLabels writes labels, all of one size; see paper.LabelSizes.
	PrintLabels func(w io.Writer, labels []paper.Label, size, language string) error
	// PrintSheet writes another sheet: the scanner test card, badges, machine
	// plates, or a machine's action sheet.
	PrintSheet func(w io.Writer, sheet paper.Sheet, language string) error
	// PrintComparison writes routes side by side on one A4 page.
	PrintComparison func(w io.Writer, v *study.Comparison, name string, at time.Time, language string) error
	// Ahead forecasts the floor; nil is for a server on which nothing ahead is worked out,
	// and its pages say so.
	Ahead ahead.Source
	// Room says why the disk takes no more; nil is for one that always does.
	Room func() error
	// Keeper makes copies of the record; nil is for a server that keeps nothing.
	Keeper health.Keeper
	// Disk says what the disk of the record has; nil is for a record without one.
	Disk func() health.Disk
	// Pace is how fast Now runs; 0 is as fast as Real.
	Pace float64
	// Printers reaches printers on the network; nil is for a server to which none can be
	// added.
	Printers paper.Printers
	// Sites are the shops of a group, whose records this server follows and only shows; none
	// is for a server of one shop.
	Sites []ask.Site
	// Sole reports whether this server, of several that keep one record, does what only one
	// of them may; nil is for one that is alone.
	Sole func() bool
}

// Limits of the server.
const (
	readTimeout  = 20 * time.Second
	writeTimeout = 30 * time.Second
	idleTimeout  = 2 * time.Minute
)

// Server is the running server.
type Server struct {
	*door.Door
	cfg      Config
	app      *fiber.App
	site     *page.Site
	live     *live.Live
	ahead    *webahead.Ahead
	room     room
	measured *health.Measured
	since    time.Time
	ways     map[string]bool // into the API, by method and path

	printers *printers.Printers
}

// New makes a server; Serve starts it.
func New(cfg Config) *Server {
	s := &Server{cfg: cfg, since: cfg.Now(), measured: health.NewMeasured()}
	s.Door = door.New(&ask.House{
		Desk: watched{cfg.Desk, s}, Tables: cfg.Tables, Now: cfg.Now, Real: cfg.Real, Rand: cfg.Rand,
		Log:     cfg.Log,
		Servers: cfg.Servers, Floors: &ground.Floors{}, Open: cfg.Open, Secure: cfg.Secure,
		PublicURL: cfg.PublicURL,
		EntryURL:  cmp.Or(cfg.EntryURL, cfg.PublicURL), Zone: cfg.Zone, Language: cfg.Language,
		Currency: cmp.Or(cfg.Currency, "EUR"),
		Sites:    len(cfg.Sites) > 0, Version: cfg.Version, Pace: cmp.Or(cfg.Pace, 1), Boards: live.Names,
	}, cfg.Hosts, cfg.Proxies)
	s.live = live.New(s.Door, foreseen(cfg.Ahead))
	s.ahead = webahead.New(s.Door, webahead.Config{Source: cfg.Ahead, Waiting: s.live.WaitingAt})
	s.printers = printers.New(s.Door,
		printers.Config{Link: cfg.Printers, Print: cfg.Print, PrintSheet: cfg.PrintSheet,
			PrintLabels: cfg.PrintLabels, Sole: cfg.Sole})
	s.site = newSite(cfg.Kiosk, cfg.Pages)
	s.app = fiber.New(fiber.Config{
		AppName:               "tallywalk",
		DisableStartupMessage: true,
		Immutable:             true,          // fiber's strings are overwritten after the handler
		BodyLimit:             door.ListBody, // the most; BodyLimit says what each request may have
		ReadTimeout:           readTimeout,
		WriteTimeout:          writeTimeout,
		IdleTimeout:           idleTimeout,
		ErrorHandler:          s.Fail,

		DisablePreParseMultipartForm: true,
	})
	s.app.Server().HeaderReceived = func(h *fasthttp.RequestHeader) fasthttp.RequestConfig {
		return fasthttp.RequestConfig{MaxRequestBodySize: s.BodyLimit(h)}
	}
	s.app.Use(ask.Identify)
	s.app.Use(recover.New())
	s.app.Use(s.timed)
	s.app.Use(s.Guard, s.toTLS)
	s.app.Use(compress.New(compress.Config{Next: leaveAsItIs, Level: compress.LevelBestSpeed}))
	s.routes()
	return s
}

// Look looks again at what other servers of the record may have changed: rows of tables,
// and whether this one is the Sole.
func (s *Server) Look() { s.printers.Look() }

// leaveAsItIs reports whether an answer is not to be compressed: sockets, what is
// written while it is read, and answers to scans, which are short and many.
func leaveAsItIs(c *fiber.Ctx) bool {
	path := c.Path()
	return path == "/api/v1/scans" || ask.IsUpgrade(c) || strings.HasPrefix(path, "/api/v1/export/") ||
		path == "/api/v1/cards.pdf"
}

// Serve answers on ln until ctx ends, then closes every connection. It fails as
// the listener does.
func (s *Server) Serve(ctx context.Context, ln net.Listener) error {
	stop := context.AfterFunc(ctx, func() {
		s.live.Close()
		if err := s.app.ShutdownWithTimeout(time.Second); err != nil {
			s.cfg.Log.Warn("closing connections", "err", err)
		}
	})
	defer stop()
	go s.live.Run(ctx)
	go s.ahead.Run(ctx)
	ctx, end := context.WithCancel(ctx)
	var printing sync.WaitGroup
	printing.Go(func() { s.printers.Run(ctx) })
	defer printing.Wait()
	defer end()
	ln = newRetrying(ln, s.cfg.Log)
	if s.cfg.Trust != nil {
		ln = trust.Both(ln, s.cfg.Trust)
	}
	return s.app.Listener(ln)
}
