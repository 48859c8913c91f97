package engines

import (
	"context"
	"fmt"
	"math/rand/v2"
	"net"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"tallywalk/store/secret"
)

const (
	patience = 2 * time.Minute       // how long a state may take to come; a slow machine is no fault
	glance   = 25 * time.Millisecond // between two looks at it
	answer   = time.Second           // how long a node has to answer one question
)

// Options say how a set of nodes is made.
type Options struct {
	Nodes  int    // 1, 3 or 5
	Secret string // the text of the secret that all have; empty = none
	// Direct connects nodes with each other without links, for figures of speed; Cut has nothing to cut then.
	Direct bool
}

// Set is nodes that belong together, numbered from 0. Its methods are for one goroutine.
type Set struct {
	t     testing.TB
	dir   string
	o     Options
	nodes []*node
	door  net.Listener // accepts and closes: where nodes are sent that learn of each other by gossip

	between map[[2]int]*link   // from one node to another
	clients map[string][]*link // from a client to each node
	asking  []*nats.Conn       // the harness's own, one for each node; nil until needed
}

// Start starts nodes without a secret and waits until all of them answer.
func Start(t testing.TB, nodes int) *Set {
	t.Helper()
	return StartWith(t, Options{Nodes: nodes})
}

// StartWith starts nodes as o says and waits until all of them answer. They end with the test.
func StartWith(t testing.TB, o Options) *Set {
	t.Helper()
	s := &Set{t: t, dir: t.TempDir(), o: o, between: map[[2]int]*link{}, clients: map[string][]*link{}}
	var err error
	if s.door, err = net.Listen("tcp", "127.0.0.1:0"); err != nil {
		t.Fatal(err)
	}
	go closeAll(s.door)
	t.Cleanup(s.close)
	s.plan()
	for _, n := range s.nodes {
		n.start(t)
	}
	for i := range s.nodes {
		s.AwaitReady(i)
	}
	return s
}

// closeAll is the door: who comes is sent away.
func closeAll(door net.Listener) {
	for {
		c, err := door.Accept()
		if err != nil {
			return
		}
		_ = c.Close()
	}
}

// plan gives each node its addresses, its routes and its folder.
func (s *Set) plan() {
	s.t.Helper()
	ports := freePorts(s.t, 2*s.o.Nodes)
	for i := range s.o.Nodes {
		name := "n" + strconv.Itoa(i)
		n := &node{log: logIn(s.dir, name), settings: settings{
			Name: name, Dir: filepath.Join(s.dir, name), Listen: ports[2*i], Secret: s.o.Secret,
		}}
		if s.o.Nodes > 1 {
			n.settings.Peers, n.settings.Advertise = ports[2*i+1], s.door.Addr().String()
		}
		s.nodes = append(s.nodes, n)
	}
	s.asking = make([]*nats.Conn, s.o.Nodes)
	for i, n := range s.nodes {
		for j, other := range s.nodes {
			if s.o.Nodes > 1 {
				n.settings.Routes = append(n.settings.Routes, "nats://"+s.way(i, j, other.settings.Peers))
			}
		}
	}
}

// way is the address at which node i reaches node j.
func (s *Set) way(i, j int, peers string) string {
	if i == j || s.o.Direct {
		return peers
	}
	l, err := newLink(peers)
	if err != nil {
		s.t.Fatal(err)
	}
	s.between[[2]int{i, j}] = l
	return l.address()
}

// freePorts finds loopback addresses that nothing listens on. They lie below those that systems give to
// outgoing connections, so that a node that is started again finds its own free.
func freePorts(t testing.TB, n int) []string {
	t.Helper()
	var found []string
	for len(found) < n {
		l, err := net.Listen("tcp", fmt.Sprintf("127.0.0.1:%d", 10_000+rand.IntN(22_000)))
		if err != nil {
			continue
		}
		defer func() { _ = l.Close() }() // all are held until all are found
		found = append(found, l.Addr().String())
	}
	return found
}

