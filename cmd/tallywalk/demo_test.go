package main

import (
	"context"
	"crypto/rand"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"
)

func TestDemoFlags(t *testing.T) {
	for _, args := range [][]string{
		{"--weeks", "0"}, {"--weeks", "105"}, {"--pace", "0.5"}, {"--pace", "3601"},
		{"--listen", "0.0.0.0:0"}, {"--seed", "-1"},
	} {
		var out, errOut strings.Builder
		h := host{ctx: context.Background(), out: &out, err: &errOut, now: time.Now, rand: rand.Reader,
			ready: func(string) {}}
		if code := run(append([]string{"demo"}, args...), h); code != 2 ||
			!strings.Contains(errOut.String(), "demo") {
			t.Errorf("%v: status %d: %s", args, code, errOut.String())
		}
	}
}

// The demo itself, with a week of history: it says that it makes one, answers,
// and its shop goes on.
func TestDemoRuns(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	out := &safeBuffer{}
	ready, done := make(chan string, 1), make(chan int, 1)
	h := host{ctx: ctx, out: out, err: out, now: time.Now, steady: steady(), rand: rand.Reader,
		ready: func(u string) { ready <- u }}
	go func() {
		done <- run([]string{"demo", "--listen", "127.0.0.1:0", "--weeks", "1", "--pace", "3600"}, h)
	}()
	var base string
	select {
	case base = <-ready:
	case code := <-done:
		t.Fatalf("the demo ended with %d: %s", code, out)
	}
	if !strings.Contains(out.String(), "Simulating a week of the invented shop") {
		t.Errorf("%s", out)
	}
	first := seqOf(t, base)
	for limit := time.Now().Add(20 * time.Second); seqOf(t, base) <= first; {
		if time.Now().After(limit) {
			t.Fatal("the demo's shop stands still")
		}
	}
	// Its clock runs ahead of every other; nobody doubts it for that.
	resp, err := http.Get(base + "/readyz")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		t.Errorf("the demo is not ready: %d", resp.StatusCode)
	}
	cancel()
	if code := <-done; code != 0 {
		t.Errorf("the demo ended with %d: %s", code, out)
	}
}

// seqOf is where the waits board says the record is.
func seqOf(t *testing.T, base string) string {
	t.Helper()
	resp, err := http.Get(base + "/api/v1/waits")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	raw, err := io.ReadAll(resp.Body)
	if err != nil || resp.StatusCode != http.StatusOK {
		t.Fatalf("%d %v", resp.StatusCode, err)
	}
	_, tail, found := strings.Cut(string(raw), `"seq":`)
	if !found {
		t.Fatalf("the board has no sequence: %.200s", raw)
	}
	seq := tail[:strings.IndexAny(tail, ",}")]
	return strings.Repeat("0", 20-len(seq)) + seq
}
