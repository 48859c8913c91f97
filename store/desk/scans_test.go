package desk

import (
	"errors"
	"testing"
	"time"

	"tallywalk/store"
	"tallywalk/traveler"
)

func TestScanIsAnsweredWithItsFamily(t *testing.T) {
	r := newRig(t, store.NewMem())
	card := r.release("bracket", "W1", 50)
	a := r.kept(worker, r.scan("L1", string(card), traveler.ActSetup))
	if a.Card != card || a.Family == nil || len(a.Family.Visits) != 1 {
		t.Fatalf("%+v", a)
	}
	head, _ := r.desk.Head()
	if a.Seq != head || r.family(card) != a.Family {
		t.Errorf("the answer is not what is shown: sequence %d of %d", a.Seq, head)
	}
	e, err := r.log.Get([]traveler.Seq{a.Seq})
	r.must(err)
	if e[0].Machine != "L1" || e[0].Card != card || e[0].By != worker || !e[0].Arrived.Equal(r.hand.now()) {
		t.Errorf("kept %+v", e[0])
	}
}

func TestFirstEntryNamesTheEpoch(t *testing.T) {
	r := newRig(t, store.NewMem())
	e, err := r.log.Get([]traveler.Seq{1})
	r.must(err)
	if e[0].Epoch == "" || e[0].Epoch != r.desk.Epoch() {
		t.Errorf("epoch %q in the first entry of %q", e[0].Epoch, r.desk.Epoch())
	}
}

func TestScanAgain(t *testing.T) {
	r := newRig(t, store.NewMem())
	card := string(r.release("bracket", "", 50))
	s := r.scan("L1", card, traveler.ActSetup)
	first := r.kept(worker, s)
	refused := r.scan("L9", card, traveler.ActRun)
	no := r.one(worker, refused)
	r.is(no, traveler.Refused, "station.unknown")
	for range 2 {
		again := s
		// The same moment, said by a device in another zone and more exactly.
		again.At = s.At.In(time.FixedZone("", 3600)).Add(200 * time.Microsecond)
		again.Scrap = []traveler.Loss{}
		a := r.one(traveler.Actor{Name: "another way in", Role: traveler.RoleOperator}, again)
		r.is(a, traveler.Kept, "")
		if !a.Again || a.Seq != first.Seq || a.Family == nil {
			t.Errorf("again: %+v", a)
		}
		b := r.one(worker, refused)
		r.is(b, traveler.Refused, "station.unknown")
		if !b.Again || b.Seq != no.Seq {
			t.Errorf("refused again: %+v", b)
		}
		r.reopen()
	}
	other := s
	other.Note = "something else"
	if a := r.one(worker, other); traveler.KindOf(a.Err) != traveler.KindConflict {
		t.Errorf("another body under the same id: %+v", a)
	}
	release := s
	a, err := r.desk.Release(ctx, supervisor,
		[]traveler.Release{{ID: release.ID, Part: "bracket", RouteRev: "1", Pieces: 3}}, nil)
	if traveler.KindOf(err) != traveler.KindConflict {
		t.Errorf("a release under a scan's id: %+v, %v", a, err)
	}
}

func TestSameScanTwiceInOneSending(t *testing.T) {
	r := newRig(t, store.NewMem())
	card := string(r.release("bracket", "", 50))
	s := r.scan("L1", card, traveler.ActSetup)
	changed := s
	changed.Note = "x"
	a := r.sendAll(worker, s, s, changed)
	r.is(a[0], traveler.Kept, "")
	r.is(a[1], traveler.Kept, "")
	if a[0].Again || !a[1].Again || a[0].Seq != a[1].Seq {
		t.Errorf("%+v", a)
	}
	if traveler.KindOf(a[2].Err) != traveler.KindConflict {
		t.Errorf("%+v", a[2])
	}
}

func TestMalformedScanIsNotKept(t *testing.T) {
	r := newRig(t, store.NewMem())
	card := string(r.release("bracket", "", 50))
	before, _ := r.desk.Head()
	bad := r.scan("L1", card, "dance")
	a := r.sendAll(worker, bad, r.scan("L1", card, traveler.ActSetup))
	var e *traveler.Error
	if !errors.As(a[0].Err, &e) || e.Kind != traveler.KindInvalid || e.Field != "action" {
		t.Errorf("%+v", a[0])
	}
	r.is(a[1], traveler.Kept, "")
	if after, _ := r.desk.Head(); after != before+1 {
		t.Errorf("%d entries kept", after-before)
	}
}

// TestStranger sends scans that name what nobody knows: refused to a person who
// waits, kept as a loose question when they come late.
func TestStranger(t *testing.T) {
	r := newRig(t, store.NewMem())
	card := string(r.release("bracket", "W1", 50))
	r.release("bracket", "W2", 50)
	r.release("bracket", "W2", 50)
	machine := string(r.desk.Shop().Machines(r.hand.now())[0].Code)
	for _, c := range []struct{ station, card, key string }{
		{"L9", card, "station.unknown"},
		{machine[:8] + "?", card, "station.unknown"},
		{"L1", "B0000000" + "0", "card.unknown"},
		{"L1", "no such order", "card.unknown"},
		{"L1", machine, "card.kind"},
		{"L1", "w2", "card.several"},
	} {
		loose := len(r.desk.Loose())
		r.is(r.one(worker, r.scan(c.station, c.card, traveler.ActRun)), traveler.Refused, c.key)
		if len(r.desk.Loose()) != loose {
			t.Errorf("%s: a refused scan is loose", c.key)
		}
		a := r.one(worker, r.scan(c.station, c.card, traveler.ActRun, late))
		r.is(a, traveler.Questioned, c.key)
		all := r.desk.Loose()
		if len(all) != loose+1 || all[loose].Seq != a.Seq {
			t.Errorf("%s: loose %d after %d", c.key, len(all), loose)
		}
	}
	if f := r.family(r.desk.FindCard("W1")[0]); len(f.Record()) != 1 {
		t.Errorf("the batch heard of scans that were not about it: %d entries", len(f.Record()))
	}
}

