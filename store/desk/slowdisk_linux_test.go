package desk

import (
	"context"
	"errors"
	"os"
	"sync/atomic"
	"testing"

	"tallywalk/store"
	"tallywalk/store/storetest"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// slow is a disk on which each write waits until it is let go on.
type slow struct {
	*faulty
	card   traveler.Code
	began  chan struct{} // a write waits
	goOn   chan struct{}
	writes atomic.Int64 // that were let go on
}

func newSlow(t testing.TB) *slow {
	y := &slow{faulty: newFaulty(t), began: make(chan struct{}, 1), goOn: make(chan struct{})}
	y.card = y.release("bracket", "", 1000)
	y.must(y.file.Tables().Put("settings", "0", []byte("kept")))
	y.rests()
	y.disk.Fail(storetest.DiskFault{Slow: func() {
		select {
		case y.began <- struct{}{}:
		default:
		}
		<-y.goOn
		y.writes.Add(1)
	}})
	return y
}

// sent sends a scan and gives what is answered, once it is.
func (y *slow) sent(ctx context.Context, s traveler.Scan) <-chan error {
	out := make(chan error, 1)
	go func() {
		a, err := y.desk.Scans(ctx, []story.Said{{By: worker, Scan: s}})
		if err == nil && a[0].Seq == 0 {
			err = errors.New("it has no place in the record")
		}
		out <- err
	}()
	return out
}

// reads asks for what pages ask for; a read that waited for the disk would never come back.
func (y *slow) reads() {
	y.Helper()
	y.family(y.card)
	y.desk.Open(func(*story.Family) bool { return true })
	y.must(y.desk.Facts(story.FactQuery{Open: true}, func(*story.BatchFact) bool { return true }))
	y.must(y.desk.Entries(1, func(*traveler.Entry) bool { return true }))
	if _, err := store.Verify(y.file); err != nil {
		y.Error(err)
	}
	if _, err := y.file.Tables().Get("settings", "0"); err != nil {
		y.Error(err)
	}
}

// While the disk takes its time, nothing is acknowledged and everything is read; who gave
// up waiting sends it again, and it is there once.
func TestSlowDisk(t *testing.T) {
	t.Parallel()
	y := newSlow(t)
	scan := y.scan("L1", string(y.card), traveler.ActSetup)
	first := y.sent(ctx, scan)
	<-y.began
	impatient, stop := context.WithCancel(ctx)
	second := y.sent(impatient, y.scan("M1", string(y.card), traveler.ActSetup))
	stop()
	if err := <-second; err == nil {
		t.Error("answered before it was safe")
	}
	y.reads()
	select {
	case err := <-first:
		t.Fatalf("answered before it was safe: %v", err)
	default:
	}
	close(y.goOn)
	y.must(<-first)
	before, _ := y.desk.Head()
	y.say(scan)
	if after, _ := y.desk.Head(); after > before+1 { // the second may still have come
		t.Errorf("sent again, and the record goes from %d to %d", before, after)
	}
	y.ends()
	y.whole("on a slow disk", y.dir)
}

// A desk that is closed while the disk is slow ends after what it has begun: what only
// waits is refused, and what was acknowledged is there.
func TestSlowDiskShutdown(t *testing.T) {
	t.Parallel()
	rounds := 2
	if os.Getenv("TALLYWALK_LONG") != "" {
		rounds = 200
	}
	for range rounds {
		closeWhileSlow(t)
	}
}

func closeWhileSlow(t *testing.T) {
	y := newSlow(t)
	all := map[traveler.ScanID]<-chan error{}
	for range 300 {
		s := y.scan("L1", string(y.card), traveler.ActCount, good(1))
		all[s.ID] = y.sent(ctx, s)
	}
	<-y.began
	closed := make(chan error, 1)
	go func() { closed <- y.desk.Close() }()
	for open := true; open; {
		select {
		case y.goOn <- struct{}{}:
		case err := <-closed:
			y.must(err)
			open = false
		}
	}
	// Two groups, what leaves the floor, and a snapshot: each writes a few runs of pages.
	if n := y.writes.Load(); n > 150 {
		t.Errorf("it ended after %d writes", n)
	}
	close(y.goOn)
	taken := 0
	for id, answer := range all {
		if err := <-answer; err == nil {
			seq, err := y.file.Find(id)
			y.must(err)
			y.acked[id] = seq
			taken++
		} else if traveler.KindOf(err) != traveler.KindBusy {
			t.Errorf("%s: %v", id, err)
		}
	}
	t.Logf("%d of 300 taken, %d writes", taken, y.writes.Load())
	y.ends()
	y.whole("after the end on a slow disk", y.dir)
}
