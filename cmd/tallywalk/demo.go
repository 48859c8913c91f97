package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"runtime/debug"

	"tallywalk/cmd/tallywalk/demo"
	"tallywalk/traveler/story"
)

func cmdDemo(h host, args []string) error {
	f := flags(h, "demo")
	addr := f.String("listen", "127.0.0.1:8080", "address on this computer to answer on")
	pace := f.Float64("pace", 20, "how many minutes of the shop pass in one, 1 to 3600")
	seed := f.Uint64("seed", 1, "another number is another history")
	servers := f.Int("servers", 1,
		"1, or 3 that keep one record together, with an engine each, all in this process")
	weeks := f.Int("weeks", demo.Weeks, "weeks of history, 1 to 104; a year takes some seconds")
	var c Config
	c.tlsFlags(f)
	pages := f.String("pages", "", "the repository's folder, to serve the pages from there: edit and reload")
	words, err := parse(h, f, args)
	if err != nil {
		return err
	}
	if err := noWords(words); err != nil {
		return err
	}
	if err := errors.Join(demoFault(*addr, *pages, *pace, *weeks), serversFault(*servers),
		c.tlsFault()); err != nil {
		return err
	}
	// A port that is taken is reported before a history is made for nothing.
	ln, err := listen(*addr)
	if err != nil {
		return err
	}
	if err := ln.Close(); err != nil {
		return err
	}
	dir, err := os.MkdirTemp("", "tallywalk-demo-")
	if err != nil {
		return err
	}
	defer func() { _ = os.RemoveAll(dir) }()
	sim, err := demo.New(*seed, h.now(), *weeks, &demo.Clock{Real: h.now, Pace: *pace})
	if err != nil {
		return err
	}
	debug.SetGCPercent(growth) // what the simulation makes is thrown away soon
	fmt.Fprintf(h.out, "Simulating %s of the invented shop ...\n", span(*weeks))
	first := dir
	if *servers > 1 {
		first = filepath.Join(dir, "hall1")
	}
	if err := sim.History(h.ctx, first); err != nil {
		if h.ctx.Err() != nil {
			return nil // someone would not wait for it
		}
		return err
	}
	c = Config{
		Dir: dir, Listen: *addr, TLS: c.TLS, Cert: c.Cert, Key: c.Key, Open: true, Pages: *pages,
		Now: sim.Clock().Now, Pace: *pace, Zone: demo.Zone,
		Started: func(ctx context.Context, desk story.Desk, _ string) {
			if err := sim.Live(ctx, desk); err != nil && ctx.Err() == nil {
				fmt.Fprintln(h.err, "the demo's shop stands still:", sentence(err))
			}
		},
	}
	if *servers > 1 {
		return demoServers(h, c, *servers, dir)
	}
	return Run(h.ctx, h, c)
}

func serversFault(n int) error {
	if n != 1 && n != 3 {
		return &usageError{"--servers is 1 or 3: of two nobody could say which half is right"}
	}
	return nil
}

// demoFault is what makes no sense of the demo's options.
func demoFault(addr, pages string, pace float64, weeks int) error {
	if pace < 1 || pace > 3600 || weeks < 1 || weeks > demo.MaxWeeks {
		return &usageError{fmt.Sprintf("--pace goes from 1 to 3600, --weeks from 1 to %d", demo.MaxWeeks)}
	}
	if !loopback(addr) {
		return &usageError{
			"the demo lets everybody in, so it answers on this computer only: --listen 127.0.0.1:PORT"}
	}
	if pages == "" {
		return nil
	}
	if _, err := os.Stat(filepath.Join(pages, "web", "pages", "page.html")); err != nil {
		return &usageError{"--pages is the folder of the project's source, the one with go.mod in it"}
	}
	return nil
}

func span(weeks int) string {
	switch weeks {
	case 1:
		return "a week"
	case 52:
		return "a year"
	}
	return fmt.Sprint(weeks, " weeks")
}

// loopback reports whether an address is on this computer only.
func loopback(addr string) bool {
	name, _, err := net.SplitHostPort(addr)
	if err != nil {
		return false
	}
	ip := net.ParseIP(name)
	return name == "localhost" || (ip != nil && ip.IsLoopback())
}
