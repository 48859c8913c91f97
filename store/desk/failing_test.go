package desk

import (
	"context"
	"errors"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"tallywalk/store"
	"tallywalk/store/storetest"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// failing is a log that fails when it is asked to: before it keeps anything, or
// after, when only the answer is lost.
type failing struct {
	story.Log
	mu      sync.Mutex
	before  error
	after   error
	rows    error // of what brings rows only
	reopen  error
	save    error
	read    error
	reopens int

	entered chan<- struct{} // sent to when an append begins, which then waits
	leave   <-chan error    // for how it is to end
}

func (f *failing) Unwrap() story.Log { return f.Log }

func (f *failing) set(change func()) {
	f.mu.Lock()
	defer f.mu.Unlock()
	change()
}

func (f *failing) Append(last traveler.Seq, es []*traveler.Entry, rows []story.Row) error {
	f.mu.Lock()
	entered, leave := f.entered, f.leave
	f.mu.Unlock()
	if entered != nil {
		entered <- struct{}{}
		return <-leave
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.before != nil {
		return f.before
	}
	if f.rows != nil && len(es) == 0 {
		return f.rows
	}
	if err := f.Log.Append(last, es, rows); err != nil {
		return err
	}
	return f.after
}

func (f *failing) Find(id traveler.ScanID) (traveler.Seq, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.read != nil {
		return 0, f.read
	}
	return f.Log.Find(id)
}

func (f *failing) Save(s *story.Snapshot) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.save != nil {
		return f.save
	}
	return f.Log.Save(s)
}

func (f *failing) Reopen() error {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.reopens++
	if f.reopen != nil {
		return f.reopen
	}
	return f.Log.Reopen()
}

var errDisk = traveler.Fail(traveler.KindFull, "store.full", "x")

func TestFailedCommitShowsNothing(t *testing.T) {
	log := &failing{Log: store.NewMem()}
	r := newRig(t, log)
	card := r.release("bracket", "", 50)
	r.kept(worker, r.scan("L1", string(card), traveler.ActSetup))
	before := r.dump()
	changed := r.desk.Changed()

	log.set(func() { log.before = errDisk })
	s := r.scan("L1", string(card), traveler.ActRun)
	_, err := r.desk.Scans(ctx, []story.Said{{By: worker, Scan: s}})
	if traveler.KindOf(err) != traveler.KindFull {
		t.Fatalf("%v", err)
	}
	if _, err := r.desk.Release(ctx, supervisor,
		[]traveler.Release{{ID: r.id(), Part: "bracket", RouteRev: "1", Pieces: 1}},
		nil); traveler.KindOf(err) != traveler.KindFull {
		t.Fatalf("%v", err)
	}
	same(t, "after a failed commit", r.dump(), before)
	if log.reopens == 0 {
		t.Error("the log was not opened again")
	}

	log.set(func() { log.before = nil })
	a := r.kept(worker, s)
	if a.Again {
		t.Error("what was never kept is answered as if it had been")
	}
	<-changed
	r.checkFacts()
}

// TestLostAnswer lets the commit succeed and the answer fail: the device sends
// again and must get the same answer, once.
func TestLostAnswer(t *testing.T) {
	log := &failing{Log: store.NewMem()}
	r := newRig(t, log)
	card := r.release("bracket", "", 50)
	s := r.scan("L1", string(card), traveler.ActSetup)
	log.set(func() { log.after = errors.New("cable") })
	if _, err := r.desk.Scans(ctx, []story.Said{{By: worker, Scan: s}}); err == nil {
		t.Fatal("no error")
	}
	log.set(func() { log.after = nil })
	a := r.one(worker, s)
	r.is(a, traveler.Kept, "")
	if !a.Again || len(a.Family.Visits) != 1 {
		t.Errorf("%+v", a)
	}
	before := r.dump()
	r.reopen()
	same(t, "opened again", r.dump(), before)
}

// TestDecidedOnWhatWasLost holds a commit back until more was decided on top of
// it, and fails it: what came after is decided again and kept.
func TestDecidedOnWhatWasLost(t *testing.T) {
	log := &failing{Log: store.NewMem()}
	r := newRig(t, log)
	card := r.release("bracket", "", 50)
	head, _ := r.desk.Head()
	entered, leave := make(chan struct{}), make(chan error)
	log.set(func() { log.entered, log.leave = entered, leave })

	first, second := r.scan("L1", string(card), traveler.ActSetup),
		r.scan("L1", string(card), traveler.ActRun)
	var clients sync.WaitGroup
	clients.Go(func() {
		if _, err := r.desk.Scans(ctx,
			[]story.Said{{By: worker, Scan: first}}); traveler.KindOf(err) != traveler.KindFull {
			t.Errorf("first: %v", err)
		}
	})
	<-entered
	decided := make(chan traveler.Seq, 2)
	clients.Go(func() {
		a, err := r.desk.ask(ctx, func(w *writer) ([]reply, error) {
			answer, err := w.scan(&story.Said{By: worker, Scan: second}, clean(&second), sighting{at: head})
			decided <- answer.answer.Seq
			return []reply{answer}, err
		})
		if err != nil || a[0].Outcome != traveler.Kept || a[0].Seq != head+1 ||
			len(a[0].Family.Record()) != 2 {
			t.Errorf("second: %+v, %v", a, err)
		}
	})
	if seq := <-decided; seq != head+2 {
		t.Errorf("decided as %d while %d was being kept", seq, head+1)
	}
	log.set(func() { log.entered, log.leave = nil, nil })
	leave <- errDisk
	clients.Wait()
	if now, _ := r.desk.Head(); now != head+1 {
		t.Errorf("head %d, want %d", now, head+1)
	}
	a := r.kept(worker, first)
	if a.Again {
		t.Error("what was never kept is answered as if it had been")
	}
}

func TestLogThatStaysShut(t *testing.T) {
	log := &failing{Log: store.NewMem()}
	r := newRig(t, log)
	card := r.release("bracket", "", 50)
	log.set(func() {
		log.before, log.reopen = errDisk, traveler.Fail(traveler.KindBusy, "store.locked", "x")
	})
	say := func() error {
		_, err := r.desk.Scans(ctx,
			[]story.Said{{By: worker, Scan: r.scan("L1", string(card), traveler.ActSetup)}})
		return err
	}
	if err := say(); traveler.KindOf(err) != traveler.KindFull {
		t.Errorf("first: %v", err)
	}
	if err := say(); traveler.KindOf(err) != traveler.KindBusy {
		t.Errorf("while shut: %v", err)
	}
	if r.family(card) == nil {
		t.Error("readers see nothing while the log is shut")
	}
	log.set(func() { log.before, log.reopen = nil, nil })
	if err := say(); err != nil {
		t.Errorf("open again: %v", err)
	}
}

func TestUnreadableLogFailsTheGroup(t *testing.T) {
	log := &failing{Log: store.NewMem()}
	r := newRig(t, log)
	card := r.release("bracket", "", 50)
	r.reopen()
	log.set(func() { log.read = traveler.Fail(traveler.KindCorrupt, "store.damaged", "x") })
	if _, err := r.desk.Scans(ctx,
		[]story.Said{{By: worker, Scan: r.scan("L1", string(card), traveler.ActSetup)}}); traveler.KindOf(
		err) != traveler.KindCorrupt {
		t.Errorf("%v", err)
	}
	if _, err := r.desk.Release(ctx, supervisor,
		[]traveler.Release{{ID: r.id(), Part: "bracket", RouteRev: "1", Pieces: 1}},
		nil); traveler.KindOf(err) != traveler.KindCorrupt {
		t.Errorf("%v", err)
	}
	log.set(func() { log.read = nil })
	r.kept(worker, r.scan("L1", string(card), traveler.ActSetup))
}

func TestSnapshotThatFails(t *testing.T) {
	log := &failing{Log: store.NewMem()}
	r := newRig(t, log)
	r.opt.SnapshotEvery = 1
	r.reopen()
	card := r.release("bracket", "", 50)
	log.set(func() { log.save = errDisk })
	r.kept(worker, r.scan("L1", string(card), traveler.ActSetup))
	r.kept(worker, r.scan("L1", string(card), traveler.ActRun))
	before := r.dump()
	if err := r.desk.Close(); traveler.KindOf(err) != traveler.KindFull {
		t.Errorf("closing without a snapshot: %v", err)
	}
	log.set(func() { log.save = nil })
	r.open()
	same(t, "opened again", r.dump(), before)
}

// TestPanicIsAnswered lets deciding fail in a way that nobody foresaw.
func TestPanicIsAnswered(t *testing.T) {
	r := newRig(t, store.NewMem())
	card := r.release("bracket", "", 50)
	_, err := r.desk.ask(ctx, func(*writer) ([]reply, error) { panic("a bug") })
	if traveler.KindOf(err) != traveler.KindInternal {
		t.Errorf("%v", err)
	}
	r.kept(worker, r.scan("L1", string(card), traveler.ActSetup))
}

func TestNobodyWaitsForAClosedDesk(t *testing.T) {
	r := newRig(t, store.NewMem())
	r.must(r.desk.Close())
	_, err := r.desk.Scans(ctx, []story.Said{{By: worker, Scan: r.scan("L1", "", traveler.ActOn)}})
	if traveler.KindOf(err) != traveler.KindBusy {
		t.Errorf("%v", err)
	}
	r.must(r.desk.Close())
}

func TestOneWhoGaveUp(t *testing.T) {
	r := newRig(t, store.NewMem())
	gone, cancel := context.WithCancel(ctx)
	cancel()
	s := r.scan("L1", "", traveler.ActOn)
	_, err := r.desk.Scans(gone, []story.Said{{By: worker, Scan: s}})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
	r.is(r.one(worker, s), traveler.Kept, "")
}

// TestManyAtOnce lets clients and readers run beside each other: readers see
// only what is kept, families never go back, and all is there at the end.
func TestManyAtOnce(t *testing.T) {
	log := openFile(t, t.TempDir())
	r := newRig(t, log)
	r.opt.SnapshotEvery = 50
	r.reopen()
	const clients, rounds = 8, 12
	cards := make([]traveler.Code, clients)
	for i := range cards {
		cards[i] = r.release("bracket", "", 1000)
	}
	stop := make(chan struct{})
	var readers, writers sync.WaitGroup
	for range 3 {
		readers.Go(func() {
			last := map[traveler.Code]int{}
			for {
				changed := r.desk.Changed()
				r.desk.Open(func(f *story.Family) bool {
					n := len(f.Record())
					if n < last[f.Root] {
						t.Errorf("%s went back from %d to %d", f.Root, last[f.Root], n)
					}
					last[f.Root] = n
					if head, _ := log.Head(); f.Record()[n-1].Seq > head {
						t.Errorf("%s shows what is not kept", f.Root)
					}
					return true
				})
				select {
				case <-changed:
				case <-stop:
					return
				}
			}
		})
	}
	var n atomic.Uint64
	start := r.hand.now()
	for _, card := range cards {
		writers.Go(func() {
			for range rounds {
				for _, act := range []traveler.Action{traveler.ActSetup, traveler.ActRun, traveler.ActCount} {
					k := n.Add(1)
					s := traveler.Scan{ID: storetest.UUID7(start, 1e6+k),
						At: start.Add(time.Duration(k) * time.Millisecond), Station: "L1", Card: string(card),
						Action: act, Anyway: true}
					if act == traveler.ActCount {
						good(1)(&s)
					}
					a, err := r.desk.Scans(ctx, []story.Said{{By: worker, Scan: s}})
					if err != nil || a[0].Err != nil || a[0].Family == nil {
						t.Errorf("%+v, %v", a, err)
					}
				}
			}
		})
	}
	writers.Wait()
	close(stop)
	readers.Wait()
	want := traveler.Seq(1 + clients + clients*rounds*3)
	if head, _ := r.desk.Head(); head != want {
		t.Errorf("head %d, want %d", head, want)
	}
	before := r.dump()
	r.reopen()
	same(t, "opened again", r.dump(), before)
	r.checkFacts()
}
