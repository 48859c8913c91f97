package desk

import (
	"fmt"
	"math/rand/v2"
	"os"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// stepped is a shift during which the server's clock is set again and again. What it
// expects is the contract of serverClock, kept a second time beside it.
type stepped struct {
	*rig
	clocks  *twoClocks
	r       *rand.Rand
	agreed  time.Duration // how far the clock was off when it was last believed
	trusted time.Time     // up to here the record may be ahead
	fresh   bool          // since the start nothing was compared
	kept    []traveler.Scan
	acked   map[traveler.ScanID]traveler.Seq
	refused int
}

// doubted is whether the desk must not believe its clock now.
func (y *stepped) doubted() bool {
	newest := time.Time{}
	y.must(y.desk.Entries(1, func(e *traveler.Entry) bool { newest = e.Arrived; return true }))
	if newest.Sub(y.clocks.wall()) > clockSlack && newest.After(y.trusted) {
		return true
	}
	return !y.fresh && (y.clocks.leapt()-y.agreed).Abs() > clockSlack
}

// send says what a station has kept, and keeps what is not taken.
func (y *stepped) send() {
	doubted := y.doubted()
	for len(y.kept) > 0 {
		s := y.kept[0]
		a, err := y.desk.Scans(ctx, []story.Said{{By: worker, Scan: s}})
		if doubted != (err != nil) || doubted != (y.desk.ClockDoubt() != nil) {
			y.Fatalf("the clock is off by %v and was by %v: %v, doubt %+v", y.clocks.leapt(), y.agreed, err,
				y.desk.ClockDoubt())
		}
		if doubted {
			if traveler.KindOf(err) != traveler.KindBusy {
				y.Fatalf("refused with %v", err)
			}
			y.refused++
			return
		}
		y.agreed, y.fresh = y.clocks.leapt(), false
		y.acked[s.ID] = a[0].Seq
		y.kept = y.kept[1:]
	}
}

// happen lets something befall the clock.
func (y *stepped) happen() {
	step := func(largest time.Duration) time.Duration {
		return time.Duration(y.r.Int64N(int64(2*largest))) - largest
	}
	switch y.r.IntN(10) {
	case 0, 1:
		y.clocks.leap(y.clocks.leapt() + step(2*time.Second))
	case 2:
		y.clocks.leap(y.clocks.leapt() + step(10*time.Minute))
	case 3:
		y.clocks.leap(y.clocks.leapt() + step(12*time.Hour))
	case 4:
		y.clocks.leap(y.clocks.leapt() + step(5*24*time.Hour))
	case 5:
		y.clocks.leap(0)
	case 6:
		y.reopen()
		y.fresh, y.trusted = true, time.Time{}
	case 7:
		if y.desk.ClockDoubt() != nil { // someone looks, and says that it is right
			y.must(y.desk.Entries(1, func(e *traveler.Entry) bool { y.trusted = e.Arrived; return true }))
			y.desk.TrustClock()
			y.agreed, y.fresh = y.clocks.leapt(), false
		}
	default:
		y.hand.pass(time.Duration(y.r.IntN(50)) * time.Minute)
	}
}

func stepClock(t *testing.T, seed uint64) (refused int) {
	r, clocks := clockRig(t)
	r.opt.SnapshotEvery = 15
	r.reopen()
	y := &stepped{rig: r, clocks: clocks, r: rand.New(rand.NewPCG(seed, 3)), fresh: true,
		acked: map[traveler.ScanID]traveler.Seq{}}
	cards := []traveler.Code{r.release("bracket", "", 20), r.release("bracket", "", 20),
		r.release("bracket", "", 20)}
	y.fresh = false
	at := map[traveler.ScanID]time.Time{}
	for range 60 {
		y.happen()
		acts := []traveler.Action{traveler.ActSetup, traveler.ActRun, traveler.ActCount, traveler.ActFinish}
		s := r.scan([]string{"L1", "M1", "Q1"}[y.r.IntN(3)], string(cards[y.r.IntN(3)]), acts[y.r.IntN(4)],
			good(y.r.IntN(3)))
		at[s.ID] = s.At
		y.kept = append(y.kept, s)
		y.send()
	}
	clocks.leap(0)
	r.desk.TrustClock()
	y.must(y.desk.Entries(1, func(e *traveler.Entry) bool { y.trusted = e.Arrived; return true }))
	y.agreed = 0
	y.send()
	y.whole(at)
	return y.refused
}

// whole checks that arrivals never go back, that each scan is there once with its own
// time, and that the record gives the same shop again.
func (y *stepped) whole(at map[traveler.ScanID]time.Time) {
	last, seen := time.Time{}, map[traveler.ScanID]traveler.Seq{}
	y.must(y.desk.Entries(1, func(e *traveler.Entry) bool {
		if e.Arrived.Before(last) {
			y.Errorf("entry %d arrived at %s, before %s", e.Seq, e.Arrived, last)
		}
		last = e.Arrived
		if e.Scan != nil {
			if seen[e.ID()] != 0 || !e.Scan.At.Equal(at[e.ID()]) {
				y.Errorf("entry %d: %s of %s is there twice, or was said at %s", e.Seq, e.ID(), e.Scan.At,
					at[e.ID()])
			}
			seen[e.ID()] = e.Seq
		}
		return true
	}))
	for id := range at {
		if y.acked[id] == 0 || seen[id] != y.acked[id] {
			y.Errorf("%s is entry %d and was acknowledged as %d", id, seen[id], y.acked[id])
		}
	}
	before := y.dump()
	y.reopen()
	same(y, "opened again", y.dump(), before)
	audit, err := VerifyLedger(y.log, func(traveler.Seq) error { return nil })
	if err != nil || len(audit.Faults) > 0 {
		y.Errorf("the ledger: %v %v", err, audit.Faults)
	}
}

// TestClockSteps steps the server's clock at random while a shift scans, forward and back,
// by seconds to days, with restarts between.
func TestClockSteps(t *testing.T) {
	t.Parallel()
	rounds := 15
	if os.Getenv("TALLYWALK_LONG") != "" {
		rounds = 1000
	}
	refused := 0
	for seed := range uint64(rounds) {
		t.Run(fmt.Sprint(seed), func(t *testing.T) { refused += stepClock(t, seed) })
	}
	if refused < rounds {
		t.Errorf("only %d scans were refused in %d rounds", refused, rounds)
	}
}
