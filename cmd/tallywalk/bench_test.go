package main

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"sync/atomic"
	"testing"
	"time"

	"github.com/gorilla/websocket"
)

// benchRounds is for how many rounds of a benchmark there are batches. More of
// them fill the memory that serve allows itself, and the collector is measured.
const benchRounds = 3

// BenchmarkScans sends scans to `serve` over HTTP, with a token, each answered
// as kept, against the bare server of benchbare_test.go in the same run. Run it
// with -benchtime 3x on a quiet machine. Goals: rate:bare of 0.9 with one client
// and 0.65 with 64 and 256, p99:bare of 1.5 or less, 110 µs of processor a scan.
func BenchmarkScans(b *testing.B) {
	for _, c := range []struct{ clients, each int }{{1, 512}, {64, 128}, {256, 48}} {
		b.Run(fmt.Sprintf("many/%d", c.clients), func(b *testing.B) {
			rounds := benchRounds * (c.each/len(throughShop) + 1)
			compare(b, serveShop(b, c.clients*rounds, 50), c.clients, c.each, manyBatches(c.clients))
		})
	}
	for _, c := range []struct{ clients, each int }{{1, 512}, {64, 16}, {256, 4}} {
		b.Run(fmt.Sprintf("one/%d", c.clients), func(b *testing.B) {
			ours := serveShop(b, 1, 9_000_000)
			ours.scan(1, 0, 1, func(int, int) (int, benchStep) { return 0, benchStep{"T1", "run", ""} })
			compare(b, ours, c.clients, c.each, oneBatch)
		})
	}
}

// BenchmarkBoards measures from a scan, sent over HTTP, to the last of the open
// boards. Goal: p99 under 50 ms with 100 boards, the screen's own painting apart.
func BenchmarkBoards(b *testing.B) {
	for _, boards := range []int{100, 1000} {
		for _, batches := range []int{64, 10_000} {
			b.Run(fmt.Sprintf("%d/open=%d", boards, batches),
				func(b *testing.B) { benchBoards(b, boards, batches) })
		}
	}
}

func benchBoards(b *testing.B, boards, batches int) {
	s := serveShop(b, batches, 9_000_000)
	s.scan(1, 0, 1, func(int, int) (int, benchStep) { return 0, benchStep{"T1", "run", ""} })
	var seen atomic.Int64
	all := make(chan struct{}, 1)
	for range boards {
		s.watch(func() {
			if seen.Add(1) == int64(boards) {
				all <- struct{}{}
			}
		})
	}
	var took []time.Duration
	before := s.busy()
	for b.Loop() {
		<-time.After(250 * time.Millisecond) // past the pace of the boards
		seen.Store(0)
		start := time.Now()
		s.scan(1, 0, 1, oneBatch)
		<-all
		took = append(took, time.Since(start))
	}
	busy := s.busy() - before
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "p50-ms")
	b.ReportMetric(float64(took[(len(took)*99+99)/100-1].Microseconds())/1000, "p99-ms")
	b.ReportMetric(float64(busy.Microseconds())/1000/float64(len(took)), "cpu-ms/change")
}

// watch opens a board and calls seen for each change of its rows.
func (s *served) watch(seen func()) {
	s.b.Helper()
	c, answer, err := websocket.DefaultDialer.Dial("ws://"+s.addr+"/live?board=waits",
		http.Header{"Authorization": {s.auth}})
	if err != nil {
		s.b.Fatal(err)
	}
	s.b.Cleanup(func() { _ = errors.Join(answer.Body.Close(), c.Close()) })
	if _, _, err := c.ReadMessage(); err != nil { // the whole
		s.b.Fatal(err)
	}
	go func() {
		for {
			_, m, err := c.ReadMessage()
			if err != nil {
				return
			}
			if len(m) > 200 { // a beat has no rows
				seen()
			}
		}
	}()
}
