package desk

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"runtime/pprof"
	"strconv"
	"syscall"
	"testing"
	"time"

	"tallywalk/store"
	"tallywalk/store/storetest"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// onDisk lets a disk know of appends, so that a longer file can fail.
type onDisk struct {
	*store.File
	disk *storetest.Disk
}

func (l onDisk) Append(last traveler.Seq, es []*traveler.Entry, rows []story.Row) error {
	l.disk.Before()
	err := l.File.Append(last, es, rows)
	l.disk.After(err)
	return err
}

// faulty is a day of work on a disk of which one operation fails.
type faulty struct {
	*rig
	dir    string
	disk   *storetest.Disk
	file   *store.File
	chance *rand.Rand // which of what is not safe is there after the power went; nil = the power stays
	acked  map[traveler.ScanID]traveler.Seq
	kept   map[string]string // rows of the table that were acknowledged
}

// inMemory is a folder on a disk without a disk, where there is one: what is tried here
// is what the disk says, not what it does.
func inMemory(t testing.TB) string {
	if info, err := os.Stat("/dev/shm"); err != nil || !info.IsDir() {
		return t.TempDir()
	}
	dir, err := os.MkdirTemp("/dev/shm", "tallywalk-test-") //nolint:usetesting // on no disk
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := os.RemoveAll(dir); err != nil {
			t.Error(err)
		}
	})
	return dir
}

func newFaulty(t testing.TB) *faulty {
	y := &faulty{dir: inMemory(t), disk: storetest.NewDisk(t), acked: map[traveler.ScanID]traveler.Seq{},
		kept: map[string]string{}}
	f, err := store.Open(y.dir, store.Options{Disk: y.disk})
	if err != nil {
		t.Fatal(err)
	}
	y.file = f
	y.rig = &rig{TB: t, log: onDisk{f, y.disk},
		hand: &clock{t: time.Date(2026, 11, 25, 6, 0, 0, 0, time.UTC)}}
	y.opt = Options{Now: y.hand.now, Rand: rand.NewChaCha8([32]byte{1}), SnapshotEvery: 12, Keep: time.Hour}
	y.open()
	t.Cleanup(func() { _ = y.desk.Close() }) // where the test failed before its end
	y.must(y.desk.Change(ctx, supervisor, storetest.Shop()))
	return y
}

// tries is how often something is said that fails.
const tries = 4

// persist says something until it is taken.
func (y *faulty) persist(what string, say func() error) {
	y.Helper()
	var err error
	for range tries {
		if err = say(); err == nil {
			y.cutOnce()
			return
		}
	}
	y.Fatalf("%s: %v", what, err)
}

// cutOnce looks what would be there if the power went when the fault has happened and
// what it befell was taken at last.
func (y *faulty) cutOnce() {
	y.Helper()
	if y.chance == nil || !y.disk.Met() {
		return
	}
	chance := y.chance
	y.chance = nil
	y.rests()
	y.powerCut(chance)
}

// rests waits until nothing is written: what says nothing new is answered when all
// before it, a snapshot too, has ended.
func (y *faulty) rests() {
	y.Helper()
	y.persist("nothing new", func() error {
		return y.desk.Change(ctx, supervisor, &traveler.Change{Machines: storetest.Shop().Machines})
	})
}

func (y *faulty) say(s traveler.Scan) {
	y.Helper()
	y.persist(string(s.ID), func() error {
		a, err := y.desk.Scans(ctx, []story.Said{{By: worker, Scan: s}})
		if err == nil {
			y.acked[s.ID] = a[0].Seq
		}
		return err
	})
}

// day releases batches, takes them through the shop, and keeps rows of a table beside.
func (y *faulty) day() {
	y.Helper()
	for i := range 3 {
		id, card := y.id(), traveler.Code("")
		y.persist("release", func() error {
			a, err := y.desk.Release(ctx, supervisor,
				[]traveler.Release{{ID: id, Part: "bracket", RouteRev: "1", Pieces: 20}}, nil)
			if err == nil {
				y.acked[id], card = a[0].Seq, a[0].Card
			}
			return err
		})
		for _, m := range []string{"L1", "M1", "Q1"} {
			for _, act := range []traveler.Action{traveler.ActSetup, traveler.ActRun, traveler.ActFinish} {
				s := y.scan(m, string(card), act)
				if act == traveler.ActFinish {
					s.Good = new(int)
					*s.Good = 20
				}
				y.say(s)
			}
		}
		key := strconv.Itoa(i)
		y.persist("row", func() error {
			err := y.file.Tables().Put("settings", key, []byte(id))
			if err == nil {
				y.kept[key] = string(id)
			}
			return err
		})
		y.hand.pass(2 * time.Hour) // the batch leaves the floor with the next snapshot
	}
	y.rests()
}

