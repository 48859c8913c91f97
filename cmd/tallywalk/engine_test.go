package main

import (
	"context"
	"net"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/nats-io/nats.go"

	"tallywalk/store/secret"
	"tallywalk/store/storetest/engines"
	"tallywalk/store/stream/fit"
)

// runNode runs `tallywalk engine` until the test ends or stop is called, which gives its status and what it
// logged.
func runNode(t *testing.T, args ...string) (url string, stop func() (int, string)) {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	ready := make(chan string, 1)
	var said safeBuffer
	h := host{ctx: ctx, in: strings.NewReader(""), out: &said, err: &said, now: time.Now,
		ready: func(url string) { ready <- url }}
	done := make(chan int, 1)
	go func() { done <- run(append([]string{"engine"}, args...), h) }()
	stop = sync.OnceValues(func() (int, string) {
		cancel()
		return <-done, said.String()
	})
	t.Cleanup(func() { stop() })
	select {
	case url = <-ready:
	case status := <-done:
		done <- status
		t.Fatalf("the node ended: %d, %s", status, said.String())
	}
	return url, stop
}

// freeAddresses are loopback addresses that nothing listens on.
func freeAddresses(t *testing.T, n int) (found []string) {
	t.Helper()
	for range n {
		l, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			t.Fatal(err)
		}
		defer l.Close()
		found = append(found, l.Addr().String())
	}
	return found
}

// Three nodes as the README starts them: they find each other, keep a record's stream, and a node that is
// stopped leaves the others at work.
func TestThreeNodesFromTheCommandLine(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	file := filepath.Join(dir, "secret.txt")
	if err := secret.Make(file); err != nil {
		t.Fatal(err)
	}
	at := freeAddresses(t, 3)
	routes := "nats://" + strings.Join(at, ",nats://")
	var urls []string
	var stops []func() (int, string)
	for i, name := range []string{"a", "b", "c"} {
		url, stop := runNode(t, "--name", name, "--data", filepath.Join(dir, name), "--listen", "127.0.0.1:0",
			"--cluster", at[i], "--routes", routes, "--secret", file)
		urls, stops = append(urls, url), append(stops, stop)
	}
	known, err := secret.Read(file)
	if err != nil {
		t.Fatal(err)
	}
	nc, _ := engines.Connect(t, urls, nats.Secure(known.TLS()))
	engines.Await(t, "a stream on three nodes",
		func() bool { return fit.Make(t.Context(), nc, "SHOP", 3) == nil })
	status, said := stops[2]()
	if status != 0 || !strings.Contains(said, "node c answers on nats://127.0.0.1:") {
		t.Errorf("a node that is stopped ends with %d and said %s", status, said)
	}
	text, _ := os.ReadFile(file)
	if strings.Contains(said, strings.TrimSpace(string(text))) {
		t.Error("the secret stands in what a node said")
	}
	engines.Await(t, "two nodes go on",
		func() bool { return fit.Check(t.Context(), nc, "SHOP", 512<<10) == nil })
	if _, err := os.Stat(filepath.Join(dir, "c", "engine", "jetstream")); err != nil {
		t.Errorf("the node's files are not in the folder of the shop's data: %v", err)
	}
}

func TestNodeThatCannotListen(t *testing.T) {
	t.Parallel()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	var said safeBuffer
	h := host{ctx: t.Context(), out: &said, err: &said}
	status := run([]string{"engine", "--name", "a", "--data", t.TempDir(), "--listen", l.Addr().String()}, h)
	want := "tallywalk engine: nothing can listen on " + l.Addr().String()
	if status != 1 || !strings.HasPrefix(said.String(), want) ||
		!strings.Contains(said.String(), "is a node running there already?") {
		t.Errorf("status %d, %q; want 1 and %q", status, said.String(), want)
	}
}
