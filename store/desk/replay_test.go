package desk

import (
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tallywalk/store"
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
	if _, err := r.desk.Release(ctx, supervisor, []traveler.Release{{ID: r.id(), Part: "bracket", RouteRev: "1", Pieces: 1}}, []traveler.Code{card}); traveler.KindOf(err) != traveler.KindInvalid {
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
	cards  []traveler.Code
	sent   []story.Said
	counts map[string]uint64
}

func (m *floorMachine) pick(t *rapid.T, list []string, name string) string {
	return rapid.SampledFrom(list).Draw(t, name)
}

func (m *floorMachine) card(t *rapid.T, name string) string {
	if len(m.cards) == 0 || rapid.IntRange(0, 11).Draw(t, name+" odd") == 0 {
		return m.pick(t, []string{"B00000019", "W1", "W2", "nothing"}, name)
	}
	// The same few cards again and again make stories long.
	return string(m.cards[rapid.IntRange(0, min(3, len(m.cards)-1)).Draw(t, name)])
}

func (m *floorMachine) scanOf(t *rapid.T) story.Said {
	act := rapid.SampledFrom([]traveler.Action{
		"arrive", "setup", "run", "stop", "count", "count", "count", "finish", "hold", "free", "split", "join", "move", "send", "receive",
		"decide", "correct", "correct", "undo", "undo", "override", "deliver", "cancel", "on", "off", "firstoff",
	}).Draw(t, "action")
	s := m.scan(m.pick(t, []string{"L1", "L1", "L2", "M1", "M2", "Q1", "nowhere"}, "station"), m.card(t, "card"), act)
	if act == traveler.ActCount || rapid.IntRange(0, 5).Draw(t, "counts") == 0 {
		good(rapid.IntRange(0, 20).Draw(t, "good"))(&s)
		if rapid.Bool().Draw(t, "scrap?") {
			s.Scrap = []traveler.Loss{{Reason: "dim", N: 1}}
		}
	}
	switch act {
	case traveler.ActSplit, traveler.ActSend, traveler.ActReceive, traveler.ActDeliver:
		s.Pieces = rapid.IntRange(0, 12).Draw(t, "pieces")
	case traveler.ActJoin:
		s.For = m.card(t, "other")
	case traveler.ActUndo, traveler.ActCorrect, traveler.ActDecide:
		m.aim(t, &s)
	case traveler.ActMove:
		s.To = "M1"
	}
	s.Anyway = rapid.Bool().Draw(t, "anyway")
	m.counts[string(s.Device)]++
	s.N = m.counts[string(s.Device)]
	if rapid.IntRange(0, 3).Draw(t, "late") == 0 {
		late(&s)
		s.At = s.At.Add(-time.Duration(rapid.IntRange(0, 180).Draw(t, "minutes")) * time.Minute)
	}
	by := rapid.SampledFrom([]traveler.Actor{worker, supervisor, supervisor, {Name: "nobody"}}).Draw(t, "by")
	return story.Said{By: by, Scan: s}
}

// aim lets a control be about a scan that was sent before.
func (m *floorMachine) aim(t *rapid.T, s *traveler.Scan) {
	if len(m.sent) == 0 {
		return
	}
	last := m.sent[max(0, len(m.sent)-12):]
	s.For = string(last[rapid.IntRange(0, len(last)-1).Draw(t, "target")].Scan.ID)
	if s.Action == traveler.ActDecide {
		s.For, s.Reason = "scan:"+s.For, m.pick(t, []string{"add", "drop"}, "choice")
	}
}

func (m *floorMachine) send(t *rapid.T) {
	var said []story.Said
	for range rapid.IntRange(1, 4).Draw(t, "scans") {
		if len(m.sent) > 0 && rapid.IntRange(0, 7).Draw(t, "again") == 0 {
			said = append(said, m.sent[rapid.IntRange(0, len(m.sent)-1).Draw(t, "which")])
			continue
		}
		said = append(said, m.scanOf(t))
		m.sent = append(m.sent, said[len(said)-1])
	}
	a, err := m.desk.Scans(ctx, said)
	m.must(err)
	for i := range a {
		if a[i].Err != nil {
			t.Fatalf("%+v: %v", said[i].Scan, a[i].Err)
		}
		if f := a[i].Family; f != nil && len(f.Batches) > 0 {
			for _, b := range f.Batches[1:] {
				m.cards = union(m.cards, []traveler.Code{b.Card})
			}
		}
	}
}

func (m *floorMachine) act(t *rapid.T) {
	switch n := rapid.IntRange(0, 19).Draw(t, "what"); {
	case n == 0:
		m.cards = append(m.cards, m.release(m.pick(t, []string{"bracket", "flange"}, "part"), m.pick(t, []string{"W1", "W2", ""}, "order"), 20))
	case n == 1:
		m.hand.pass(time.Duration(rapid.IntRange(1, 60).Draw(t, "hours")) * time.Hour)
	case n < 4:
		// Work one through, so that it ends.
		card := m.cards[rapid.IntRange(0, len(m.cards)-1).Draw(t, "which")]
		for _, st := range []string{"L1", "M1", "Q1"} {
			m.sendAll(supervisor, m.scan(st, string(card), traveler.ActRun), m.scan(st, string(card), traveler.ActCount, good(20)), m.scan(st, string(card), traveler.ActFinish))
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
		m := &floorMachine{rig: rig, counts: map[string]uint64{}}
		m.cards = append(m.cards, m.release("bracket", "W1", 20))
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
