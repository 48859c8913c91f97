package desk

import (
	"path/filepath"
	"slices"
	"testing"

	"tallywalk/store"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// lost is a shop whose record was copied, went on, and was lost: sent are the
// scans that a station made since, with how they were answered.
type lost struct {
	*rig
	card, boxed traveler.Code // the batch, and what a split gave since the copy
	epoch       string
	copyEnd     traveler.Seq
	sent        []traveler.Scan
	answers     []story.Answer
}

func loseRecord(t *testing.T) *lost {
	t.Helper()
	f, to := openFile(t, t.TempDir()), t.TempDir()
	l := &lost{rig: newRig(t, f)}
	l.card = l.release("bracket", "W1", 50)
	l.kept(worker, l.scan("L1", string(l.card), traveler.ActSetup))
	c, err := f.Backup(ctx, to, l.hand.now(), func(int) error { return nil })
	l.must(err)
	l.copyEnd, l.epoch = c.Head, l.desk.Epoch()
	l.say(l.scan("L1", string(l.card), traveler.ActRun))
	l.say(l.scan("L1", string(l.card), traveler.ActCount, good(70))) // more than there are: refused
	l.say(l.scan("L1", string(l.card), traveler.ActCount, good(30)))
	l.say(l.scan("L1", string(l.card), traveler.ActSplit, pieces(10)))
	l.boxed = l.answers[3].Issued
	l.say(l.scan("M1", string(l.boxed), traveler.ActSetup))
	for i, want := range []traveler.Outcome{traveler.Kept, traveler.Refused, traveler.Kept, traveler.Kept,
		traveler.Kept} {
		if l.answers[i].Outcome != want {
			t.Fatalf("scan %d was answered %s %s", i, l.answers[i].Outcome, l.answers[i].Say.Text("en"))
		}
	}
	l.must(l.desk.Close())
	r, err := store.Restore(ctx, c.Path, t.TempDir()+"/new", l.hand.now(), nil)
	l.must(err)
	back, err := store.Open(filepath.Dir(r.Path), store.Options{Must: true})
	l.must(err)
	t.Cleanup(func() { _ = back.Close() })
	l.log = back
	l.open()
	t.Cleanup(func() {
		l.must(l.desk.Close())
		if _, err := store.Verify(back); err != nil {
			t.Error(err)
		}
	})
	return l
}

func (l *lost) say(s traveler.Scan) {
	l.sent, l.answers = append(l.sent, s), append(l.answers, l.one(worker, s))
}

// again is a scan as a station sends it after a restore.
func (l *lost) again(i int) story.Said {
	a := &l.answers[i]
	return story.Said{By: worker, Scan: l.sent[i], Epoch: l.epoch, Before: &story.Before{
		Outcome: a.Outcome, Seq: a.Seq, Issued: a.Issued,
	}}
}

func (l *lost) resend(which ...int) []story.Answer {
	l.Helper()
	var said []story.Said
	for _, i := range which {
		said = append(said, l.again(i))
	}
	a, err := l.desk.Scans(ctx, said)
	l.must(err)
	return a
}

func TestScansComeBackAfterARestore(t *testing.T) {
	l := loseRecord(t)
	if l.desk.Epoch() == l.epoch {
		t.Fatal("the epoch is the old one")
	}
	l.hand.pass(1e12) // a quarter of an hour
	a := l.resend(0, 1, 2, 3, 4)
	for i := range a {
		if a[i].Outcome != l.answers[i].Outcome || a[i].Err != nil || a[i].Again {
			t.Errorf("scan %d: %s %s, was %s", i, a[i].Outcome, a[i].Say.Text("en"), l.answers[i].Outcome)
		}
	}
	if a[1].Say.Key != "scan.before" || a[1].Offer {
		t.Errorf("refused before, and now counted %+v", a[1])
	}
	if a[3].Issued != l.boxed {
		t.Errorf("the split gave %s, and now %s", l.boxed, a[3].Issued)
	}
	f := l.family(l.card)
	if i := f.Index(l.boxed); i < 0 || f.Batches[i].Started != 10 {
		t.Errorf("the box is not there: %+v", f.Batches)
	}
	if n := len(f.Record()); n != 7 {
		t.Errorf("%d entries in the family's record, want 7", n)
	}
	// Sent again: the same answers, nothing twice.
	for i, x := range l.resend(0, 1, 2, 3, 4) {
		if !x.Again || x.Outcome != a[i].Outcome || x.Seq != a[i].Seq || x.Issued != a[i].Issued {
			t.Errorf("again: %+v", x)
		}
	}
	before := l.dump()
	l.reopen()
	same(t, "after opening again", l.dump(), before)
	l.must(l.desk.Close())
	l.log = forgetful{l.log}
	l.open()
	same(t, "folded from the first entry", l.dump(), before)
	// The ledger, made from the record again, knows where the epoch began.
	if v, err := l.log.Row(store.LedgerEpochs, l.desk.Epoch()); err != nil ||
		string(v) != (l.copyEnd+1).String() {
		t.Errorf("the epoch began at %s, %v", v, err)
	}
}

// TestBoxThatWasHeardOfFirst sends a scan of the box, from the mill, before the
// lathe sends the split again that gave its card.
func TestBoxThatWasHeardOfFirst(t *testing.T) {
	l := loseRecord(t)
	a := l.resend(4)
	l.is(a[0], traveler.Questioned, "card.unknown")
	a = l.resend(0, 1, 2, 3)
	if a[3].Outcome != traveler.Kept || a[3].Issued != l.boxed {
		t.Fatalf("%+v", a[3])
	}
	if n := len(l.desk.Loose()); n != 0 {
		t.Errorf("%d scans belong nowhere", n)
	}
	f := l.family(l.boxed)
	if i := slices.IndexFunc(f.Visits, func(v story.Visit) bool { return v.Machine == "M1" }); i < 0 {
		t.Errorf("the box was not set up at the mill: %+v", f.Visits)
	}
	before := l.dump()
	l.must(l.desk.Close())
	l.log = forgetful{l.log}
	l.open()
	same(t, "folded from the first entry", l.dump(), before)
}

// TestHostileBefore tries what a station must not get by saying how its scans
// were answered.
func TestHostileBefore(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(l *lost, s *story.Said)
		check func(t *testing.T, l *lost, a story.Answer)
	}{
		"a card in use": {func(l *lost, s *story.Said) { s.Before.Issued = l.card }, freshCard},
		"no code":       {func(_ *lost, s *story.Said) { s.Before.Issued = "B0000000X" }, freshCard},
		"a machine's code": {func(l *lost, s *story.Said) {
			s.Before.Issued = l.desk.Shop().Machines(l.hand.now())[0].Code
		}, freshCard},
		"in the epoch that is on": {func(l *lost, s *story.Said) { s.Epoch = l.desk.Epoch() }, freshCard},
		"without an epoch":        {func(_ *lost, s *story.Said) { s.Epoch = "" }, freshCard},
		"what the copy has":       {func(l *lost, s *story.Said) { s.Before.Seq = l.copyEnd }, freshCard},
		"never answered":          {func(_ *lost, s *story.Said) { s.Before.Seq = 0 }, freshCard},
		"a lie that it was kept": {func(_ *lost, s *story.Said) {
			s.Scan.Action, s.Scan.Pieces, s.Before.Outcome = traveler.ActCount, 0, traveler.Kept
			n := 70
			s.Scan.Good = &n
		}, func(t *testing.T, _ *lost, a story.Answer) {
			if a.Outcome == traveler.Kept && len(a.Family.Questions()) == 0 {
				t.Errorf("more pieces than there are, kept without a question: %+v", a)
			}
		}},
		"nonsense": {func(_ *lost, s *story.Said) {
			*s.Before = story.Before{Outcome: "gold", Seq: s.Before.Seq, Issued: "?"}
		}, freshCard},
	} {
		t.Run(name, func(t *testing.T) {
			l := loseRecord(t)
			l.resend(0, 2)
			s := l.again(3)
			c.spoil(l, &s)
			a, err := l.desk.Scans(ctx, []story.Said{s})
			l.must(err)
			c.check(t, l, a[0])
		})
	}
}

