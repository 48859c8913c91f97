package desk

import (
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"testing"
	"time"

	"tallywalk/store"
	"tallywalk/store/storetest"
	"tallywalk/traveler"
	"tallywalk/traveler/intake"
	"tallywalk/traveler/story"
)

// years is a shop with a long history: 40 machines, 4,000 batches a year of
// which each makes some 7 visits and 37 scans. It is written straight into the
// record; the ledger is made by opening it.
type years struct {
	rng     *rand.Rand
	now     time.Time
	seq     traveler.Seq
	n       uint64
	entries []*traveler.Entry
	file    *store.File
	scans   int
	visits  int
}

const (
	yearsMachines = 40
	yearsParts    = 200
	yearsBatches  = 40_000 // in ten years
)

func yearsShop(from time.Time) *traveler.Change {
	c := &traveler.Change{From: from}
	for i := range yearsMachines {
		c.Machines = append(c.Machines, traveler.Machine{
			ID: traveler.MachineID(fmt.Sprintf("M%02d", i)), Name: "machine",
			WorkCentre: traveler.WorkCentre(fmt.Sprintf("C%d", i%10)),
			Code:       codeAt(traveler.KindMachine, uint64(i)), X: float64(i%8) * 7, Y: float64(i/8) * 9,
			RatePerHour: 60,
		})
	}
	for p := range yearsParts {
		r := traveler.Route{Part: fmt.Sprintf("P%03d", p), Rev: "1", PartName: "part"}
		for k := range 5 + p%5 {
			r.Operations = append(r.Operations, traveler.Operation{
				Number:     traveler.Op(10 * (k + 1)),
				WorkCentre: traveler.WorkCentre(fmt.Sprintf("C%d", (p+3*k)%10)), SetupMin: 30, CycleMin: 2,
				PiecesPerCycle: 1, Clampings: 1,
			})
		}
		c.Routes = append(c.Routes, r)
	}
	return c
}

func codeAt(kind traveler.Kind, n uint64) traveler.Code {
	// One number in so many has no code; 64 apart, none is given twice.
	for i := n * 64; ; i++ {
		if c, ok := traveler.NewCode(kind, i); ok {
			return c
		}
	}
}

func (y *years) id() traveler.ScanID {
	y.n++
	return storetest.UUID7(y.now, y.n)
}

func (y *years) put(e *traveler.Entry) {
	y.seq++
	e.Seq, e.Arrived = y.seq, y.now
	y.entries = append(y.entries, e)
}

func (y *years) flush(tb testing.TB) {
	if len(y.entries) == 0 {
		return
	}
	if err := y.file.Append(y.entries[0].Seq-1, y.entries, nil); err != nil {
		tb.Fatal(err)
	}
	y.entries = y.entries[:0]
}

// batch writes one batch from release to delivery. Batches lie one after the
// other in the record, though they overlap in a shop: the story is the same.
func (y *years) batch(tb testing.TB, i int, shop *traveler.Change, start time.Time) {
	r := &shop.Routes[i%len(shop.Routes)]
	card := codeAt(traveler.KindBatch, uint64(i))
	y.now = start
	pieces := 20 + y.rng.IntN(80)
	y.put(&traveler.Entry{By: supervisor, Rules: story.Rules, Card: card, Release: &traveler.Release{
		ID: y.id(), Part: r.Part, RouteRev: r.Rev, Pieces: pieces, WorksOrder: "W" + strconv.Itoa(i),
		Customer:     "customer " + strconv.Itoa(i%17),
		MaterialLots: []string{"H" + strconv.Itoa(i%900)}, Due: start.AddDate(0, 0, 14),
	}})
	say := func(m traveler.MachineID, act traveler.Action, more func(*traveler.Scan)) {
		s := &traveler.Scan{
			ID: y.id(), At: y.now, Station: string(m), Card: string(card), Action: act, Operator: "P0000042K",
			Device: traveler.DeviceID("station " + string(m)),
			N:      y.n, WithinMS: 20,
		}
		if more != nil {
			more(s)
		}
		y.put(&traveler.Entry{By: traveler.Actor{Name: string(s.Device), Role: traveler.RoleOperator},
			Scan: s, Card: card, Machine: m, Outcome: traveler.Kept})
		y.scans++
	}
	pass := func(minutes float64) { y.now = y.now.Add(time.Duration(minutes * float64(time.Minute))) }
	for k := range r.Operations {
		o := &r.Operations[k]
		c, _ := strconv.Atoi(string(o.WorkCentre[1:]))
		m := traveler.MachineID(fmt.Sprintf("M%02d", c+10*y.rng.IntN(4)))
		pass(60 + 2000*y.rng.Float64())
		say(m, traveler.ActArrive, nil)
		pass(600 * y.rng.Float64())
		say(m, traveler.ActSetup, nil)
		pass(20 + 30*y.rng.Float64())
		say(m, traveler.ActRun, nil)
		pass(float64(pieces))
		half := pieces / 2
		say(m, traveler.ActCount, func(s *traveler.Scan) { s.Good = &half })
		pass(float64(pieces))
		rest := pieces - half
		lost := y.rng.IntN(3)
		rest -= lost
		pieces -= lost
		say(m, traveler.ActFinish, func(s *traveler.Scan) {
			s.Good = &rest
			if lost > 0 {
				s.Scrap = []traveler.Loss{{Reason: "size", N: lost}}
			}
		})
		y.visits++
	}
	say("M00", traveler.ActDeliver, nil)
	if len(y.entries) > 4000 {
		y.flush(tb)
	}
}