// URLs are the nodes' own addresses for clients, past all links.
func (s *Set) URLs() []string {
	var urls []string
	for _, n := range s.nodes {
		urls = append(urls, "nats://"+n.settings.Listen)
	}
	return urls
}

// Through are the nodes' addresses for one client, each by a link that CutClient cuts for it alone.
func (s *Set) Through(client string) []string {
	s.t.Helper()
	if s.clients[client] == nil {
		for _, n := range s.nodes {
			l, err := newLink(n.settings.Listen)
			if err != nil {
				s.t.Fatal(err)
			}
			s.clients[client] = append(s.clients[client], l)
		}
	}
	var urls []string
	for _, l := range s.clients[client] {
		urls = append(urls, "nats://"+l.address())
	}
	return urls
}

// Name is what node i is called, as in what the engine says of a stream's leader.
func (s *Set) Name(i int) string { return s.nodes[i].settings.Name }

// Dir is the folder of node i.
func (s *Set) Dir(i int) string { return s.nodes[i].settings.Dir }

// Dial is what a client of this set connects with beside its addresses.
func (s *Set) Dial() []nats.Option {
	if s.o.Secret == "" {
		return nil
	}
	known, err := secret.Of(s.o.Secret)
	if err != nil {
		s.t.Fatal(err)
	}
	return []nats.Option{nats.Secure(known.TLS())}
}

// AwaitReady waits until node i answers questions about streams, so it knows who leads.
func (s *Set) AwaitReady(i int) {
	s.t.Helper()
	s.Await(s.Name(i)+" answers", func() bool {
		if !s.nodes[i].running() {
			s.t.Fatalf("node %s has ended", s.Name(i))
		}
		js := s.ask(i)
		if js == nil {
			return false
		}
		ctx, done := context.WithTimeout(context.Background(), answer)
		defer done()
		_, err := js.AccountInfo(ctx)
		return err == nil
	})
}

// Await looks until something is so, and ends the test with what the nodes said when it does not come.
func (s *Set) Await(what string, isSo func() bool) {
	s.t.Helper()
	Await(s.t, what, isSo)
}

// Await looks until something is so, and ends the test when it does not come.
func Await(t testing.TB, what string, isSo func() bool) {
	t.Helper()
	look, end := time.NewTicker(glance), time.NewTimer(patience)
	defer look.Stop()
	defer end.Stop()
	for !isSo() {
		select {
		case <-look.C:
		case <-end.C:
			t.Fatalf("this did not come: %s", what)
		}
	}
}

// Connect connects to nodes until the test ends, and connects again whenever one of them can be reached.
func Connect(t testing.TB, urls []string, options ...nats.Option) (*nats.Conn, jetstream.JetStream) {
	t.Helper()
	options = append(options, nats.MaxReconnects(-1), nats.ReconnectWait(50*time.Millisecond))
	nc, err := nats.Connect(strings.Join(urls, ","), options...)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(nc.Close)
	js, err := jetstream.New(nc)
	if err != nil {
		t.Fatal(err)
	}
	return nc, js
}

func (s *Set) close() {
	for _, nc := range s.asking {
		if nc != nil {
			nc.Close()
		}
	}
	for _, n := range s.nodes {
		n.end(true)
		if s.t.Failed() {
			s.t.Logf("node %s said last:\n%s", n.settings.Name, n.tail())
		}
	}
	for _, l := range s.between {
		l.close()
	}
	for _, links := range s.clients {
		for _, l := range links {
			l.close()
		}
	}
	_ = s.door.Close()
}

// Wipe empties the disk of node i, which must not run.
func (s *Set) Wipe(i int) {
	s.t.Helper()
	if s.nodes[i].running() {
		s.t.Fatalf("node %s runs: its disk is not emptied under it", s.Name(i))
	}
	if err := os.RemoveAll(s.Dir(i)); err != nil {
		s.t.Fatal(err)
	}
}
