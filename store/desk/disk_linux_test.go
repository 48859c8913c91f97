package desk

import (
	"bufio"
	"errors"
	"os"
	"os/exec"
	"os/signal"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"tallywalk/store"
	"tallywalk/store/storetest"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// fill sends scans until the disk takes no more, and checks that the one that
// was refused is not half there. It returns how many were kept.
func fill(r *rig) (n int) {
	r.Helper()
	cards := make([]traveler.Code, 40)
	for i := range cards {
		cards[i] = r.release("bracket", "", 1000000)
	}
	note := strings.Repeat("a full disk is no reason to lose a scan. ", 12)
	for ; n < 100000; n++ {
		var said []story.Said
		for _, card := range cards {
			s := r.scan("L1", string(card), traveler.ActCount, good(1))
			s.Note = note[:450]
			said = append(said, story.Said{By: worker, Scan: s})
		}
		before, _ := r.desk.Head()
		_, err := r.desk.Scans(ctx, said)
		if err == nil {
			continue
		}
		if traveler.KindOf(err) != traveler.KindFull {
			r.Fatalf("after %d: %v", n, err)
		}
		if head, _ := r.desk.Head(); head != before {
			r.Errorf("head went from %d to %d", before, head)
		}
		if _, err := store.Verify(r.log); err != nil {
			r.Errorf("after the disk was full: %v", err)
		}
		return n
	}
	r.Fatal("the disk never was full")
	return n
}

// afterwards checks that all that was kept can be read, and that the desk goes
// on once there is room.
func (r *rig) afterwards() {
	r.Helper()
	before := r.dump()
	r.must(r.log.Reopen())
	if _, err := store.Verify(r.log); err != nil {
		r.Error(err)
	}
	same(r, "opened again", r.dump(), before)
}

// full is a rig whose file was filled until nothing more could be kept.
func full(t *testing.T, f *store.File) *rig {
	t.Helper()
	r := newRig(keepGoing{t}, f)
	if fill(r) == 0 {
		t.Error("nothing was kept")
	}
	r.afterwards()
	return r
}

func TestLargestFile(t *testing.T) {
	f, err := store.Open(t.TempDir(), store.Options{MaxSize: 1 << 20})
	if err != nil {
		t.Fatal(err)
	}
	_ = full(t, f).desk.Close()
}

// keepGoing is a test whose rig cannot save its last snapshot.
type keepGoing struct{ testing.TB }

func (keepGoing) Cleanup(func()) {}

// TestFileSizeLimit fills a file up to the limit that the system sets for the
// process (setrlimit(2)), in a process of its own.
func TestFileSizeLimit(t *testing.T) {
	child := exec.Command(os.Args[0], "-test.run=^TestChildIsLimited$", "-test.v")
	child.Env = append(os.Environ(), "TALLYWALK_CHILD="+t.TempDir())
	out, err := child.CombinedOutput()
	if err != nil || !strings.Contains(string(out), "the limit was met") {
		t.Errorf("%v\n%s", err, out)
	}
}

// TestChildIsLimited is the other process.
func TestChildIsLimited(t *testing.T) {
	dir := os.Getenv("TALLYWALK_CHILD")
	if dir == "" {
		return
	}
	signal.Ignore(syscall.SIGXFSZ)
	// bbolt grows its file by 16 MB at a time: it can do so once.
	limit := syscall.Rlimit{Cur: 20 << 20, Max: 20 << 20}
	if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &limit); err != nil {
		t.Fatal(err)
	}
	f, err := store.Open(dir, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Tables().Put("ballast", "most of it", make([]byte, 15<<20)); err != nil {
		t.Fatal(err)
	}
	full(t, f)
	t.Log("the limit was met")
}

// TestFullDisk fills a small disk of its own, then makes it larger. Only root
// may mount one; TestFileSizeLimit tests the same way through the code for
// everybody.
func TestFullDisk(t *testing.T) {
	dir, ok := smallDisk(t, 2<<20)
	if !ok {
		return
	}
	f, err := store.Open(dir, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	r := full(t, f)
	if err := syscall.Mount("tmpfs", dir, "tmpfs", syscall.MS_REMOUNT,
		"size="+strconv.Itoa(16<<20)); err != nil {
		t.Fatal(err)
	}
	card := r.release("flange", "", 5)
	r.kept(worker, r.scan("L1", string(card), traveler.ActSetup))
	r.must(errors.Join(r.desk.Close(), f.Close()))

	if err := syscall.Mount("tmpfs", dir, "tmpfs", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
		t.Fatal(err)
	}
	if _, err := store.Open(dir, store.Options{}); traveler.KindOf(err) != traveler.KindFull {
		t.Errorf("a disk that is only read opened: %v", err)
	}
}

func smallDisk(t *testing.T, size int) (dir string, ok bool) {
	t.Helper()
	dir = t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size="+strconv.Itoa(size)); err != nil {
		t.Logf("no disk of its own: %v", err)
		return "", false
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, syscall.MNT_DETACH); err != nil {
			t.Error(err)
		}
	})
	return dir, true
}

