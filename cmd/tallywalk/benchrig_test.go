package main

import (
	"context"
	"crypto/rand"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tallywalk/traveler"
)

// startBench runs the program, open, with so many batches of nine million
// pieces, W-0 and on.
func startBench(b *testing.B, batches int) *benchServer {
	b.Helper()
	dir := b.TempDir()
	ctx, cancel := context.WithCancel(context.Background())
	ready, desks, done := make(chan string, 1), make(chan traveler.Desk, 1), make(chan error, 1)
	h := host{ctx: ctx, in: strings.NewReader(""), out: io.Discard, err: io.Discard, now: time.Now, rand: rand.Reader, ready: func(u string) { ready <- u }}
	list := "part,route_rev,pieces,works_order\n"
	for i := range batches {
		list += fmt.Sprintf("1002-11,1,9000000,W-%d\n", i)
	}
	file := filepath.Join(dir, "batches.csv")
	if err := os.WriteFile(file, []byte(list), 0o644); err != nil {
		b.Fatal(err)
	}
	for _, args := range [][]string{{"machines", "../../testdata/example/machines.csv"}, {"routes", "../../testdata/example/routes.csv"}, {"batches", file}} {
		if code := run([]string{"import", args[0], args[1], "--data", filepath.Join(dir, "shop")}, h); code != 0 {
			b.Fatalf("import %v: %d", args, code)
		}
	}
	go func() {
		done <- Run(ctx, h, Config{Dir: filepath.Join(dir, "shop"), Listen: "127.0.0.1:0", Open: true, Now: time.Now,
			Started: func(_ context.Context, d traveler.Desk, _ string) { desks <- d }})
	}()
	b.Cleanup(func() {
		cancel()
		if err := <-done; err != nil {
			b.Error(err)
		}
	})
	return &benchServer{base: <-ready, desk: <-desks}
}
