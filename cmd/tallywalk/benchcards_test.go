package main

import (
	"fmt"
	"io"
	"net/http"
	"os"
	"regexp"
	"strconv"
	"testing"
	"time"
)

// largest is the most memory that the program had at once, in MB (proc(5)); 0 where there
// is no /proc.
func (s *served) largest() float64 {
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", s.cmd.Process.Pid))
	if err != nil {
		return 0
	}
	m := regexp.MustCompile(`VmHWM:\s+(\d+) kB`).FindSubmatch(status)
	kb, err := strconv.Atoi(string(m[1]))
	if err != nil {
		s.b.Fatal(err)
	}
	return float64(kb) / 1024
}

// cards fetches the cards of the whole order book, and gives their bytes.
func (s *served) cards() (int64, error) {
	req, err := http.NewRequest(http.MethodGet, "http://"+s.addr+"/api/v1/cards.pdf?paper=A5", nil)
	if err != nil {
		return 0, err
	}
	req.Header.Set("Authorization", s.office)
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		return 0, err
	}
	defer resp.Body.Close()
	n, err := io.Copy(io.Discard, resp.Body)
	if err == nil && resp.StatusCode != http.StatusOK {
		err = fmt.Errorf("status %d", resp.StatusCode)
	}
	return n, err
}

// BenchmarkCardsWhileScanning has 4 stations scan while the cards of 1,000 and of 10,000
// batches are drawn, against the same stations before. Goals: 1,000 cards in 5 s and 10 MB;
// 10,000 with 150 MB more memory at the most; p99 of the scans under five times the quiet one.
func BenchmarkCardsWhileScanning(b *testing.B) {
	for _, n := range []int{1000, 10_000} {
		b.Run(strconv.Itoa(n), func(b *testing.B) {
			s := serveShop(b, n, 9_000_000)
			s.scan(4, 0, 1, func(c, _ int) (int, benchStep) { return c, benchStep{"T1", "run", ""} })
			own := func(c, _ int) (int, benchStep) { return c, benchStep{"T1", "count", `,"good":1`} }
			for b.Loop() {
				quiet := s.scan(4, 0, 300, own)
				before := s.largest()
				type drawn struct {
					bytes int64
					took  time.Duration
					err   error
				}
				done := make(chan drawn, 1)
				go func() {
					began := time.Now()
					n, err := s.cards()
					done <- drawn{n, time.Since(began), err}
				}()
				var busy seen
				var d drawn
				for open := true; open; {
					busy.add(s.scan(4, 0, 20, own))
					select {
					case d = <-done:
						open = false
					default:
					}
				}
				if d.err != nil {
					b.Fatal(d.err)
				}
				b.ReportMetric(d.took.Seconds(), "cards-s")
				b.ReportMetric(float64(d.bytes)/1e6, "cards-MB")
				b.ReportMetric(s.largest()-before, "moreMB")
				b.ReportMetric(quiet.quantile(0.99), "quiet-p99-ms")
				b.ReportMetric(busy.quantile(0.99), "drawing-p99-ms")
				b.ReportMetric(busy.quantile(0.99)/quiet.quantile(0.99), "p99:quiet")
			}
		})
	}
}
