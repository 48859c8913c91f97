package main

import (
	"context"
	"encoding/binary"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/valyala/fasthttp"
	bolt "go.etcd.io/bbolt"

	"tallywalk/traveler"
)

// p99 is the value that 99 in 100 stay under.
func p99(d []time.Duration) time.Duration {
	slices.Sort(d)
	return d[min(len(d)-1, len(d)*99/100)]
}

// bareCommits measures a bare loop that commits what waits, with 64 clients and
// puts of the same sizes: the measure for the acknowledgement through HTTP.
func bareCommits(b *testing.B, clients, each int) []time.Duration {
	db, err := bolt.Open(filepath.Join(b.TempDir(), "bare.db"), 0o600, nil)
	if err != nil {
		b.Fatal(err)
	}
	defer func() { _ = db.Close() }()
	queue := make(chan chan error, clients)
	seq := uint64(0)
	go func() {
		for first := range queue {
			group := []chan error{first}
			for len(queue) > 0 {
				group = append(group, <-queue)
			}
			err := db.Update(func(tx *bolt.Tx) error {
				bk, err := tx.CreateBucketIfNotExists([]byte("record"))
				if err != nil {
					return err
				}
				bk.FillPercent = 0.95
				for range group {
					seq++
					key := binary.BigEndian.AppendUint64(nil, seq)
					if err := bk.Put(key, make([]byte, 200)); err != nil {
						return err
					}
				}
				return nil
			})
			for _, g := range group {
				g <- err
			}
		}
	}()
	return timed(clients, each, func(int) error {
		done := make(chan error, 1)
		queue <- done
		return <-done
	})
}

func timed(clients, each int, do func(client int) error) []time.Duration {
	var mu sync.Mutex
	var all []time.Duration
	var wg sync.WaitGroup
	for c := range clients {
		wg.Go(func() {
			var own []time.Duration
			for range each {
				start := time.Now()
				if do(c) != nil {
					return
				}
				own = append(own, time.Since(start))
			}
			mu.Lock()
			all = append(all, own...)
			mu.Unlock()
		})
	}
	wg.Wait()
	return all
}

// BenchmarkAcknowledge64 scans through HTTP with 64 clients, each on a batch of
// its own. Goal: p99 under 2.5 times that of the bare loop in the same run.
func BenchmarkAcknowledge64(b *testing.B) {
	const clients = 64
	r := startBench(b, clients)
	// A lean client, since clients are other computers in a shop.
	client := &fasthttp.HostClient{Addr: strings.TrimPrefix(r.base, "http://"), MaxConns: clients}
	each := max(20, b.N/clients)
	b.ResetTimer()
	ours := timed(clients, each, func(c int) error {
		req, resp := fasthttp.AcquireRequest(), fasthttp.AcquireResponse()
		defer fasthttp.ReleaseRequest(req)
		defer fasthttp.ReleaseResponse(resp)
		req.SetRequestURI(r.base + "/api/v1/scans")
		req.Header.SetMethod("POST")
		req.Header.SetContentType("application/json")
		req.SetBodyString(fmt.Sprintf(`{"scans":[{"id":%q,"at":%q,"station":"T1","card":"W-%d","action":"count","good":1}]}`, newID(), time.Now().UTC().Format(time.RFC3339Nano), c))
		return client.Do(req, resp)
	})
	b.StopTimer()
	bare := bareCommits(b, clients, each)
	if len(ours) != clients*each {
		b.Fatalf("%d of %d were answered", len(ours), clients*each)
	}
	b.ReportMetric(float64(p99(ours))/float64(p99(bare)), "p99/bare")
	b.ReportMetric(float64(p99(ours).Microseconds())/1000, "p99-ms")
	b.ReportMetric(float64(p99(bare).Microseconds())/1000, "bare-p99-ms")
}

// BenchmarkBoards100 measures from a scan to the last of 100 open boards. Goal:
// p99 under 50 ms, the screen's own painting apart.
func BenchmarkBoards100(b *testing.B) {
	const boards = 100
	r := startBench(b, 1)
	var seen atomic.Int64
	got := make(chan struct{}, 1)
	for range boards {
		c := board(b, r.base)
		if _, _, err := c.ReadMessage(); err != nil {
			b.Fatal(err)
		}
		go func() {
			for {
				if _, _, err := c.ReadMessage(); err != nil {
					return
				}
				if seen.Add(1) == boards {
					got <- struct{}{}
				}
			}
		}()
	}
	var took []time.Duration
	for range max(20, min(b.N, 100)) {
		<-time.After(250 * time.Millisecond) // past the pace of the boards
		seen.Store(0)
		start := time.Now()
		if err := r.count(0); err != nil {
			b.Fatal(err)
		}
		<-got
		took = append(took, time.Since(start))
	}
	b.ReportMetric(float64(p99(took).Microseconds())/1000, "p99-ms")
}

// benchServer is the program as the benchmarks use it.
type benchServer struct {
	base string
	desk traveler.Desk
}

func (r *benchServer) count(batch int) error {
	one := 1
	answers, err := r.desk.Scans(context.Background(), []traveler.Said{{By: importer, Scan: traveler.Scan{
		ID: traveler.ScanID(newID()), At: time.Now(), Station: "T1", Card: fmt.Sprintf("W-%d", batch), Action: traveler.ActCount, Good: &one,
	}}})
	if err != nil {
		return err
	}
	return answers[0].Err
}
