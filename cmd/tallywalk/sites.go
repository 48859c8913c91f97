package main

import (
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"tallywalk/store/desk"
	"tallywalk/store/stream"
	"tallywalk/web/ask"
)

// group is the sites whose records a server shows, read-only.
type group struct {
	places []place
	secret string // FILE of all, or SITE=FILE,SITE=FILE
}

// place is where the record of a site is.
type place struct {
	name, stream string
	urls         []string
	secret       string
}

const sitesUsage = "SITE=nats://ENGINE:4222,.../STREAM,SITE=... show the records of several sites, read-only: " +
	"after the last engine of a site comes its stream, such as hall=nats://h1:4222,nats://h2:4222/SHOP,works=nats://w1:4222/SHOP2; " +
	"where each has a secret of its own, --secret SITE=FILE,SITE=FILE"

func (g *group) flags(f *flag.FlagSet) {
	f.Func("sites", sitesUsage, g.read)
}

var errSites = errors.New(
	"must be such as hall=nats://h1:4222,nats://h2:4222/SHOP,works=nats://w1:4222/SHOP2")

// read takes what --sites says.
func (g *group) read(text string) error {
	for _, word := range strings.Split(text, ",") {
		if name, rest, begins := strings.Cut(word, "="); begins {
			if !streamName.MatchString(name) ||
				slices.ContainsFunc(g.places, func(p place) bool { return strings.EqualFold(p.name, name) }) {
				return errors.New("a site's name is letters, digits, - and _, and each site has another")
			}
			if n := len(g.places); n > 0 && g.places[n-1].stream == "" {
				return errSites
			}
			g.places = append(g.places, place{name: name})
			word = rest
		}
		if len(g.places) == 0 {
			return errSites
		}
		p := &g.places[len(g.places)-1]
		host, known := strings.CutPrefix(word, "nats://")
		host, name, last := strings.Cut(host, "/")
		if !known || host == "" || strings.HasSuffix(host, ":") || p.stream != "" ||
			last && !streamName.MatchString(name) {
			return errSites
		}
		p.urls, p.stream = append(p.urls, "nats://"+host), name
	}
	if g.places[len(g.places)-1].stream == "" {
		return errSites
	}
	return nil
}

// settleSites checks what was said of sites; it fails with a usageError. The secret is
// theirs then, and not that of a record of this server's own.
func (c *Config) settleSites() error {
	g, t := &c.Sites, &c.Together
	if len(g.places) == 0 {
		return nil
	}
	if len(t.urls) > 0 || t.stream+t.name+t.address != "" {
		return &usageError{"--sites shows the records of others; --record is for a server that keeps one"}
	}
	g.secret, t.secret = t.secret, ""
	if g.secret == "" {
		return nil
	}
	for _, word := range strings.Split(g.secret, ",") {
		name, file, some := strings.Cut(word, "=")
		if !some {
			name, file = "", word
		}
		for i := range g.places {
			if p := &g.places[i]; name == "" || p.name == name {
				p.secret, some = file, false
			}
		}
		if some {
			return &usageError{"--secret names the site " + name + ", which --sites does not"}
		}
	}
	return nil
}

func (g *group) names() string {
	var names []string
	for _, p := range g.places {
		names = append(names, p.name)
	}
	return strings.Join(names, ", ")
}

// mirrors are the records of sites, as far as they were read.
type mirrors []*mirror

type mirror struct {
	*house
	name string
	log  *stream.Log
	zone atomic.Pointer[time.Location] // the site's; nil = not known yet
	stop func()
	done sync.WaitGroup
}

// open opens the records of all sites, each in a folder of its own below that of the
// server, whose own record takes nothing then. A site that does not answer is followed
// when it does. It fails when a site's file cannot be had, or holds another record.
func (g *group) open(ctx context.Context, hs *house) (mirrors, error) {
	if len(g.places) == 0 {
		return nil, nil
	}
	hs.desk = stream.Shown{Own: hs.desk}
	opened, faults := make(mirrors, len(g.places)), make([]error, len(g.places))
	var all sync.WaitGroup
	for i := range g.places {
		all.Go(func() {
			p := &g.places[i]
			m, err := p.open(ctx, filepath.Dir(hs.file.Path()), hs.host)
			if err != nil {
				err = fmt.Errorf("site %s: %w", p.name, err)
			}
			opened[i], faults[i] = m, err
		})
	}
	all.Wait()
	return slices.DeleteFunc(opened, func(m *mirror) bool { return m == nil }), errors.Join(faults...)
}

func (p *place) open(ctx context.Context, dir string, h host) (*mirror, error) {
	t := together{urls: p.urls, stream: p.stream, name: "group", secret: p.secret}
	opt, err := t.options(h, h.out)
	if err != nil {
		return nil, err
	}
	opt.Watch = true
	part, err := openPart(filepath.Join(dir, p.name), h)
	if err != nil {
		return nil, err
	}
	log, err := stream.Open(ctx, part.file, opt)
	if err != nil {
		return nil, err
	}
	part.log = log
	own, err := desk.New(log, desk.Options{Now: h.now, Rand: h.rand})
	if err != nil {
		return nil, errors.Join(err, log.Close())
	}
	part.desk = stream.Shown{Own: own}
	ctx, stop := context.WithCancel(ctx)
	m := &mirror{house: part, name: p.name, log: log, stop: stop}
	log.Start(nil)
	m.readZone()
	m.done.Go(func() { repeat(ctx, zoneEvery, m.readZone) })
	return m, nil
}

// zoneEvery is how often a site is asked for its time zone, which it may change.
const zoneEvery = 5 * time.Second

// readZone reads the time zone that a site's own servers reckon in, and keeps it for when
// the site does not answer. One that cannot be read stays as it was.
func (m *mirror) readZone() {
	was, err := m.settings()
	if err != nil {
		return
	}
	now := was
	if m.log.Watched().Reached {
		if row, err := m.log.SharedRow(tableSettings, keySettings); err == nil && row != nil &&
			json.Unmarshal(row, &now) != nil {
			now = was
		}
	}
	if now.Zone == "" || now.Zone == was.Zone && m.zone.Load() != nil {
		return
	}
	if zone, err := zoneOf(now.Zone); err == nil {
		m.zone.Store(zone)
		_ = m.keep(settings{Zone: now.Zone}) // it is asked for again
	}
}

// sites are the mirrors as the server shows them; a site whose time zone is not known
// reckons in the server's.
func (list mirrors) sites(zone *time.Location) (out []ask.Site) {
	for _, m := range list {
		out = append(out, ask.Site{
			Name: m.name, Desk: m.desk, State: m.state,
			Zone: func() *time.Location {
				if own := m.zone.Load(); own != nil {
					return own
				}
				return zone
			},
		})
	}
	return out
}

func (m *mirror) state() ask.SiteState {
	w := m.log.Watched()
	return ask.SiteState{Reached: w.Reached, AsOf: w.AsOf, Heard: w.Heard, Servers: w.Servers,
		Behind: w.Behind, Wrong: w.Wrong}
}

func (list mirrors) close() (err error) {
	for _, m := range list {
		m.stop()
		m.done.Wait()
		err = errors.Join(err, m.house.close())
	}
	return err
}
