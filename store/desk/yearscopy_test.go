package desk

import (
	"context"
	"math/rand/v2"
	"os"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"tallywalk/store"
	"tallywalk/store/storetest"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// stations scan one after the other until they are ended, 20 ms after each answer.
type stations struct {
	testing.TB
	desk *Desk
	all  []story.Answer // of releases; each batch takes some scans
	n    atomic.Uint64
	end  chan struct{}
	wait sync.WaitGroup

	mu    sync.Mutex
	times []time.Duration // of acknowledgements since the last look
}

func (s *stations) begin(n int) {
	s.end = make(chan struct{})
	for i := range n {
		s.wait.Go(func() { s.station(i) })
	}
}

func (s *stations) station(i int) {
	chance := rand.New(rand.NewPCG(uint64(i), 5))
	for {
		select {
		case <-s.end:
			return
		case <-time.After(time.Duration(15+chance.IntN(10)) * time.Millisecond):
		}
		now, n := time.Now(), s.n.Add(1)
		scan := traveler.Scan{
			ID: storetest.UUID7(now, n), Device: "bench", At: now, Station: "M00",
			Card: string(s.all[int(n)%len(s.all)].Card), Action: traveler.ActArrive,
		}
		_, err := s.desk.Scans(context.Background(), []story.Said{{By: worker, Scan: scan}})
		if err != nil {
			s.Error(err)
			return
		}
		s.mu.Lock()
		s.times = append(s.times, time.Since(now))
		s.mu.Unlock()
	}
}

// look gives the 50th and 99th of a hundred acknowledgements since the last look.
func (s *stations) look() (p50, p99 time.Duration) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.times) < 200 {
		s.Fatalf("only %d acknowledgements", len(s.times))
	}
	slices.Sort(s.times)
	p50, p99 = s.times[len(s.times)/2], s.times[len(s.times)*99/100]
	s.times = s.times[:0]
	return p50, p99
}

// BenchmarkYearsCopied: how long 8 stations wait for their acknowledgements while the ten
// years that they add to are copied at 100 MB a second and the copy is walked, against how
// long they wait before. Goal: p99 under five times the quiet one. And how long verify
// takes, and how much the heap grows meanwhile.
func BenchmarkYearsCopied(b *testing.B) {
	dir := b.TempDir()
	y := makeYears(b, dir, 1)
	file, err := store.Open(dir, store.Options{})
	if err != nil {
		b.Fatal(err)
	}
	desk, err := New(file, Options{Now: time.Now})
	if err != nil {
		b.Fatal(err)
	}
	defer closeBoth(b, file, desk)
	var releases []traveler.Release
	for i := range 400 {
		releases = append(releases, traveler.Release{
			ID: storetest.UUID7(time.Now(), uint64(1e9+i)), Part: "P001", RouteRev: "1", Pieces: 20,
		})
	}
	released, err := desk.Release(context.Background(), supervisor, releases, nil)
	if err != nil {
		b.Fatal(err)
	}
	b.Run("copy", func(b *testing.B) {
		s := &stations{TB: b, desk: desk, all: released}
		s.begin(8)
		for b.Loop() {
			<-time.After(8 * time.Second)
			quiet50, quiet99 := s.look()
			began := time.Now()
			c, err := file.Backup(context.Background(), b.TempDir(), began, at100MB())
			if err != nil {
				b.Fatal(err)
			}
			p50, p99 := s.look()
			b.ReportMetric(ms(quiet50), "quiet-p50-ms")
			b.ReportMetric(ms(quiet99), "quiet-p99-ms")
			b.ReportMetric(ms(p50), "copying-p50-ms")
			b.ReportMetric(ms(p99), "copying-p99-ms")
			b.ReportMetric(float64(p99)/float64(quiet99), "p99:quiet")
			b.ReportMetric(time.Since(began).Seconds(), "copy-s")
			info, err := os.Stat(c.Path)
			if err != nil {
				b.Fatal(err)
			}
			b.ReportMetric(float64(info.Size())/(1<<20), "MB")
		}
		close(s.end)
		s.wait.Wait()
	})
	verify(b, file, y.scans)
	restored(b, file)
}

// restored measures how long it takes until a copy of the ten years is a desk's again.
// Goal: under 10 s.
func restored(b *testing.B, file *store.File) {
	c, err := file.Backup(context.Background(), b.TempDir(), time.Now(), at100MB())
	if err != nil {
		b.Fatal(err)
	}
	b.Run("restore", func(b *testing.B) {
		for b.Loop() {
			dir := b.TempDir()
			if _, err := store.Restore(context.Background(), c.Path, dir, time.Now(), nil); err != nil {
				b.Fatal(err)
			}
			began := time.Now()
			file, err := store.Open(dir, store.Options{Must: true})
			if err != nil {
				b.Fatal(err)
			}
			desk, err := New(file, Options{Now: time.Now})
			if err != nil {
				b.Fatal(err)
			}
			b.ReportMetric(time.Since(began).Seconds(), "open-s")
			closeBoth(b, file, desk)
		}
	})
}

// verify measures both halves of the command of that name.
func verify(b *testing.B, file *store.File, scans int) {
	for _, half := range []struct {
		name string
		do   func() error
	}{
		{"verify-record", func() error { _, err := store.Verify(file); return err }},
		{"verify-ledger", func() error {
			_, err := VerifyLedger(file, func(traveler.Seq) error { return nil })
			return err
		}},
	} {
		b.Run(half.name, func(b *testing.B) {
			var most uint64
			for b.Loop() {
				runtime.GC()
				stop := make(chan struct{})
				var watch sync.WaitGroup
				watch.Go(func() { most = max(most, largestHeap(stop)) })
				if err := half.do(); err != nil {
					b.Fatal(err)
				}
				close(stop)
				watch.Wait()
			}
			b.ReportMetric(float64(most)/(1<<20), "heapMB")
			b.ReportMetric(float64(scans)*float64(b.N)/b.Elapsed().Seconds(), "scans/s")
		})
	}
}

// largestHeap is the most that lay on the heap at any look, until it is ended.
func largestHeap(stop <-chan struct{}) (most uint64) {
	var m runtime.MemStats
	for {
		runtime.ReadMemStats(&m)
		most = max(most, m.HeapAlloc)
		select {
		case <-stop:
			return most
		case <-time.After(50 * time.Millisecond):
		}
	}
}

// at100MB lets 100 MB a second through, as the program does.
func at100MB() func(n int) error {
	began, done := time.Now(), 0
	return func(n int) error {
		done += n
		if ahead := time.Duration(float64(done)/100e6*1e9) - time.Since(began); ahead > 0 {
			<-time.After(ahead)
		}
		return nil
	}
}

func ms(d time.Duration) float64 { return float64(d) / 1e6 }
