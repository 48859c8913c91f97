package desk

import (
	"testing"
	"testing/synctest"
	"time"

	"tallywalk/store"
	"tallywalk/store/storetest"
	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
	"tallywalk/traveler/story"
)

// TestLedgerFollowsTheShop checks that a change of shop that holds from before
// reaches families that are off the floor, also when the desk is closed in the
// midst of it, and when the whole record is replayed.
func TestLedgerFollowsTheShop(t *testing.T) { synctest.Test(t, ledgerFollows) }

func ledgerFollows(t *testing.T) {
	r := newRig(t, store.NewMem())
	start := r.hand.pass(time.Minute)
	for range 3*staleMade + 1 {
		r.finish(r.release("bracket", "", 2), 2)
	}
	left := r.release("bracket", "", 2)
	r.kept(worker, r.scan("L1", string(left), traveler.ActRun))
	r.hand.pass(20 * time.Hour)
	r.work("L1", left, 2)
	r.work("M1", left, 2)
	r.work("Q1", left, 2)
	r.hand.pass(80 * time.Hour)
	r.reopen()
	r.reopen()
	sums := func() (metres, cut float64) {
		r.must(r.desk.Facts(story.FactQuery{}, func(b *story.BatchFact) bool {
			metres += b.Metres
			for i := range b.Visits {
				cut += b.Visits[i].Closed.Minutes()
			}
			return true
		}))
		return metres, cut
	}
	metres, cut := sums()
	if metres == 0 || cut != 0 {
		t.Fatalf("%v m, %v min", metres, cut)
	}
	moved := storetest.Shop().Machines[2]
	moved.X += 50
	r.must(r.desk.Change(ctx, supervisor, &traveler.Change{From: start, Machines: []traveler.Machine{moved}}))
	r.reopen()
	synctest.Wait()
	further, _ := sums()
	if further <= metres {
		t.Errorf("a mill was 50 m further off, and the walks are %v m, after %v m", further, metres)
	}
	r.checkFacts()

	// The first hours of a calendar hold from ever; the machines keep to it from
	// the day they are said to.
	closed := calendar.Calendar{Name: "never", Zone: "UTC",
		Turns: []calendar.Turn{{Kind: "shift", Days: "mon", From: "00:00", To: "00:01"}}}
	kept := storetest.Shop().Machines
	for i := range kept {
		kept[i].Calendar = "never"
	}
	r.must(r.desk.Change(ctx, supervisor,
		&traveler.Change{From: start, Machines: kept, Calendars: []calendar.Calendar{closed}}))
	synctest.Wait()
	if _, cut := sums(); cut == 0 {
		t.Error("nothing was cut of runs in closed time")
	}
	r.checkFacts()

	// The snapshot does not fit any more: all is folded again, and families leave
	// the floor before the later change is read.
	r.opt.ThinEvery = 1
	r.must(r.desk.Close())
	r.must(r.log.Save(&story.Snapshot{}))
	r.open()
	synctest.Wait()
	r.checkFacts()
}

// TestLedgerWaitsForTheDisk checks that rows which cannot be made again now are
// left alone until something was kept again.
func TestLedgerWaitsForTheDisk(t *testing.T) { synctest.Test(t, ledgerWaits) }

// staleRig is a rig whose ledger has a stale row that cannot be made again now.
func staleRig(t *testing.T) (*rig, *failing) {
	log := &failing{Log: store.NewMem()}
	r := newRig(t, log)
	start := r.hand.pass(time.Minute)
	r.finish(r.release("bracket", "", 2), 2)
	r.hand.pass(80 * time.Hour)
	r.reopen()
	r.reopen()
	log.set(func() { log.rows = errDisk })
	moved := storetest.Shop().Machines[2]
	moved.X += 50
	r.must(r.desk.Change(ctx, supervisor, &traveler.Change{From: start, Machines: []traveler.Machine{moved}}))
	return r, log
}

func ledgerWaits(t *testing.T) {
	r, log := staleRig(t)
	tries := func() (n int) {
		log.set(func() { n = log.reopens })
		return n
	}
	synctest.Wait()
	if n := tries(); n != 1 {
		t.Errorf("opened again %d times", n)
	}
	log.set(func() { log.rows = nil })
	r.release("bracket", "", 2)
	synctest.Wait()
	r.checkFacts()
}
