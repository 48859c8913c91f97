package main

import (
	"bytes"
	"cmp"
	"context"
	"crypto/rand"
	"math"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"
	"sync"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/ahead"
	"tallywalk/traveler/story"
	"tallywalk/web/webtest"
)

// rig is the real program, running in this process on a port of its own with
// the example shop in it.
type rig struct {
	t     testing.TB
	host  host
	dir   string
	base  string
	token string
	out   *safeBuffer
	stop  func()
	// client keeps cookies where a test plays a browser.
	client *http.Client
}

type rigOptions struct {
	open    bool // as in the demo
	dir     string
	noShop  bool
	public  string
	runFrom func() time.Time
	listen  string // an address of its own; any port when empty
	proxies []netip.Addr
	steady  func() time.Duration // a clock that nobody sets, beside runFrom
	tls     string               // as --tls; off when empty
	cert    string               // with key: files of the shop's own
	key     string
	hosts   []string
	ahead   func(story.Desk) ahead.Source
	copies  timetable
}

type safeBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (b *safeBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.Write(p)
}

func (b *safeBuffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.String()
}

func newRig(t testing.TB, o rigOptions) *rig {
	t.Helper()
	r := &rig{t: t, dir: o.dir, out: &safeBuffer{}}
	if r.dir == "" {
		r.dir = filepath.Join(t.TempDir(), "shop")
	}
	ctx, cancel := context.WithCancel(context.Background())
	ready := make(chan string, 1)
	now := time.Now
	if o.runFrom != nil {
		now = o.runFrom
	}
	r.host = host{ctx: ctx, in: strings.NewReader(""), out: r.out, err: r.out, now: now, rand: rand.Reader,
		ready: func(url string) { ready <- url }}
	if !o.noShop {
		r.example()
	}
	done := make(chan error, 1)
	serving := r.host
	serving.now = time.Now // deadlines of sockets go by the real clock
	serving.steady = o.steady
	go func() {
		done <- Run(ctx, serving,
			Config{Dir: r.dir, Listen: cmp.Or(o.listen, "127.0.0.1:0"), Open: o.open, Now: now, Zone: "UTC",
				PublicURL: o.public, Proxies: o.proxies, TLS: o.tls, Cert: o.cert, Key: o.key, Hosts: o.hosts,
				Ahead: o.ahead, Copies: o.copies})
	}()
	select {
	case r.base = <-ready:
	case err := <-done:
		cancel()
		t.Fatalf("the server ended: %v\n%s", err, r.out)
	}
	roomy()
	var once sync.Once
	r.stop = func() {
		once.Do(func() {
			cancel()
			if err := <-done; err != nil {
				t.Errorf("the server ended with %v", err)
			}
			r.verify()
		})
	}
	t.Cleanup(r.stop)
	return r
}

// roomy lifts the limit that a server puts on the memory of its process: here
// several of them share one.
func roomy() { debug.SetMemoryLimit(math.MaxInt64) }

// verify checks the record once the server has ended.
func (r *rig) verify() {
	h := r.host
	h.ctx = context.Background()
	var out, errOut strings.Builder
	h.out, h.err = &out, &errOut
	if code := run([]string{"verify", "--data", r.dir}, h); code != 0 &&
		!strings.Contains(errOut.String(), "the record is empty") {
		r.t.Errorf("verify: %s", errOut.String())
	}
}

// cli runs a command in this process and gives what it printed.
func (r *rig) cli(args ...string) string {
	r.t.Helper()
	var out, errOut strings.Builder
	h := r.host
	h.ctx = context.Background()
	h.out, h.err = &out, &errOut
	if code := run(append(args, "--data", r.dir), h); code != 0 {
		r.t.Fatalf("tallywalk %v: status %d: %s", args, code, errOut.String())
	}
	return out.String()
}

// example imports the example shop.
func (r *rig) example() {
	if _, err := os.Stat(filepath.Join(r.dir, "tallywalk.db")); err == nil {
		return
	}
	for _, list := range []string{"machines", "reasons", "people", "routes", "batches"} {
		r.cli("import", list, "../../testdata/example/"+list+".csv")
	}
}

// as gives the rig a token of a role.
func (r *rig) as(role traveler.Role) *rig {
	r.t.Helper()
	n := *r
	n.token = strings.TrimSpace(r.cli("token", "--role", string(role)))
	return &n
}

// caller is the rig as one who asks.
func (r *rig) caller() *webtest.Client {
	return &webtest.Client{T: r.t, Base: r.base, Token: r.token, HTTP: r.client}
}

// do makes a request and decodes a JSON answer into v, if v is not nil.
func (r *rig) do(method, path string, body, v any) int {
	r.t.Helper()
	return r.caller().Do(method, path, body, v)
}

func newID() string { return webtest.NewID() }

type (
	said   = webtest.Said
	answer = webtest.Answer
)

// scan sends scans and gives the answers.
func (r *rig) scan(scans ...said) []answer {
	r.t.Helper()
	return r.caller().Scan(scans...)
}

// card finds the batch of a works order.
func (r *rig) card(order string) string {
	r.t.Helper()
	return r.caller().Card(order)
}

// refused is the detail of the refusal that a request must get.
func (r *rig) refused(method, path string, body any, status int) string {
	r.t.Helper()
	return r.caller().Refused(method, path, body, status)
}