// TestKilled kills a desk's process while clients send it scans, and looks for
// each scan that was acknowledged. TALLYWALK_LONG makes the series long.
func TestKilled(t *testing.T) {
	rounds := 3
	if os.Getenv("TALLYWALK_LONG") != "" {
		rounds = 50
	}
	dir := t.TempDir()
	acked := map[traveler.ScanID]bool{}
	for round := range rounds {
		killOne(t, dir, round, acked)
		f := openFile(t, dir)
		report, err := store.Verify(f)
		if err != nil {
			t.Fatalf("round %d: %v", round, err)
		}
		for id := range acked {
			if seq, err := f.Find(id); err != nil || seq == 0 {
				t.Fatalf("round %d: %s was acknowledged and is not there (%v)", round, id, err)
			}
		}
		if report.IDs < len(acked) {
			t.Errorf("round %d: %d ids for %d acknowledged", round, report.IDs, len(acked))
		}
		r := &rig{TB: t, log: f, hand: &clock{t: storetest.Ordinary(1).Arrived}}
		r.opt = Options{Now: r.hand.now}
		r.open()
		before := r.dump()
		r.must(r.desk.Close())
		r.log = forgetful{f}
		r.open()
		same(t, "from the whole record", r.dump(), before)
		r.checkFacts()
		r.must(r.desk.Close())
		r.must(f.Close())
	}
	if len(acked) < 100*rounds {
		t.Errorf("only %d scans in %d rounds", len(acked), rounds)
	}
}

// killOne runs the other process until it has acknowledged a number of scans
// that differs from round to round, and kills it.
func killOne(t *testing.T, dir string, round int, acked map[traveler.ScanID]bool) {
	t.Helper()
	child := exec.Command(os.Args[0], "-test.run=^TestChildIsKilled$")
	child.Env = append(os.Environ(), "TALLYWALK_CHILD="+dir, "TALLYWALK_ROUND="+strconv.Itoa(round))
	child.Stderr = os.Stderr
	out, err := child.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := child.Start(); err != nil {
		t.Fatal(err)
	}
	killAt := 150 + round*977%700
	lines := bufio.NewScanner(out)
	for n := 0; lines.Scan(); n++ {
		if id := traveler.ScanID(lines.Text()); id.Valid() {
			acked[id] = true
		}
		if n == killAt {
			if err := child.Process.Kill(); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := child.Wait(); err == nil || child.ProcessState.Exited() {
		t.Fatalf("round %d: it ended by itself: %v", round, err)
	}
}

// TestChildIsKilled is the other process: clients send scans as fast as they
// can, and each prints the ids that were acknowledged.
func TestChildIsKilled(t *testing.T) {
	dir := os.Getenv("TALLYWALK_CHILD")
	if dir == "" || os.Getenv("TALLYWALK_ROUND") == "" {
		return
	}
	f := openFile(t, dir)
	round, err := strconv.Atoi(os.Getenv("TALLYWALK_ROUND"))
	if err != nil {
		t.Fatal(err)
	}
	r := &rig{TB: t, log: f, hand: &clock{t: storetest.Ordinary(1).Arrived}, ids: round * 1e7}
	r.opt = Options{Now: r.hand.now, SnapshotEvery: 300}
	r.open()
	r.must(r.desk.Change(ctx, supervisor, storetest.Shop()))
	for client := range 8 {
		card := r.release("bracket", "", 1000000)
		go r.client(round*1e7+(client+1)*1e6, string(card))
	}
	select {}
}

// client sends scans for ever, each fourth one twice, and prints what was
// acknowledged.
func (r *rig) client(ids int, card string) {
	acts := []traveler.Action{traveler.ActSetup, traveler.ActRun, traveler.ActCount, traveler.ActStop,
		traveler.ActRun, traveler.ActCount, traveler.ActFinish}
	for n := 0; ; n++ {
		s := traveler.Scan{ID: storetest.UUID7(r.hand.now(), uint64(ids+n)), At: r.hand.now(), Station: "L1",
			Card: card, Action: acts[n%len(acts)], Anyway: true}
		if s.Action == traveler.ActCount {
			good(1)(&s)
		}
		said := []story.Said{{By: worker, Scan: s}}
		if n%4 == 0 {
			said = append(said, said[0])
		}
		a, err := r.desk.Scans(ctx, said)
		if err != nil || a[0].Err != nil {
			panic(err)
		}
		// One write of less than a page is never cut in a pipe (pipe(7)).
		if _, err := os.Stdout.WriteString(string(s.ID) + "\n"); err != nil {
			panic(err)
		}
	}
}
