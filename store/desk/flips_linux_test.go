package desk

import (
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"

	"tallywalk/store"
	"tallywalk/store/storetest"
	"tallywalk/traveler"
)

// flips is a record file, of which each round turns one bit of a copy.
type flips struct {
	testing.TB
	file  []byte
	extra map[string][]byte // what lies beside it
	at    time.Time
	truth map[string]string
}

// newFlips makes a file as a shop has one: batches that left the floor and some that are on
// it, a snapshot and what came after it, rows of tables.
func newFlips(t testing.TB) *flips {
	dir := inMemory(t)
	f, err := store.Open(dir, store.Options{Rand: rand.NewChaCha8([32]byte{2})})
	if err != nil {
		t.Fatal(err)
	}
	r := &rig{TB: t, log: f, hand: &clock{t: time.Date(2026, 11, 25, 6, 0, 0, 0, time.UTC)}}
	r.opt = Options{Now: r.hand.now, Rand: rand.NewChaCha8([32]byte{1}), SnapshotEvery: 25, Keep: time.Hour}
	r.open()
	r.must(r.desk.Change(ctx, supervisor, storetest.Shop()))
	for i := range 12 {
		card := r.release("bracket", fmt.Sprint("W", i), 20)
		if i%4 < 3 {
			r.finish(card, 20)
		} else {
			r.kept(worker, r.scan("L1", string(card), traveler.ActSetup))
		}
		r.must(f.Tables().Put("settings", fmt.Sprint("row ", i), []byte(card)))
		r.hand.pass(3 * time.Hour)
	}
	y := &flips{TB: t, extra: map[string][]byte{}}
	r.must(r.desk.Close())
	r.must(f.Close())
	used := usedOf(t, filepath.Join(dir, store.FileName))
	entries, err := os.ReadDir(dir)
	r.must(err)
	for _, e := range entries {
		data, err := os.ReadFile(filepath.Join(dir, e.Name()))
		r.must(err)
		if e.Name() == store.FileName {
			y.file = data[:used]
		} else {
			y.extra[e.Name()] = data
		}
	}
	y.at = r.hand.now()
	truth, err := y.known(dir)
	r.must(err)
	y.truth = truth
	return y
}

// usedOf is how much of a closed file bbolt says is in use: it grows by megabytes.
func usedOf(t testing.TB, name string) (size int64) {
	db, err := bolt.Open(name, 0o600, &bolt.Options{ReadOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	err = db.View(func(tx *bolt.Tx) error {
		size = tx.Size()
		return nil
	})
	if err := errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
	return size
}

// known is all that a folder shows once it was found whole, or what was found to be broken.
func (y *flips) known(dir string) (map[string]string, error) {
	f, err := store.Open(dir, store.Options{Must: true})
	if err != nil {
		return nil, err
	}
	defer func() { _ = f.Close() }()
	if _, err := store.Verify(f); err != nil {
		return nil, err
	}
	audit, err := VerifyLedger(f, func(traveler.Seq) error { return nil })
	if err != nil {
		return nil, err
	}
	if len(audit.Faults) > 0 {
		return nil, audit.Faults[0]
	}
	r := &rig{TB: y.TB, log: f, hand: &clock{t: y.at}}
	d, err := New(f, Options{Now: r.hand.now, Keep: time.Hour})
	if err != nil {
		return nil, err
	}
	r.desk = d
	defer func() { _ = d.Close() }()
	out := r.dump()
	maps.Copy(out, r.ledger())
	r.must(f.Entries(1, func(e *traveler.Entry) bool {
		out["entry "+e.Seq.String()] = asText(r, e)
		return true
	}))
	err = f.Tables().Each("settings", func(key string, v []byte) bool {
		out["settings "+key] = string(v)
		return true
	})
	return out, err
}

// round turns one bit and returns how many found something wrong: 1 or 0.
func (y *flips) round(at int, bit byte) int {
	dir := inMemory(y)
	y.file[at] ^= bit
	defer func() { y.file[at] ^= bit }()
	for name, data := range y.extra {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o600); err != nil {
			y.Fatal(err)
		}
	}
	if err := os.WriteFile(filepath.Join(dir, store.FileName), y.file, 0o600); err != nil {
		y.Fatal(err)
	}
	got, err := y.known(dir)
	if err != nil {
		if traveler.KindOf(err) != traveler.KindCorrupt || strings.Contains(err.Error(), "\n") {
			y.Errorf("%v", err)
		}
		return 1
	}
	same(y, "nothing is said, but", got, y.truth)
	return 0
}

// TestBitsFlip turns one bit of a record file in each round: what is wrong is said, or
// nothing is.
func TestBitsFlip(t *testing.T) {
	t.Parallel()
	rounds := 100
	if os.Getenv("TALLYWALK_LONG") != "" {
		rounds = 3000
	}
	y := newFlips(t)
	r := rand.New(rand.NewPCG(8, 16))
	said := 0
	for i := range rounds {
		at, bit := r.IntN(len(y.file)), byte(1)<<r.IntN(8)
		t.Run(fmt.Sprintf("%d: %d of byte %d", i, bit, at), func(t *testing.T) {
			one := *y
			one.TB = t
			said += one.round(at, bit)
		})
	}
	if said < rounds/10 {
		t.Errorf("in only %d of %d rounds anything was said", said, rounds)
	}
	t.Logf("%d rounds, in %d the damage is said, in the others nothing is different", rounds, said)
}
