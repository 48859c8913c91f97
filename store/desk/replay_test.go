package desk

import (
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tallywalk/store"
	"tallywalk/store/storetest"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// TestFamiliesLeaveTheFloor checks that a family that ended days ago is found
// again by card and works order, and comes back when something is said of it.
func TestFamiliesLeaveTheFloor(t *testing.T) {
	r := newRig(t, store.NewMem())
	card := r.release("bracket", "W1", 5)
	twin := r.release("bracket", "W1", 5)
	open := r.release("flange", "W2", 5)
	r.finish(card, 5)
	r.finish(twin, 5)
	before := r.dump()
	r.hand.pass(80 * time.Hour)
	r.reopen()
	r.reopen()
	floor := func() (n int) {
		r.desk.Open(func(f *story.Family) bool {
			n++
			return true
		})
		return n
	}
	if n := floor(); n != 1 {
		t.Fatalf("%d families on the floor, want the open one", n)
	}
	same(t, "off the floor", r.dump(), before)
	r.checkFacts()
	if got := r.desk.FindCard("w1"); len(got) != 2 {
		t.Errorf("W1 leads to %v", got)
	}
	if got := r.desk.FindCard(string(card)); len(got) != 1 || got[0] != card {
		t.Errorf("%s leads to %v", card, got)
	}
	if _, err := r.desk.Release(ctx, supervisor,
		[]traveler.Release{{ID: r.id(), Part: "bracket", RouteRev: "1", Pieces: 1}},
		[]traveler.Code{card}); traveler.KindOf(err) != traveler.KindInvalid {
		t.Errorf("the card was given out again: %v", err)
	}
	f := r.family(card)
	if r.family(card) != f {
		t.Error("a family at hand was folded again")
	}
	a := r.one(worker, r.scan("Q1", string(card), traveler.ActDeliver, pieces(5)))
	r.is(a, traveler.Kept, "")
	if n := floor(); n != 2 || r.family(card) != a.Family || a.Family.Batches[0].Delivered() != 5 {
		t.Errorf("%d families on the floor; %d delivered", n, r.family(card).Batches[0].Delivered())
	}
	_ = open
	before = r.dump()
	r.reopen()
	same(t, "came back", r.dump(), before)
	r.hand.pass(80 * time.Hour)
	r.reopen()
	r.reopen()
	if n := floor(); n != 1 {
		t.Errorf("%d families on the floor", n)
	}
	same(t, "left again", r.dump(), before)
	r.checkFacts()
}

func TestUnknownCard(t *testing.T) {
	r := newRig(t, store.NewMem())
	if f, err := r.desk.Family("B00000019"); traveler.KindOf(err) != traveler.KindNotFound {
		t.Errorf("%v, %v", f, err)
	}
	for _, ref := range []string{"", "B00000019", "no such order", "https://shop.test/s/"} {
		if got := r.desk.FindCard(ref); len(got) != 0 {
			t.Errorf("%q leads to %v", ref, got)
		}
	}
}

func TestShelfKeepsTheLastOnes(t *testing.T) {
	s := shelf{most: 2}
	fam := func(n int) *story.Family { return &story.Family{Root: traveler.Code(fmt.Sprint(n))} }
	s.put("1", fam(1))
	s.put("2", fam(2))
	s.get("1")
	s.put("3", fam(3))
	if s.get("2") != nil || s.get("1") == nil || s.get("3") == nil {
		t.Error("the wrong one left")
	}
	turn := s.turn
	s.remove("1")
	if s.get("1") != nil || s.turn == turn {
		t.Error("what came back to the floor is still at hand")
	}
}

// floorMachine does to a desk what a shop, its clocks and its networks do.
type floorMachine struct {
	*rig
	drawn *storetest.Shift
}

func newMachine(r *rig) *floorMachine {
	return &floorMachine{rig: r, drawn: &storetest.Shift{ID: r.id, Pass: r.hand.pass}}
}

func (m *floorMachine) send(t *rapid.T) {
	said := m.drawn.Send(t, 4)
	a, err := m.desk.Scans(ctx, said)
	m.must(err)
	for i := range a {
		if a[i].Err != nil {
			t.Fatalf("%+v: %v", said[i].Scan, a[i].Err)
		}
	}
	m.drawn.Learn(a)
}

func (m *floorMachine) act(t *rapid.T) {
	switch n := rapid.IntRange(0, 19).Draw(t, "what"); {
	case n == 0:
		part := rapid.SampledFrom([]string{"bracket", "flange"}).Draw(t, "part")
		order := rapid.SampledFrom([]string{"W1", "W2", ""}).Draw(t, "order")
		m.drawn.Cards = append(m.drawn.Cards, m.release(part, order, 20))
	case n == 1:
		m.hand.pass(time.Duration(rapid.IntRange(1, 60).Draw(t, "hours")) * time.Hour)
	case n < 4:
		// Work one through, so that it ends.
		card := rapid.SampledFrom(m.drawn.Cards).Draw(t, "which")
		for _, st := range []string{"L1", "M1", "Q1"} {
			m.sendAll(supervisor, m.scan(st, string(card), traveler.ActRun),
				m.scan(st, string(card), traveler.ActCount, good(20)),
				m.scan(st, string(card), traveler.ActFinish))
		}
	case n == 4:
		before := m.dump()
		m.reopen()
		same(m, "opened again", m.dump(), before)
	default:
		m.send(t)
	}
}

// drawn lets a rig fail the drawn case, not the whole test, so that rapid can
// look for a smaller one.
type drawn struct {
	testing.TB
	rt *rapid.T
}

func (d drawn) Helper()                   { d.rt.Helper() }
func (d drawn) Fatal(args ...any)         { d.rt.Fatal(args...) }
func (d drawn) Fatalf(f string, a ...any) { d.rt.Fatalf(f, a...) }
func (d drawn) Cleanup(func())            {}

// TestLiveIsTheSameAsReplayed is the promise that everything else rests on: at
// any moment, what the desk knows is what it would know from the file alone,
// with the snapshot and without.
func TestLiveIsTheSameAsReplayed(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		rig := newRig(drawn{t, rt}, store.NewMem())
		defer func() { _ = rig.desk.Close() }()
		rig.opt.SnapshotEvery = rapid.SampledFrom([]int{3, 10, 1 << 20}).Draw(rt, "snapshot every")
		rig.opt.Keep = rapid.SampledFrom([]time.Duration{200 * time.Hour, time.Hour}).Draw(rt, "keep")
		rig.opt.ThinEvery = rapid.SampledFrom([]int{2, 7, 1 << 20}).Draw(rt, "thin every")
		rig.reopen()
		m := newMachine(rig)
		m.drawn.Cards = append(m.drawn.Cards, m.release("bracket", "W1", 20))
		for range rapid.IntRange(1, 25).Draw(rt, "steps") {
			m.act(rt)
		}
		live, ledger := m.dump(), m.ledger()
		m.checkFacts()
		m.audited()
		m.reopen()
		same(m, "opened again", m.dump(), live)
		same(m, "ledger", m.ledger(), ledger)
		m.must(m.desk.Close())
		m.log = forgetful{m.log}
		m.open()
		same(m, "from the whole record", m.dump(), live)
		same(m, "ledger from the whole record", m.ledger(), ledger)
		if _, err := store.Verify(unwrap(m.log)); err != nil {
			rt.Fatal(err)
		}
	})
}