func freshCard(t *testing.T, l *lost, a story.Answer) {
	t.Helper()
	if a.Issued == "" || a.Issued == l.card || a.Issued == l.boxed {
		t.Errorf("the split gave %q: %+v", a.Issued, a)
	}
	if c, ok := traveler.ParseCode(string(a.Issued)); !ok || c != a.Issued || c.Kind() != traveler.KindBatch {
		t.Errorf("the split gave %q", a.Issued)
	}
}

// TestCopyLaidInPlaceIsNoticed sends a scan of a station that has seen more of the
// epoch than there is.
func TestCopyLaidInPlaceIsNoticed(t *testing.T) {
	r := newRig(t, store.NewMem())
	card := string(r.release("bracket", "W1", 50))
	epoch := r.desk.Epoch()
	end, _ := r.desk.Head()
	say := func(epoch string, basis traveler.Seq) story.Answer {
		s := r.scan("L1", card, traveler.ActCount, good(1))
		s.Basis = basis
		a, err := r.desk.Scans(ctx, []story.Said{{By: worker, Scan: s, Epoch: epoch}})
		r.must(err)
		r.is(a[0], traveler.Kept, "")
		return a[0]
	}
	say(epoch, end)
	say("", 1e6)      // a program that knows of no epochs
	say("other", 1e6) // counted in a record that is not this one
	if r.desk.Epoch() != epoch {
		t.Fatal("an epoch began for nothing")
	}
	end, _ = r.desk.Head()
	a := say(epoch, end+1)
	if a.Seq != end+2 || r.desk.Epoch() == epoch {
		t.Fatalf("the scan is entry %d after %d, epoch %q", a.Seq, end, r.desk.Epoch())
	}
	e, err := r.log.Get([]traveler.Seq{end + 1})
	r.must(err)
	if !e[0].Begins() || e[0].Epoch != r.desk.Epoch() || e[0].Say.Key != "epoch.behind" || e[0].By != worker {
		t.Errorf("%+v", e[0])
	}
	// Nobody can lay another file in its place while it is open: a station that
	// says so again is wrong, and must not make all others send again.
	second := r.desk.Epoch()
	say(second, 1e6)
	if r.desk.Epoch() != second {
		t.Error("an epoch began twice")
	}
	r.reopen()
	say(second, 1e6)
	if r.desk.Epoch() == second {
		t.Error("after it was opened again it went unnoticed")
	}
}

