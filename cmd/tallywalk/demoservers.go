package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"tallywalk/store"
	"tallywalk/store/engine"
	"tallywalk/store/stream"
)

// demoStream is the shared record of a demo on several servers.
const demoStream = "DEMO"

// demoEngines starts as many engines as servers, in this process, and brings the history
// to them. The folders that it gives are those of the servers' own parts.
func demoEngines(h host, dir string, n int) (urls, parts []string, end func(), err error) {
	var engines []*engine.Engine
	end = func() {
		for _, e := range engines {
			_ = e.Close() // what it kept is thrown away
		}
	}
	defer func() {
		if err != nil {
			end()
		}
	}()
	ports, err := freePorts(2 * n)
	if err != nil {
		return nil, nil, end, err
	}
	var routes []string
	for i := range n {
		routes = append(routes, "nats://"+ports[n+i])
	}
	for i := range n {
		o := engine.Options{
			Name: "engine" + strconv.Itoa(i+1), Dir: filepath.Join(dir, "engine"+strconv.Itoa(i+1)),
			Listen: ports[i], Peers: ports[n+i], Routes: routes,
		}
		e, err := engine.Start(h.ctx, o)
		if err != nil {
			return nil, nil, end, err
		}
		engines, urls = append(engines, e), append(urls, e.URL())
	}
	first := filepath.Join(dir, "hall1")
	if err := demoMove(h, first, stream.Options{URLs: urls, Stream: demoStream, Name: "demo"}); err != nil {
		return nil, nil, end, err
	}
	parts = []string{first}
	for i := 1; i < n; i++ {
		part := filepath.Join(dir, "hall"+strconv.Itoa(i+1))
		if err := copyPart(first, part); err != nil {
			return nil, nil, end, err
		}
		parts = append(parts, part)
	}
	return urls, parts, end, nil
}

// demoMove brings the history to the engines, once they have found each other.
func demoMove(h host, dir string, opt stream.Options) (err error) {
	file, err := store.Open(dir, store.Options{Must: true, NoSync: true})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	ctx, stop := context.WithTimeout(h.ctx, time.Minute)
	defer stop()
	for {
		err := stream.MoveTo(ctx, file, opt)
		if err == nil || !stream.Passing(err) || ctx.Err() != nil {
			return err
		}
		again := time.NewTimer(200 * time.Millisecond)
		select {
		case <-ctx.Done():
		case <-again.C:
		}
		again.Stop()
	}
}

// copyPart gives another server what the first one's part holds, so that it need not read
// all of the record.
func copyPart(from, to string) (err error) {
	if err := os.MkdirAll(to, 0o700); err != nil {
		return err
	}
	in, err := os.Open(filepath.Join(from, store.FileName))
	if err != nil {
		return err
	}
	defer func() { _ = in.Close() }()
	out, err := os.OpenFile(filepath.Join(to, store.FileName), os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Close())
}

// freePorts finds ports of this computer that nobody listens on.
func freePorts(n int) (addresses []string, err error) {
	for range n {
		ln, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			return nil, err
		}
		defer func() { _ = ln.Close() }() // all at once, so that none is given twice
		addresses = append(addresses, ln.Addr().String())
	}
	return addresses, nil
}

// demoServers runs a demo on several servers, whose addresses count up from the first.
func demoServers(h host, c Config, n int, dir string) error {
	urls, parts, end, err := demoEngines(h, dir, n)
	defer end()
	if err != nil {
		return err
	}
	addr, port, err := net.SplitHostPort(c.Listen)
	if err != nil {
		return err
	}
	first, err := strconv.Atoi(port)
	if err != nil {
		return &usageError{"--listen needs a port by its number, such as 127.0.0.1:8080"}
	}
	ctx, stop := context.WithCancel(h.ctx)
	defer stop()
	ended := make(chan error, n)
	for i := range n {
		own := c
		own.Dir, own.Together = parts[i], together{urls: nearest(urls, i), stream: demoStream,
			name: "hall" + strconv.Itoa(i+1)}
		if own.Listen = net.JoinHostPort(addr, "0"); first > 0 {
			own.Listen = net.JoinHostPort(addr, strconv.Itoa(first+i))
		}
		if i > 0 {
			own.Started = nil // the shop works at one of them
		}
		go func() {
			err := Run(ctx, h, own)
			stop()
			ended <- err
		}()
	}
	for range n {
		err = errors.Join(err, <-ended)
	}
	return err
}

// nearest puts the engine of a server first.
func nearest(urls []string, i int) []string {
	return append(append([]string{}, urls[i:]...), urls[:i]...)
}

// helloTogether says where a demo's server answers.
func helloTogether(w io.Writer, c Config, base string) {
	fmt.Fprintf(w, "%s answers on %s\n", c.Together.name, c.entry(base))
}