func TestCardsAndStationsAreFoundAsTyped(t *testing.T) {
	r := newRig(t, store.NewMem())
	card := string(r.release("bracket", "W-17", 50))
	machine := string(r.desk.Shop().Machines(r.hand.now())[0].Code)
	for _, c := range [][2]string{
		{"L1", card}, {machine, card}, {"L1", card + "/10"}, {"L1", "HTTPS://SHOP.TEST:8080/S/" + card},
		{"L1", "w-17"},
		{"L1", card[:1] + " " + card[1:5] + "-" + card[5:]},
	} {
		a := r.one(worker, r.scan(c[0], c[1], traveler.ActSetup))
		r.is(a, traveler.Kept, "")
		if string(a.Card) != card {
			t.Errorf("%s is %s", c[1], a.Card)
		}
	}
}

func TestWorksOrderMeansTheOpenBatch(t *testing.T) {
	r := newRig(t, store.NewMem())
	done := r.release("bracket", "W1", 5)
	r.finish(done, 5)
	if got := r.desk.FindCard("W1"); len(got) != 1 || got[0] != done {
		t.Errorf("the only batch, finished: %v", got)
	}
	open := r.release("bracket", "W1", 5)
	a := r.kept(worker, r.scan("L1", "W1", traveler.ActSetup))
	if a.Card != open {
		t.Errorf("W1 is %s, want the open %s", a.Card, open)
	}
	if got := r.desk.FindCard("w1"); len(got) != 1 || got[0] != open {
		t.Errorf("found %v", got)
	}
}

func TestScanFromTheFuture(t *testing.T) {
	r := newRig(t, store.NewMem())
	card := string(r.release("bracket", "", 50))
	s := r.scan("L1", card, traveler.ActSetup)
	soon := s.At.Add(25 * time.Hour)
	s.Happened = &soon
	r.is(r.one(worker, s), traveler.Refused, "time.future")
	s.ID, s.Happened, s.At = r.id(), nil, soon
	r.is(r.one(worker, s), traveler.Questioned, "time.far")
	// The measured offset says that the device's clock runs ahead.
	s.ID, s.OffsetMS = r.id(), -int64(25*time.Hour/time.Millisecond)
	r.is(r.one(worker, s), traveler.Kept, "")
	l := r.scan("L1", card, traveler.ActRun, late)
	l.At = l.At.Add(300 * 24 * time.Hour)
	r.is(r.one(worker, l), traveler.Kept, "")
	if f := r.family(traveler.Code(card)); f.Last().After(r.hand.now()) {
		t.Errorf("the story goes on to %s", f.Last())
	}
}

func TestSplitGivesACard(t *testing.T) {
	r := newRig(t, store.NewMem())
	card := r.release("bracket", "", 50)
	r.kept(worker, r.scan("L1", string(card), traveler.ActSetup))
	a := r.one(worker, r.scan("L1", string(card), traveler.ActSplit, pieces(500)))
	r.is(a, traveler.Refused, "split.over")
	r.work("L1", card, 30)
	a = r.kept(worker, r.scan("L1", string(card), traveler.ActSplit, pieces(20)))
	if len(a.Family.Batches) != 2 {
		t.Fatalf("%d batches", len(a.Family.Batches))
	}
	child := a.Family.Batches[1].Card
	if c, ok := traveler.ParseCode(string(child)); !ok || c != child || c.Kind() != traveler.KindBatch {
		t.Errorf("the new card is %q", child)
	}
	b := r.kept(worker, r.scan("M2", string(child), traveler.ActSetup))
	if b.Card != child || b.Family.Root != card {
		t.Errorf("the new card leads to %s, %s", b.Card, b.Family.Root)
	}
	r.reopen()
	if f := r.family(child); f.Root != card {
		t.Errorf("after opening again the new card leads to %s", f.Root)
	}
}

func TestJoinFindsTheOtherCard(t *testing.T) {
	r := newRig(t, store.NewMem())
	card := r.release("bracket", "", 50)
	r.work("L1", card, 50)
	child := r.kept(worker, r.scan("L1", string(card), traveler.ActSplit, pieces(20))).Family.Batches[1].Card
	a := r.kept(worker, r.scan("M1", string(card), traveler.ActJoin, about(string(child))))
	if a.Family.Batches[1].Joined != card {
		t.Errorf("joined to %q", a.Family.Batches[1].Joined)
	}
	stranger := r.release("flange", "", 5)
	r.is(r.one(worker, r.scan("M1", string(card), traveler.ActJoin, about(string(stranger)))),
		traveler.Refused, "join.stranger")
}

func TestComingAndLeaving(t *testing.T) {
	r := newRig(t, store.NewMem())
	on := r.scan("L1", "", traveler.ActOn)
	r.kept(worker, on)
	r.kept(worker, r.scan("L1", "", traveler.ActOff))
	if l := r.desk.Loose(); len(l) != 2 || l[0].Machine != "L1" || l[0].Scan.ID != on.ID {
		t.Errorf("%+v", l)
	}
	r.hand.pass(100 * time.Hour)
	r.reopen()
	r.kept(worker, r.scan("L1", "", traveler.ActOn))
	if l := r.desk.Loose(); len(l) != 1 {
		t.Errorf("%d came and left, days ago", len(l))
	}
}