// makeYears writes ten years, times a factor, and opens them once. The folder is
// kept for other benchmarks of the same run.
func makeYears(tb testing.TB, dir string, factor int) *years {
	tb.Helper()
	end := time.Date(2026, 11, 25, 6, 0, 0, 0, time.UTC)
	file, err := store.Open(dir, store.Options{Now: func() time.Time { return end }, NoSync: true})
	if err != nil {
		tb.Fatal(err)
	}
	y := &years{rng: rand.New(rand.NewPCG(1, 2)), file: file, now: end.AddDate(-10, 0, -60)}
	shop := yearsShop(y.now)
	y.put(&traveler.Entry{By: supervisor, Change: shop})
	n := yearsBatches * factor
	span := end.AddDate(0, 0, -20).Sub(end.AddDate(-10, 0, -50))
	for i := range n {
		y.batch(tb, i, shop, end.AddDate(-10, 0, -50).Add(span/time.Duration(n)*time.Duration(i)))
	}
	y.flush(tb)
	desk, err := New(file, Options{Now: func() time.Time { return end }})
	if err != nil {
		tb.Fatal(err)
	}
	if err := desk.Close(); err != nil {
		tb.Fatal(err)
	}
	if err := file.Close(); err != nil {
		tb.Fatal(err)
	}
	return y
}

// BenchmarkYears: opening a shop's ten years, reading the facts of a part's year
// and of the whole, memory and room on the disk. TALLYWALK_YEARS=10 makes it
// ten times that.
func BenchmarkYears(b *testing.B) {
	factor, _ := strconv.Atoi(os.Getenv("TALLYWALK_YEARS"))
	factor = max(1, factor)
	dir := b.TempDir()
	y := makeYears(b, dir, factor)
	info, err := os.Stat(filepath.Join(dir, store.FileName))
	if err != nil {
		b.Fatal(err)
	}
	end := time.Date(2026, 11, 25, 6, 0, 0, 0, time.UTC)
	open := func(b *testing.B) (*store.File, *Desk) {
		file, err := store.Open(dir, store.Options{})
		if err != nil {
			b.Fatal(err)
		}
		desk, err := New(file, Options{Now: func() time.Time { return end }})
		if err != nil {
			b.Fatal(err)
		}
		return file, desk
	}
	b.Run("open", func(b *testing.B) {
		for b.Loop() {
			file, desk := open(b)
			b.StopTimer()
			closeBoth(b, file, desk)
			b.StartTimer()
		}
		b.ReportMetric(float64(info.Size())/float64(y.scans), "fileB/scan")
		b.ReportMetric(float64(y.scans), "scans")
		b.ReportMetric(float64(y.visits), "visits")
	})
	file, desk := open(b)
	defer closeBoth(b, file, desk)
	for _, q := range []struct {
		name string
		q    story.FactQuery
	}{
		{"part-year", story.FactQuery{Part: "P007", From: end.AddDate(-1, 0, 0), Open: true}},
		{"shop-year", story.FactQuery{From: end.AddDate(-1, 0, 0), Open: true, Bare: true}},
		{"shop-ten-years", story.FactQuery{Open: true, Bare: true}},
		{"shop-ten-years-leads",
			story.FactQuery{Open: true, Lent: true,
				Without: story.FactTrip | story.FactOps | story.FactVisits}},
		{"shop-ten-years-visits", story.FactQuery{Open: true}},
		{"shop-ten-years-losses", story.FactQuery{
			Open: true, Lent: true,
			Without: story.FactTrip | story.FactIDs | story.FactSpent | story.FactBusy,
		}},
	} {
		b.Run(q.name, func(b *testing.B) {
			n := 0
			for b.Loop() {
				n = 0
				if err := desk.Facts(q.q, func(*story.BatchFact) bool { n++; return true }); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(n), "batches")
			b.ReportMetric(heapMB(), "heapMB")
		})
	}
	export(b, desk, y.visits)
}

// export measures how fast visits are written, and with how much memory.
func export(b *testing.B, desk *Desk, visits int) {
	for _, f := range []intake.Format{intake.CSV, intake.JSONL, intake.XLSX} {
		if f == intake.XLSX && visits >= 1<<20 {
			continue // more than a sheet holds
		}
		b.Run("export-visits-"+string(f), func(b *testing.B) {
			start := heapMB()
			for b.Loop() {
				if err := intake.Export(io.Discard, desk, "visits", f, time.UTC,
					intake.Selection{}); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(visits)*float64(b.N)/b.Elapsed().Seconds(), "visits/s")
			b.ReportMetric(heapMB()-start, "grownMB")
		})
	}
}

func closeBoth(b *testing.B, file *store.File, desk *Desk) {
	b.Helper()
	if err := desk.Close(); err != nil {
		b.Fatal(err)
	}
	if err := file.Close(); err != nil {
		b.Fatal(err)
	}
}

func heapMB() float64 {
	var m runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&m)
	return float64(m.HeapSys-m.HeapReleased) / (1 << 20)
}