// TestEpochThatWasNotKept loses the group in which the writer began an epoch: the
// next one begins it again.
func TestEpochThatWasNotKept(t *testing.T) {
	log := &failingOnce{Log: store.NewMem()}
	r := newRig(t, log)
	card := string(r.release("bracket", "W1", 50))
	epoch := r.desk.Epoch()
	s := r.scan("L1", card, traveler.ActCount, good(1))
	s.Basis = 1e6
	log.fail = true
	if _, err := r.desk.Scans(ctx,
		[]story.Said{{By: worker, Scan: s, Epoch: epoch}}); traveler.KindOf(err) != traveler.KindFull {
		t.Fatalf("%v", err)
	}
	a, err := r.desk.Scans(ctx, []story.Said{{By: worker, Scan: s, Epoch: epoch}})
	r.must(err)
	r.is(a[0], traveler.Kept, "")
	if r.desk.Epoch() == epoch {
		t.Error("no epoch began")
	}
}

// failingOnce is a log whose next append finds the disk full.
type failingOnce struct {
	story.Log
	fail bool
}

func (f *failingOnce) Append(last traveler.Seq, es []*traveler.Entry, rows []story.Row) error {
	if f.fail {
		f.fail = false
		return traveler.Fail(traveler.KindFull, "store.full", "disk")
	}
	return f.Log.Append(last, es, rows)
}

func (f *failingOnce) Unwrap() story.Log { return f.Log }
