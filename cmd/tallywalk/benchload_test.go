package main

import (
	"bytes"
	"fmt"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/valyala/fasthttp"
)

// benchStep is one scan of a script.
type benchStep struct{ station, action, more string }

// throughShop takes a batch of fifty guide pins through both of its operations.
var throughShop = func() (out []benchStep) {
	for _, station := range []string{"T1", "Q1"} {
		out = append(out, benchStep{station, "setup", ""}, benchStep{station, "run", ""})
		for range 10 {
			out = append(out, benchStep{station, "count", `,"good":5`})
		}
		out = append(out, benchStep{station, "finish", ""})
	}
	return out
}()

// sayer gives the order and the step that a client's n-th scan is.
type sayer func(client, n int) (order int, step benchStep)

// manyBatches has each client take batches of its own through the shop.
func manyBatches(clients int) sayer {
	return func(client, n int) (int, benchStep) {
		return client + clients*(n/len(throughShop)), throughShop[n%len(throughShop)]
	}
}

// oneBatch has all clients count at one batch that runs.
func oneBatch(int, int) (int, benchStep) { return 0, benchStep{"T1", "count", `,"good":1`} }

// seen is what clients saw of a server.
type seen struct {
	took  time.Duration
	busy  time.Duration // of the server, on the processor
	waits []time.Duration
	bytes int // of the answers
}

func (l *seen) add(m *seen) {
	l.took, l.busy, l.bytes = l.took+m.took, l.busy+m.busy, l.bytes+m.bytes
	l.waits = append(l.waits, m.waits...)
}

func (l *seen) rate() float64 { return float64(len(l.waits)) / l.took.Seconds() }

func (l *seen) each(d time.Duration) float64 {
	return float64(d.Microseconds()) / float64(len(l.waits))
}

// quantile is what a part of the answers stays under, in milliseconds.
func (l *seen) quantile(q float64) float64 {
	slices.Sort(l.waits)
	return float64(l.waits[int(q*float64(len(l.waits)-1))].Microseconds()) / 1000
}

// scan sends scans from..to of each client and waits for each answer. An
// answer that is not "kept" fails the benchmark: refusals are cheap.
func (s *served) scan(clients, from, to int, say sayer) *seen {
	s.b.Helper()
	client := &fasthttp.HostClient{Addr: s.addr, MaxConns: clients}
	defer client.CloseIdleConnections()
	var mu sync.Mutex
	var out seen
	var bad error
	var wg sync.WaitGroup
	busy, start := s.busy(), time.Now()
	for c := range clients {
		wg.Go(func() {
			own, err := s.client(client, c, from, to, say)
			mu.Lock()
			defer mu.Unlock()
			out.add(own)
			if err != nil {
				bad = err
			}
		})
	}
	wg.Wait()
	out.took, out.busy = time.Since(start), s.busy()-busy
	if bad != nil {
		s.b.Fatal(bad)
	}
	return &out
}

func (s *served) client(client *fasthttp.HostClient, c, from, to int, say sayer) (*seen, error) {
	own := &seen{}
	req, resp := fasthttp.AcquireRequest(), fasthttp.AcquireResponse()
	defer fasthttp.ReleaseRequest(req)
	defer fasthttp.ReleaseResponse(resp)
	for n := from; n < to; n++ {
		order, step := say(c, n)
		start := time.Now()
		s.request(req, fmt.Sprintf(`{"scans":[{"id":%q,"at":%q,"station":%q,"card":"W-%d","action":%q%s}]}`,
			newID(), start.UTC().Format(time.RFC3339Nano), step.station, order, step.action, step.more))
		if err := client.Do(req, resp); err != nil {
			return own, err
		}
		own.waits = append(own.waits, time.Since(start))
		own.bytes += len(resp.Body())
		if resp.StatusCode() != fasthttp.StatusOK ||
			!bytes.Contains(resp.Body(), []byte(`"outcome":"kept"`)) {
			return own, fmt.Errorf("scan %d of client %d: %d %s", n, c, resp.StatusCode(), resp.Body())
		}
	}
	return own, nil
}

func (s *served) request(req *fasthttp.Request, body string) {
	req.SetRequestURI("http://" + s.addr + "/api/v1/scans")
	req.Header.SetMethod(fasthttp.MethodPost)
	req.Header.SetContentType("application/json")
	if s.auth != "" {
		req.Header.Set(fasthttp.HeaderAuthorization, s.auth)
	}
	req.SetBodyString(body)
}

// compare measures the program and the bare server in turn, so that a busy disk
// is busy for both, and reports what they come to.
func compare(b *testing.B, ours *served, clients, each int, say sayer) {
	bare := serveBench(b, "barescans", b.TempDir())
	var a, z seen
	n := 0
	for b.Loop() {
		a.add(ours.scan(clients, n, n+each, say))
		z.add(bare.scan(clients, n, n+each, say))
		n += each
	}
	b.ReportMetric(a.rate(), "scans/s")
	b.ReportMetric(a.rate()/z.rate(), "rate:bare")
	b.ReportMetric(a.quantile(.5), "p50-ms")
	b.ReportMetric(a.quantile(.99), "p99-ms")
	b.ReportMetric(a.quantile(.5)/z.quantile(.5), "p50:bare")
	b.ReportMetric(a.quantile(.99)/z.quantile(.99), "p99:bare")
	b.ReportMetric(a.each(a.busy), "cpu-µs/scan")
	b.ReportMetric(z.each(z.busy), "bare-cpu-µs/scan")
	b.ReportMetric(float64(a.bytes)/float64(len(a.waits)), "B/answer")
}
