package desk

import (
	"errors"
	"sync/atomic"
	"testing"
	"time"

	"tallywalk/store"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// twoClocks are the server's clock, which leaps when someone sets it, and a
// steady one, which does not.
type twoClocks struct {
	*clock
	off atomic.Int64 // how far it leapt; the desk reads it meanwhile
}

func (c *twoClocks) wall() time.Time { return c.now().Add(c.leapt()) }

func (c *twoClocks) leapt() time.Duration { return time.Duration(c.off.Load()) }

// leap sets how far the clock is off.
func (c *twoClocks) leap(to time.Duration) { c.off.Store(int64(to)) }

func (c *twoClocks) steady() time.Duration { return c.now().Sub(time.Time{}.AddDate(2025, 0, 0)) }

func clockRig(t *testing.T) (*rig, *twoClocks) {
	t.Helper()
	r := newRig(t, store.NewMem())
	c := &twoClocks{clock: r.hand}
	r.opt.Now, r.opt.Steady = c.wall, c.steady
	r.reopen()
	return r, c
}

// refusesAll expects that the desk takes nothing, and says why.
func (r *rig) refusesAll(card traveler.Code, key string) {
	r.Helper()
	_, err := r.desk.Scans(ctx,
		[]story.Said{{By: worker, Scan: r.scan("L1", string(card), traveler.ActArrive)}})
	var e *traveler.Error
	if !errors.As(err, &e) || e.Kind != traveler.KindBusy || e.Say.Key != key {
		r.Fatalf("the scan is answered %v, want %s", err, key)
	}
	if d := r.desk.ClockDoubt(); d == nil || d.Key() != key {
		r.Fatalf("the clock is in doubt because of %+v, want %s", d, key)
	}
}

// Muddle 31: the server's own clock jumps by three hours and back.
func TestClockThatLeapsAndComesBack(t *testing.T) {
	for _, c := range []struct {
		leap time.Duration
		key  string
	}{{3 * time.Hour, "clock.forward"}, {-3 * time.Hour, "clock.behind"}} {
		r, clocks := clockRig(t)
		card := r.release("bracket", "", 10)
		r.kept(worker, r.scan("L1", string(card), traveler.ActSetup))
		seq, _ := r.desk.Head()
		clocks.leap(c.leap)
		r.refusesAll(card, c.key)
		clocks.leap(0)
		r.kept(worker, r.scan("L1", string(card), traveler.ActRun))
		if got, _ := r.desk.Head(); got != seq+1 {
			t.Errorf("%v: the record goes from %d to %d, want one entry more", c.leap, seq, got)
		}
		if r.desk.ClockDoubt() != nil {
			t.Errorf("%v: still in doubt", c.leap)
		}
	}
}

// A clock that goes back while nothing was recorded since is seen by the steady
// clock alone.
func TestClockThatGoesBackUnseenByTheRecord(t *testing.T) {
	r, clocks := clockRig(t)
	card := r.release("bracket", "", 10)
	r.hand.pass(5 * time.Hour)
	r.kept(worker, r.scan("L1", string(card), traveler.ActSetup))
	r.hand.pass(5 * time.Hour)
	if r.desk.ClockDoubt() != nil {
		t.Fatal("nothing happened, and yet the clock is in doubt")
	}
	clocks.leap(-3 * time.Hour)
	r.refusesAll(card, "clock.back")
}

// Steps of seconds, as time servers make them, are nobody's affair; arrivals
// never go back.
func TestClockPutRightBySeconds(t *testing.T) {
	r, clocks := clockRig(t)
	card := string(r.release("bracket", "", 10))
	for i := range 20 {
		clocks.leap(clocks.leapt() + 4*time.Second*time.Duration(1-2*(i%2)))
		s := r.scan("L1", card, traveler.ActArrive)
		r.hand.pass(-time.Minute)
		s.At = r.hand.now().Add(-time.Minute)
		r.kept(worker, s)
	}
	var last time.Time
	r.must(r.desk.Entries(1, func(e *traveler.Entry) bool {
		if e.Arrived.Before(last) {
			t.Errorf("entry %d arrived at %s, before %s", e.Seq, e.Arrived, last)
		}
		last = e.Arrived
		return true
	}))
}

// Someone who may says that the clock is right although the record is ahead of
// it; what arrives then stands after what is there, and keeps its own time.
func TestClockTrustedThoughTheRecordIsAhead(t *testing.T) {
	r, clocks := clockRig(t)
	card := r.release("bracket", "", 10)
	r.kept(worker, r.scan("L1", string(card), traveler.ActSetup))
	clocks.leap(-2 * time.Hour)
	r.reopen() // a server started with its clock too early
	r.refusesAll(card, "clock.behind")
	r.desk.TrustClock()
	r.kept(worker, r.scan("L1", string(card), traveler.ActRun))
	f := r.family(card)
	record := f.Record()
	if a, b := record[len(record)-2], record[len(record)-1]; b.Arrived.Before(a.Arrived) {
		t.Errorf("arrived at %s after %s", b.Arrived, a.Arrived)
	}
	clocks.leap(-4 * time.Hour)
	r.refusesAll(card, "clock.back")
}

// A server that ran three days ahead for an hour records again as soon as someone
// says that its clock, put right, is right: no station is asked about its own
// clock, and one that is off itself still is.
func TestClockTrustedDaysBehindTheRecord(t *testing.T) {
	r, clocks := clockRig(t)
	card := string(r.release("bracket", "", 10))
	n := uint64(0)
	now := func(s *traveler.Scan) { n++; s.N, s.At = n, clocks.wall() }
	clocks.leap(72 * time.Hour)
	r.reopen()
	r.kept(worker, r.scan("L1", card, traveler.ActSetup, now))
	clocks.leap(0)
	r.reopen()
	r.refusesAll(traveler.Code(card), "clock.behind")
	r.desk.TrustClock()
	r.kept(worker, r.scan("L1", card, traveler.ActRun, now))
	other := string(r.release("bracket", "", 10))
	r.hand.pass(time.Hour * 3)
	first := r.scan("L1", other, traveler.ActRun, now)
	r.kept(worker, first)
	if l := r.family(traveler.Code(other)).Lines.At(0); !l.At.Equal(first.At) || l.Uncertain {
		t.Errorf("its device spoke in the wrong days: it happened at %s (uncertain %v), want %s", l.At,
			l.Uncertain, first.At)
	}
	r.kept(worker, r.scan("L1", other, traveler.ActCount, good(1), late,
		func(s *traveler.Scan) { s.At = clocks.wall().Add(-2 * time.Hour) }))
	r.reopen()
	r.desk.TrustClock()
	off := r.scan("L1", card, traveler.ActStop,
		func(s *traveler.Scan) { s.At = clocks.wall().AddDate(0, 0, -3) })
	r.is(r.one(worker, off), traveler.Questioned, "time.far")
	for _, l := range r.family(traveler.Code(card)).Lines.All() {
		if asked := l.Fate == story.FateAsked; asked != (l.Entry.Scan.ID == off.ID) {
			t.Errorf("%s after the restart: %s", l.Entry.Scan.Action, l.Fate)
		}
	}
}

// What a device said last bounds its clock, across batches and restarts.
func TestNoDeviceGoesBackBeforeWhatItSaid(t *testing.T) {
	r := newRig(t, store.NewMem())
	one, two := string(r.release("bracket", "", 10)), string(r.release("bracket", "", 10))
	r.hand.pass(5 * time.Hour)
	n := uint64(0)
	say := func(card string, at time.Time) *traveler.Entry {
		n++
		s := r.scan("L1", card, traveler.ActArrive, late)
		s.N, s.At = n, at
		a := r.one(worker, s)
		if a.Err != nil || a.Outcome != traveler.Kept {
			t.Fatalf("scan %d: %s %s %v", n, a.Outcome, a.Say.Text("en"), a.Err)
		}
		var got *traveler.Entry
		r.must(r.desk.Entries(a.Seq, func(e *traveler.Entry) bool { got = e; return false }))
		return got
	}
	spoke := r.hand.now().Add(-10 * time.Minute)
	if e := say(one, spoke); !e.NotBefore.IsZero() {
		t.Errorf("the first scan of a device is bound by %s", e.NotBefore)
	}
	r.reopen()
	e := say(two, spoke.Add(-4*time.Hour))
	if !e.NotBefore.Equal(spoke) {
		t.Errorf("bound by %s, want what it said before, %s", e.NotBefore, spoke)
	}
	f := r.family(traveler.Code(two))
	if l := f.Lines.At(0); !l.At.Equal(spoke) || !l.Uncertain {
		t.Errorf("it happened at %s (uncertain %v), want %s and uncertain", l.At, l.Uncertain, spoke)
	}
	// The counter began again: then it is a new life of the device.
	n = 0
	if e := say(two, r.hand.now()); !e.NotBefore.IsZero() {
		t.Errorf("a new life of the device is bound by %s", e.NotBefore)
	}
}

// A late split that does not fit gives out no card, now or when it is sent
// again; counted by a supervisor, it does.
func TestLateSplitThatAsksGivesNoCard(t *testing.T) {
	r := newRig(t, store.NewMem())
	card := string(r.release("bracket", "", 10))
	s := r.scan("L1", card, traveler.ActSplit, pieces(50), late)
	for range 2 {
		a := r.one(worker, s)
		r.is(a, traveler.Questioned, "split.over")
		if a.Issued != "" {
			t.Errorf("it gave out %s", a.Issued)
		}
	}
}