// whole checks that a folder holds what was acknowledged, once, and a ledger that fits.
func (y *faulty) whole(what, dir string) {
	y.Helper()
	f, err := store.Open(dir, store.Options{Must: true})
	if err != nil {
		y.Fatalf("%s: %v", what, err)
	}
	defer func() { y.must(f.Close()) }()
	if _, err := store.Verify(f); err != nil {
		y.Fatalf("%s: %v", what, err)
	}
	audit, err := VerifyLedger(f, func(traveler.Seq) error { return nil })
	if err != nil || len(audit.Faults) > 0 {
		y.Fatalf("%s: the ledger: %v %v", what, err, audit.Faults)
	}
	for id, seq := range y.acked {
		if at, err := f.Find(id); err != nil || at != seq {
			y.Fatalf("%s: %s was acknowledged as %d and is %d (%v)", what, id, seq, at, err)
		}
	}
	for key, want := range y.kept {
		if v, err := f.Tables().Get("settings", key); err != nil || string(v) != want {
			y.Fatalf("%s: row %s is %q and not %q (%v)", what, key, v, want, err)
		}
	}
}

// ends closes all, and looks whether anything still runs.
func (y *faulty) ends() {
	y.Helper()
	if err := y.desk.Close(); err != nil && !y.disk.Met() {
		y.Fatal(err)
	}
	y.must(y.file.Close())
	y.disk.Close()
	// The last of them may still be on its way out.
	for range 10000 {
		var all bytes.Buffer
		y.must(pprof.Lookup("goroutine").WriteTo(&all, 1))
		if !bytes.Contains(all.Bytes(), []byte("desk.(*writer).run")) &&
			!bytes.Contains(all.Bytes(), []byte("desk.(*Desk).commit")) {
			return
		}
		runtime.Gosched()
	}
	y.Fatal("the desk runs on")
}

// powerCut is what another computer would find if the power went now.
func (y *faulty) powerCut(chance *rand.Rand) {
	y.Helper()
	dir := inMemory(y)
	y.must(os.WriteFile(filepath.Join(dir, store.FileName), y.disk.PowerCut(chance), 0o600))
	y.whole("after the power went", dir)
}

// TestEveryWriteFails lets each write, each sync and each growth of the file fail in
// turn, whole or half done, while a desk takes scans that are said again until they are
// taken: all that was acknowledged is there once, also when the power goes right then.
func TestEveryWriteFails(t *testing.T) {
	y := newFaulty(t)
	y.disk.Fail(storetest.DiskFault{})
	y.day()
	ops := map[string]int{}
	for _, kind := range []string{storetest.DiskWrite, storetest.DiskSync, storetest.DiskGrow} {
		if ops[kind] = y.disk.Count(kind); ops[kind] < 20 {
			t.Errorf("only %d of kind %s", ops[kind], kind)
		}
	}
	y.powerCut(rand.New(rand.NewPCG(1, 1)))
	y.ends()
	y.whole("without a fault", y.dir)

	step, cuts := 5, uint64(1)
	if os.Getenv("TALLYWALK_LONG") != "" {
		step, cuts = 1, 3
	}
	met := 0
	for kind, n := range ops {
		for nth := 1; nth <= n; nth += step {
			for cut := range cuts {
				fault := storetest.DiskFault{Kind: kind, Nth: nth, Torn: nth%2 == 0,
					Err: []syscall.Errno{syscall.EIO, syscall.ENOSPC}[nth/2%2]}
				if oneFault(t, fault, cut) {
					met++
				}
			}
		}
	}
	if met < 20 {
		t.Errorf("only %d faults happened", met)
	}
	t.Logf("%d faults, of %v", met, ops)
}

func oneFault(t *testing.T, fault storetest.DiskFault, seed uint64) bool {
	met := false
	t.Run(fmt.Sprint(fault.Kind, fault.Nth, "cut", seed), func(t *testing.T) {
		y := newFaulty(t)
		y.disk.Fail(fault)
		y.chance = rand.New(rand.NewPCG(uint64(fault.Nth), seed))
		y.day()
		met = y.disk.Met()
		y.ends()
		y.whole("after the fault", y.dir)
	})
	return met
}
