package desk

import (
	"context"
	"encoding/json"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
	"time"

	"tallywalk/store"
	"tallywalk/store/storetest"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// rig is a desk with an invented shop: two lathes, two mills, an inspection.
type rig struct {
	testing.TB
	log  story.Log
	opt  Options
	desk *Desk
	hand *clock
	ids  int
}

// clock is moved by hand.
type clock struct {
	mu sync.Mutex
	t  time.Time
}

func (c *clock) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.t
}

func (c *clock) pass(d time.Duration) time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.t = c.t.Add(d)
	return c.t
}

var (
	worker     = storetest.Operator
	supervisor = storetest.Supervisor
	ctx        = context.Background()
)

func newRig(t testing.TB, log story.Log) *rig {
	t.Helper()
	r := &rig{TB: t, log: log, hand: &clock{t: time.Date(2026, 11, 25, 6, 0, 0, 0, time.UTC)}}
	r.opt = Options{Now: r.hand.now, Rand: rand.NewChaCha8([32]byte{1})}
	r.open()
	r.must(r.desk.Change(ctx, supervisor, storetest.Shop()))
	t.Cleanup(func() {
		r.must(r.desk.Close())
		if _, err := store.Verify(unwrap(log)); err != nil {
			t.Error(err)
		}
	})
	return r
}

func unwrap(log story.Log) story.Log {
	if u, ok := log.(interface{ Unwrap() story.Log }); ok {
		return u.Unwrap()
	}
	return log
}

func (r *rig) open() {
	r.Helper()
	d, err := New(r.log, r.opt)
	r.must(err)
	r.desk = d
}

// reopen closes the desk and opens another over the same log.
func (r *rig) reopen() {
	r.Helper()
	r.must(r.desk.Close())
	r.open()
}

func (r *rig) must(err error) {
	r.Helper()
	if err != nil {
		r.Fatal(err)
	}
}

func (r *rig) id() traveler.ScanID {
	r.ids++
	return storetest.UUID7(r.hand.now(), uint64(r.ids))
}

func (r *rig) release(part, order string, pieces int) traveler.Code {
	r.Helper()
	a, err := r.desk.Release(ctx, supervisor,
		[]traveler.Release{{ID: r.id(), Part: part, RouteRev: "1", Pieces: pieces, WorksOrder: order}}, nil)
	r.must(err)
	return a[0].Card
}

// scan is a scan made now, a minute after the last one.
func (r *rig) scan(station, card string, act traveler.Action, more ...func(*traveler.Scan)) traveler.Scan {
	s := traveler.Scan{ID: r.id(), Device: traveler.DeviceID(station), At: r.hand.pass(time.Minute),
		Station: station, Card: card, Action: act}
	for _, m := range more {
		m(&s)
	}
	return s
}

func good(n int) func(*traveler.Scan)        { return func(s *traveler.Scan) { s.Good = &n } }
func pieces(n int) func(*traveler.Scan)      { return func(s *traveler.Scan) { s.Pieces = n } }
func about(id string) func(*traveler.Scan)   { return func(s *traveler.Scan) { s.For = id } }
func why(reason string) func(*traveler.Scan) { return func(s *traveler.Scan) { s.Reason = reason } }

func late(s *traveler.Scan) {
	no := false
	s.Present = &no
}

func (r *rig) sendAll(by traveler.Actor, scans ...traveler.Scan) []story.Answer {
	r.Helper()
	said := make([]story.Said, len(scans))
	for i := range scans {
		said[i] = story.Said{By: by, Scan: scans[i]}
	}
	a, err := r.desk.Scans(ctx, said)
	r.must(err)
	return a
}

func (r *rig) one(by traveler.Actor, s traveler.Scan) story.Answer {
	r.Helper()
	return r.sendAll(by, s)[0]
}

// kept sends a scan that must be kept.
func (r *rig) kept(by traveler.Actor, s traveler.Scan) story.Answer {
	r.Helper()
	a := r.one(by, s)
	r.is(a, traveler.Kept, "")
	return a
}

func (r *rig) is(a story.Answer, o traveler.Outcome, key string) {
	r.Helper()
	if a.Err != nil || a.Outcome != o || a.Say.Key != key {
		r.Fatalf("answer %s %q (%v), want %s %q", a.Outcome, a.Say.Text("en"), a.Err, o, key)
	}
}

func (r *rig) family(card traveler.Code) *story.Family {
	r.Helper()
	f, err := r.desk.Family(card)
	r.must(err)
	return f
}

// work takes a batch through an operation.
func (r *rig) work(station string, card traveler.Code, n int) {
	r.Helper()
	c := string(card)
	r.kept(worker, r.scan(station, c, traveler.ActSetup))
	r.kept(worker, r.scan(station, c, traveler.ActRun))
	r.kept(worker, r.scan(station, c, traveler.ActCount, good(n)))
	r.kept(worker, r.scan(station, c, traveler.ActFinish))
}

