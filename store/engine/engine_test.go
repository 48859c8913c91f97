//go:build !noengine

package engine

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/nats-io/nats.go"

	"tallywalk/store"
	"tallywalk/store/secret"
)

// text is a log that several write.
type text struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *text) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *text) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

func start(t *testing.T, o Options) *Engine {
	t.Helper()
	e, err := Start(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = e.Close() })
	return e
}

func alone(t *testing.T) Options {
	return Options{Name: "a", Dir: t.TempDir(), Listen: "127.0.0.1:0"}
}

// refused wants Start to fail with all of the words.
func refused(t *testing.T, o Options, words ...string) {
	t.Helper()
	e, err := Start(t.Context(), o)
	if err == nil {
		t.Errorf("%+v was started, want a refusal with %q", o, words)
		_ = e.Close()
		return
	}
	for _, w := range words {
		if !strings.Contains(err.Error(), w) {
			t.Errorf("the refusal does not say %q: %v", w, err)
		}
	}
}

func TestFolderOfOneNode(t *testing.T) {
	o := alone(t)
	e, err := Start(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	refused(t, o, "a node runs in "+o.Dir+" already")
	if err := e.Close(); err != nil {
		t.Error(err)
	}
	other := o
	other.Name = "b"
	refused(t, other, "the folder of node a", "called b", "--name a")
	start(t, o) // the same again
	share := alone(t)
	kindOfShare = func(string) string { return "NFS" }
	defer func() { kindOfShare = store.ShareOf }()
	refused(t, share, "network share (NFS)", "a disk of its own computer")
	if left, err := os.ReadDir(share.Dir); err != nil || len(left) > 0 {
		t.Errorf("a refused node left %v, %v", left, err)
	}
}

func TestPortInUse(t *testing.T) {
	t.Parallel()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	o := alone(t)
	o.Listen = l.Addr().String()
	refused(t, o, "nothing can listen on "+o.Listen, "--listen")
}

func TestCallEnds(t *testing.T) {
	t.Parallel()
	ctx, end := context.WithCancel(t.Context())
	end()
	if e, err := Start(ctx, alone(t)); !errors.Is(err, context.Canceled) {
		t.Errorf("a call that had ended gave %v, %v", e, err)
	}
}

// A node whose files fail under it goes on to pass messages, so whoever waits for it must hear of it.
func TestWaitHearsOfTheEnd(t *testing.T) {
	t.Parallel()
	e := start(t, alone(t))
	ctx, end := context.WithCancel(t.Context())
	ended := make(chan error, 2)
	go func() { ended <- e.Wait(ctx) }()
	end()
	if err := <-ended; err != nil {
		t.Errorf("a call that ends: %v, want nil", err)
	}
	go func() { ended <- e.Wait(t.Context()) }()
	if err := e.srv.DisableJetStream(); err != nil {
		t.Fatal(err)
	}
	if err := <-ended; err == nil || !strings.Contains(err.Error(), "keeps nothing any more") {
		t.Errorf("a node that keeps nothing: %v", err)
	}
	e = start(t, alone(t))
	e.log.Fatalf("disk %d is gone", 3)
	e.log.Fatalf("and so is the rest")
	if err := e.Wait(t.Context()); err == nil || !strings.Contains(err.Error(), "disk 3 is gone") {
		t.Errorf("an engine that gave up: %v", err)
	}
	e = start(t, alone(t))
	e.log.Errorf("10.0.0.2:6222 - rid:5 - no route")
	e.log.Errorf("Filestore [SHOP] Critical write error: write 2.blk: no space left on device") // as of version 2.15.3
	if err := e.Wait(t.Context()); err == nil || !strings.Contains(err.Error(), "2.blk: no space left") {
		t.Errorf("a disk that is full: %v", err)
	}
}

func TestSecretIsNeeded(t *testing.T) {
	t.Parallel()
	known, err := secret.Of("a text that only tests know")
	if err != nil {
		t.Fatal(err)
	}
	other, err := secret.Of("a text that nobody else has")
	if err != nil {
		t.Fatal(err)
	}
	var said text
	o := alone(t)
	o.Secret, o.Log = known, slog.New(
		slog.NewTextHandler(&said, &slog.HandlerOptions{Level: slog.LevelDebug}))
	e := start(t, o)
	for what, options := range map[string][]nats.Option{
		"no secret": nil, "another secret": {nats.Secure(other.TLS())},
	} {
		if nc, err := nats.Connect(e.URL(), options...); err == nil {
			nc.Close()
			t.Errorf("a client with %s came in", what)
		}
	}
	nc, err := nats.Connect(e.URL(), nats.Secure(known.TLS()))
	if err != nil {
		t.Fatal(err)
	}
	nc.Close()
	if s := said.String(); !strings.Contains(s, "TLS") || strings.Contains(s, "only tests know") {
		t.Errorf("the log does not speak of who was refused, or says the secret: %s", s)
	}
}

// A node with another secret gets to none of the others.
func TestNodeWithAnotherSecret(t *testing.T) {
	t.Parallel()
	ports := make([]string, 3)
	for i := range ports {
		l, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			t.Fatal(err)
		}
		defer l.Close()
		ports[i] = l.Addr().String()
		_ = l.Close()
	}
	var said [3]text
	var nodes [3]*Engine
	for i, at := range ports {
		o := Options{Name: fmt.Sprint("n", i), Dir: t.TempDir(), Listen: "127.0.0.1:0", Peers: at}
		o.Log = slog.New(slog.NewTextHandler(&said[i], nil))
		for _, p := range ports {
			o.Routes = append(o.Routes, "nats://"+p)
		}
		o.Secret, _ = secret.Of("a text that only tests know" + strings.Repeat("!", i/2))
		nodes[i] = start(t, o)
	}
	look := time.NewTicker(20 * time.Millisecond)
	defer look.Stop()
	for nodes[0].srv.NumRoutes() == 0 || !strings.Contains(said[2].String(), "another secret") {
		<-look.C // the first two have found each other, and the third has tried
	}
	if n := nodes[2].srv.NumRoutes(); n != 0 {
		t.Errorf("a node with another secret has %d routes", n)
	}
}

