// Package web serves the pages, the JSON API and the live boards on one port:
// fiber for requests, gorilla/websocket for the boards. It asks and tells at
// the traveler.Desk it is given and keeps nothing of its own but who is signed
// in, which it keeps in traveler.Tables.
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
	"tallywalk/traveler/ground"
	"tallywalk/web/page"
)

// Config is what a server is made of. All fields but Hosts, Proxies, Room
// and Pace are needed.
type Config struct {
	Desk   traveler.Desk
	Tables traveler.Tables
	Now    func() time.Time // the shop's clock
	Real   func() time.Time // for deadlines of sockets: the demo's Now runs faster
	Rand   io.Reader        // for tokens and codes
	Log    *slog.Logger

	Open      bool   // the demo: nobody signs in, everybody may do everything
	Secure    bool   // served over TLS: cookies say so
	PublicURL string // as printed on the cards
	Hosts     []string
	Proxies   []netip.Addr // whose X-Forwarded-For is believed
	Zone      *time.Location
	Version   string

	// Station says what a scan of a batch at a machine could mean, for someone in
	// a role; see package kiosk. The answer is sent as JSON.
	Station func(shop *traveler.Shop, f *traveler.Family, batch int, m traveler.MachineID, role traveler.Role, now time.Time) any
	// Kiosk holds the page an operator sees: its main.js, and what that loads.
	Kiosk fs.FS
	// Pages is the folder of the repository whose pages are served, read again at
	// each look; empty is for those that the program carries.
	Pages string
	// Print writes job cards as PDF; paper is A4 or A5.
	Print func(w io.Writer, cards []Printed, paper string) error
	// PrintSheet writes another sheet: the scanner test card, badges, machine
	// plates, or a machine's action sheet.
	PrintSheet func(w io.Writer, sheet Sheet) error
	// PrintComparison writes routes side by side on one A4 page.
	PrintComparison func(w io.Writer, v *Comparison, name string, at time.Time) error
	// Room says why the disk takes no more; nil is for one that always does.
	Room func() error
	// Pace is how fast Now runs; 0 is as fast as Real.
	Pace float64
}

func (c *Config) pace() float64 { return cmp.Or(c.Pace, 1) }

// zoneName is the shop's zone by its name; empty when it is only known as this
// computer's own, and a page then takes its own too.
func zoneName(z *time.Location) string {
	if z == time.Local {
		return ""
	}
	return z.String()
}

// Printed is a batch with its route, ready to be printed.
type Printed struct {
	Batch   traveler.Batch
	Route   traveler.Route
	URL     string
	Printed time.Time
	Head    string // the record's last sequence and head hash
}

// Sheet is a printed sheet that is not a job card.
type Sheet struct {
	Kind     string // scanner, badges, plates or actions
	Machine  traveler.Machine
	Machines []traveler.Machine
	People   []Person
	Printed  time.Time
}

// Limits of the server.
const (
	readTimeout  = 20 * time.Second
	writeTimeout = 30 * time.Second
	idleTimeout  = 2 * time.Minute
	maxScans     = 500 // in one request
)

// Server is the running server.
type Server struct {
	cfg    Config
	app    *fiber.App
	site   *page.Site
	hub    *hub
	hosts  hostRule
	floors ground.Floors
	letIn  passes

	usualMu sync.Mutex
	usual   *usual
	tries   tries
	once    sync.Mutex // held while a one-time code is looked up and taken
	signIns gate
	guesses gate // of one-time codes
	hashing turns
	proxies map[netip.Addr]bool
	room    room
	drawing sync.Mutex // held while a picture is decoded: that takes memory
}

// New makes a server; Serve starts it.
func New(cfg Config) *Server {
	s := &Server{cfg: cfg, hosts: newHostRule(cfg.PublicURL, cfg.Hosts), hashing: newTurns(), proxies: map[netip.Addr]bool{}}
	for _, ip := range cfg.Proxies {
		s.proxies[ip.Unmap()] = true
	}
	s.cfg.Desk, s.cfg.Tables = watched{cfg.Desk, s}, heard{cfg.Tables, &s.letIn}
	s.site = newSite(cfg.Kiosk, cfg.Pages)
	s.hub = newHub(s)
	s.app = fiber.New(fiber.Config{
		AppName:               "tallywalk",
		DisableStartupMessage: true,
		Immutable:             true,     // fiber's strings are overwritten after the handler
		BodyLimit:             wideBody, // the most; bodyLimit says what each request may have
		ReadTimeout:           readTimeout,
		WriteTimeout:          writeTimeout,
		IdleTimeout:           idleTimeout,
		ErrorHandler:          s.fail,

		DisablePreParseMultipartForm: true,
	})
	s.app.Server().HeaderReceived = func(h *fasthttp.RequestHeader) fasthttp.RequestConfig {
		return fasthttp.RequestConfig{MaxRequestBodySize: s.bodyLimit(h)}
	}
	s.app.Use(recover.New())
	s.app.Use(s.guard)
	s.app.Use(compress.New(compress.Config{Next: leaveAsItIs, Level: compress.LevelBestSpeed}))
	s.routes()
	return s
}

// leaveAsItIs reports whether an answer is not to be compressed: sockets, what is
// written while it is read, and answers to scans, which are short and many.
func leaveAsItIs(c *fiber.Ctx) bool {
	path := c.Path()
	return path == "/api/v1/scans" || isUpgrade(c) || strings.HasPrefix(path, "/api/v1/export/")
}

// Serve answers on ln until ctx ends, then closes every connection.
func (s *Server) Serve(ctx context.Context, ln net.Listener) error {
	stop := context.AfterFunc(ctx, func() {
		s.hub.close()
		if err := s.app.ShutdownWithTimeout(time.Second); err != nil {
			s.cfg.Log.Warn("closing connections", "err", err)
		}
	})
	defer stop()
	go s.hub.run(ctx)
	return s.app.Listener(ln)
}

// now is the server's clock in whole milliseconds, UTC.
func (s *Server) now() time.Time { return s.cfg.Now().UTC().Truncate(time.Millisecond) }