// finish takes a batch through the whole route.
func (r *rig) finish(card traveler.Code, n int) {
	r.Helper()
	r.work("L1", card, n)
	r.work("M1", card, n)
	r.work("Q1", card, n)
}

// view is all that can be read of a family.
type view struct {
	Root    traveler.Code
	Rules   int
	Batches []story.Batch
	Visits  []story.Visit
	Spans   []story.Span
	Lines   []story.Line
	Refused []*traveler.Entry
	Asked   []story.Question
	Record  []*traveler.Entry
}

func viewOf(f *story.Family) view {
	var lines []story.Line
	for _, l := range f.Lines.All() {
		lines = append(lines, *l)
	}
	return view{f.Root, f.Rules, f.Batches, f.Visits, f.Spans, lines, f.Refused, f.Questions(), f.Record()}
}

// dump is all that a desk knows, as text: each family by its cards, and what is
// loose.
func (r *rig) dump() map[string]string {
	r.Helper()
	out := map[string]string{}
	r.must(r.log.Entries(1, func(e *traveler.Entry) bool {
		for _, card := range []traveler.Code{e.Card, e.Other} {
			if card != "" && out[string(card)] == "" {
				out[string(card)] = asText(r, viewOf(r.family(card)))
			}
		}
		return true
	}))
	out["loose"] = asText(r, r.loose())
	out["machines"] = asText(r, r.desk.Shop().Machines(r.hand.now()))
	out["routes"] = asText(r, r.desk.Shop().Routes())
	seq, link := r.desk.Head()
	out["head"] = asText(r, []any{seq, link})
	return out
}

// loose is what is loose but for who came and left too long ago to be sure of.
func (r *rig) loose() (out []*traveler.Entry) {
	for _, e := range r.desk.Loose() {
		if e.Outcome != traveler.Kept || r.hand.now().Sub(e.Arrived) <= r.desk.opt.Keep {
			out = append(out, e)
		}
	}
	return out
}

// ledger is the rows that do not depend on when families left the floor.
func (r *rig) ledger() map[string]string {
	r.Helper()
	out := map[string]string{}
	for _, bucket := range []string{ledgerUsed, ledgerAdopted} {
		r.must(r.log.Rows(bucket, func(key string, v []byte) bool {
			out[bucket+" "+key] = string(v)
			return true
		}))
	}
	return out
}

// checkFacts compares the facts that the desk gives with those of all
// families, worked out from their stories: each batch once, wherever it lies.
func (r *rig) checkFacts() {
	r.Helper()
	m := r.desk.meter(r.desk.Shop(), r.hand.now())
	want, got := map[string]string{}, map[string]string{}
	seen := map[traveler.Code]bool{}
	r.must(r.log.Entries(1, func(e *traveler.Entry) bool {
		if e.Release == nil || seen[e.Card] {
			return true
		}
		seen[e.Card] = true
		f := r.family(e.Card)
		for i := range f.Batches {
			want[string(f.Batches[i].Card)] = written(r, m.Batch(f, i))
		}
		return true
	}))
	r.must(r.desk.Facts(story.FactQuery{Open: true}, func(b *story.BatchFact) bool {
		if got[string(b.Card)] != "" {
			r.Fatalf("batch %s is listed twice", b.Card)
		}
		got[string(b.Card)] = written(r, *b)
		return true
	}))
	same(r, "facts", got, want)
}

// written is a fact as it comes back from the ledger, readable.
func written(t testing.TB, b story.BatchFact) string {
	t.Helper()
	row, err := store.PackFacts(&b)
	if err != nil {
		t.Fatal(err)
	}
	back, err := store.NewFactReader(0, false).Read(row)
	if err != nil {
		t.Fatal(err)
	}
	data, err := json.Marshal(back)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

func same(t testing.TB, what string, got, want map[string]string) {
	t.Helper()
	var keys []string
	for k := range got {
		keys = append(keys, k)
	}
	for k := range want {
		if _, ok := got[k]; !ok {
			keys = append(keys, k)
		}
	}
	slices.Sort(keys)
	for _, k := range keys {
		if got[k] != want[k] {
			t.Fatalf("%s: %s is\n%s\nand should be\n%s", what, k, got[k], want[k])
		}
	}
}

// forgetful is a log without a snapshot.
type forgetful struct{ story.Log }

func (f forgetful) Load() (*story.Snapshot, error) { return nil, nil }
func (f forgetful) Unwrap() story.Log              { return f.Log }

func openFile(t testing.TB, dir string) *store.File {
	t.Helper()
	f, err := store.Open(dir, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := f.Close(); err != nil {
			t.Error(err)
		}
	})
	return f
}

func asText(t testing.TB, v any) string {
	t.Helper()
	data, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}
