package desk

import (
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"

	"tallywalk/store"
	"tallywalk/store/storetest"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// put is what one scan costs the file: its row of the record, its id, and the
// ledger's rows.
type put struct {
	body []byte
	id   []byte
	rows []story.Row
}

// recorder notes what a desk appends.
type recorder struct {
	story.Log
	b    *testing.B
	puts []put
}

func (r *recorder) Append(last traveler.Seq, es []*traveler.Entry, rows []story.Row) error {
	for _, e := range es {
		if e.Scan == nil {
			continue
		}
		body, err := store.Encode(nil, e)
		if err != nil {
			r.b.Fatal(err)
		}
		id, err := hex.DecodeString(strings.ReplaceAll(string(e.ID()), "-", ""))
		if err != nil {
			r.b.Fatal(err)
		}
		r.puts = append(r.puts, put{append(make([]byte, 32), body...), id, rows})
	}
	return r.Log.Append(last, es, rows)
}

// script is what one client scans: batches, each taken through its route.
func (r *rig) script(cards []traveler.Code, client int) []story.Said {
	var out []story.Said
	say := func(card traveler.Code, station string, act traveler.Action, n int) {
		k := client*1e6 + len(out)
		at := r.hand.now().Add(time.Duration(len(out)+1) * time.Second)
		s := traveler.Scan{
			ID:     storetest.UUID7(at.Add(time.Duration(client)*time.Millisecond), uint64(k)),
			Device: traveler.DeviceID(fmt.Sprintf("station-%d", client)), N: uint64(len(out) + 1),
			At: at, OffsetMS: -118, WithinMS: 24, Station: station, Card: string(card), Action: act,
			Operator: "P0000042K",
		}
		if n > 0 {
			s.Good = &n
			s.Scrap = []traveler.Loss{{Reason: "dim", N: 1}}
		}
		out = append(out,
			story.Said{By: traveler.Actor{Name: string(s.Device), Role: traveler.RoleOperator}, Scan: s})
	}
	for _, card := range cards {
		for op, station := range []string{"L1", "M1", "Q1"} {
			say(card, station, traveler.ActArrive, 0)
			say(card, station, traveler.ActSetup, 0)
			say(card, station, traveler.ActRun, 0)
			for range 5 {
				say(card, station, traveler.ActCount, 9-op) // one more is scrap
			}
			say(card, station, traveler.ActFinish, 0)
		}
	}
	return out
}

const scansPerBatch = 3 * 9

// course is a shop with batches released, and what each client will scan.
type course struct {
	*rig
	scripts [][]story.Said
}

func newCourse(b *testing.B, log story.Log, clients, each int) *course {
	r := &rig{TB: b, log: log, hand: &clock{t: storetest.Ordinary(1).Arrived}}
	r.opt = Options{Now: r.hand.now, Rand: rand.NewChaCha8([32]byte{})}
	r.open()
	r.must(r.desk.Change(ctx, supervisor, storetest.Shop()))
	c := &course{rig: r}
	for client := range clients {
		var cards []traveler.Code
		for k := 0; k*scansPerBatch < each; k++ {
			cards = append(cards, r.release("bracket", "", 50))
		}
		c.scripts = append(c.scripts, r.script(cards, client)[:each])
	}
	r.hand.pass(time.Hour) // what the scripts say has happened by now
	return c
}

func (c *course) say(client, i int) {
	a, err := c.desk.Scans(ctx, c.scripts[client][i:i+1])
	if err != nil || a[0].Err != nil || a[0].Outcome != traveler.Kept {
		c.Errorf("%+v %v", a, err)
	}
}

// costs finds out what each scan of each client puts into the file.
func costs(b *testing.B, clients, each int) [][]put {
	rec := &recorder{Log: store.NewMem(), b: b}
	c := newCourse(b, rec, clients, each)
	out := make([][]put, clients)
	for client := range clients {
		rec.puts = nil
		for i := range each {
			c.say(client, i)
		}
		out[client] = rec.puts
	}
	c.must(c.desk.Close())
	return out
}

// bare is the loop that the desk is measured against: one writer that puts what
// waits into one transaction of bbolt, and nothing else.
type bare struct {
	db    *bolt.DB
	queue chan *wish
}

var bareRecord, bareIDs, bareLedger = []byte("record"), []byte("ids"), []byte("ledger")

type wish struct {
	put
	done chan error
}

func (w *bare) run() {
	seq := traveler.Seq(0)
	for first := range w.queue {
		group := []*wish{first}
		for more := true; more && len(group) < groupLen; {
			select {
			case next, ok := <-w.queue:
				if more = ok; ok {
					group = append(group, next)
				}
			default:
				more = false
			}
		}
		err := w.db.Update(func(tx *bolt.Tx) error {
			record, ids, ledger := tx.Bucket(bareRecord), tx.Bucket(bareIDs), tx.Bucket(bareLedger)
			record.FillPercent, ids.FillPercent = 1, 0.9 // as the log's own
			for _, p := range group {
				seq++
				key := binary.BigEndian.AppendUint64(nil, uint64(seq))
				err := errors.Join(record.Put(key, p.body), ids.Put(p.id, key))
				for _, r := range p.rows {
					err = errors.Join(err, ledger.Put([]byte(r.Bucket+"\x00"+r.Key), r.Value))
				}
				if err != nil {
					return err
				}
			}
			return nil
		})
		for _, p := range group {
			p.done <- err
		}
	}
}

// sideBySide measures the bare loop and the desk in turn, so that a busy disk
// is busy for both.
func sideBySide(b *testing.B, clients, each int) {
	puts := costs(b, clients, each)
	var bareTook, deskTook time.Duration
	var bareWaits, deskWaits []time.Duration
	for b.Loop() {
		took, waits := bareRun(b, puts)
		bareTook, bareWaits = bareTook+took, append(bareWaits, waits...)
		took, waits = deskRun(b, clients, each)
		deskTook, deskWaits = deskTook+took, append(deskWaits, waits...)
	}
	n := float64(len(deskWaits))
	b.ReportMetric(n/bareTook.Seconds(), "bare/s")
	b.ReportMetric(n/deskTook.Seconds(), "desk/s")
	b.ReportMetric(bareTook.Seconds()/deskTook.Seconds(), "desk:bare-rate")
	b.ReportMetric(quantile(deskWaits, .5)/quantile(bareWaits, .5), "desk:bare-p50")
	b.ReportMetric(quantile(deskWaits, .99)/quantile(bareWaits, .99), "desk:bare-p99")
}

func quantile(d []time.Duration, q float64) float64 {
	slices.Sort(d)
	return d[int(q*float64(len(d)-1))].Seconds()
}

func bareRun(b *testing.B, puts [][]put) (time.Duration, []time.Duration) {
	db, err := bolt.Open(filepath.Join(b.TempDir(), "bare.db"), 0o600, nil)
	if err != nil {
		b.Fatal(err)
	}
	err = db.Update(func(tx *bolt.Tx) (err error) {
		for _, name := range [][]byte{bareRecord, bareIDs, bareLedger} {
			_, e := tx.CreateBucket(name)
			err = errors.Join(err, e)
		}
		return err
	})
	if err != nil {
		b.Fatal(err)
	}
	w := &bare{db, make(chan *wish, queueLen)}
	go w.run()
	took, waits := together(len(puts), len(puts[0]), func(c, i int) {
		p := &wish{puts[c][i], make(chan error, 1)}
		w.queue <- p
		if err := <-p.done; err != nil {
			b.Error(err)
		}
	})
	close(w.queue)
	if err := db.Close(); err != nil {
		b.Fatal(err)
	}
	return took, waits
}

func deskRun(b *testing.B, clients, each int) (time.Duration, []time.Duration) {
	f, err := store.Open(b.TempDir(), store.Options{})
	if err != nil {
		b.Fatal(err)
	}
	c := newCourse(b, f, clients, each)
	took, waits := together(clients, each, c.say)
	c.must(c.desk.Close())
	c.must(f.Close())
	return took, waits
}

// BenchmarkManyClients has 64 stations that each wait for their answer. Goal:
// desk:bare-rate of 0.8 or more.
func BenchmarkManyClients(b *testing.B) { sideBySide(b, 64, 300) }

// BenchmarkOneClient has one station. Goal: desk:bare-p50 of 1.3 or less.
func BenchmarkOneClient(b *testing.B) { sideBySide(b, 1, 2000) }

// together lets clients do n things each, and measures.
func together(clients, n int, do func(client, i int)) (took time.Duration, waits []time.Duration) {
	all := make([][]time.Duration, clients)
	var wg sync.WaitGroup
	start := time.Now()
	for c := range clients {
		wg.Go(func() {
			for i := range n {
				t := time.Now()
				do(c, i)
				all[c] = append(all[c], time.Since(t))
			}
		})
	}
	wg.Wait()
	took = time.Since(start)
	return took, slices.Concat(all...)
}