func TestLines(t *testing.T) {
	t.Parallel()
	for line, want := range map[string]string{
		"10.0.0.7:51000 - cid:5 - authentication error":         "(address) - cid:5 - authentication error",
		"[fe80::1%eth0]:51000 - cid:5 - TLS handshake error":    "(address) - cid:5 - TLS handshake error",
		"[2001:db8::7]:51000 - cid:5 - Slow Consumer":           "(address) - cid:5 - Slow Consumer",
		"10.0.0.2:6222 - rid:5 - Router connection closed":      "10.0.0.2:6222 - rid:5 - Router connection closed",
		"Error trying to connect to route: dial 10.0.0.2:6222 ": "Error trying to connect to route: dial 10.0.0.2:6222",
	} {
		var said text
		newLogger(slog.New(slog.NewTextHandler(&said, nil))).Errorf("%s", line)
		if !strings.Contains(said.String(), `says="`+want+`"`) {
			t.Errorf("%q is logged as %s", line, said.String())
		}
	}
}

// A cable that is out for a week must not fill the disk with one and the same line.
func TestSameLineAgainAndAgain(t *testing.T) {
	t.Parallel()
	var said text
	l := newLogger(slog.New(slog.NewTextHandler(&said, nil)))
	for i := range 1000 {
		l.Errorf("10.0.0.2:6222 - rid:%d - no route", i)
		l.Warnf("line of its own %s", strings.Repeat("x", i%150))
	}
	if n := strings.Count(said.String(), "no route"); n < 2 || n > 20 {
		t.Errorf("a line that came 1000 times was logged %d times, want a few", n)
	}
	if !strings.Contains(said.String(), "times=512") {
		t.Error("the log does not say how often the line came")
	}
}
