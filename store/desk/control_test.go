package desk

import (
	"testing"
	"time"

	"tallywalk/store"
	"tallywalk/traveler"
)

func TestUndoIsInTheStory(t *testing.T) {
	r := newRig(t, store.NewMem())
	card := r.release("bracket", "", 50)
	other := r.release("bracket", "", 50)
	s := r.scan("L1", string(card), traveler.ActSetup)
	r.kept(worker, s)
	// The card at hand is another one: the target says what is meant.
	a := r.kept(worker, r.scan("L1", string(other), traveler.ActUndo, about(string(s.ID))))
	if a.Card != card || len(r.family(card).Visits) != 0 || len(r.family(other).Record()) != 1 {
		t.Errorf("undo went to %s; visits %v", a.Card, r.family(card).Visits)
	}
	e, err := r.log.Get([]traveler.Seq{a.Seq})
	r.must(err)
	if e[0].Target == 0 {
		t.Error("the undo's target is not in the record")
	}
}

// TestCorrectToAnotherBatch corrects a count made with the wrong card, undoes
// the correction, and corrects again.
func TestCorrectToAnotherBatch(t *testing.T) {
	r := newRig(t, store.NewMem())
	wrong, right := r.release("bracket", "", 50), r.release("bracket", "", 50)
	for _, c := range []traveler.Code{wrong, right} {
		r.kept(worker, r.scan("L1", string(c), traveler.ActSetup))
		r.kept(worker, r.scan("L1", string(c), traveler.ActRun))
	}
	count := r.scan("L1", string(wrong), traveler.ActCount, good(7))
	r.kept(worker, count)
	goods := func(w, n int) {
		t.Helper()
		if a, b := r.family(wrong).Visits[0].Good, r.family(right).Visits[0].Good; a != w || b != n {
			t.Errorf("%d good on the wrong card and %d on the right one, want %d and %d", a, b, w, n)
		}
	}
	goods(7, 0)
	first := r.scan("L1", string(right), traveler.ActCorrect, about(string(count.ID)), good(7))
	r.kept(supervisor, first)
	goods(0, 7)
	undo := r.scan("L1", string(right), traveler.ActUndo, about(string(first.ID)))
	r.kept(supervisor, undo)
	goods(7, 0)
	r.kept(supervisor, r.scan("L1", string(right), traveler.ActCorrect, about(string(count.ID)), good(8)))
	goods(0, 8)
	r.kept(supervisor, r.scan("L1", string(wrong), traveler.ActUndo, about(string(count.ID))))
	goods(0, 0)
	before := r.dump()
	r.reopen()
	same(t, "opened again", r.dump(), before)
	r.checkFacts()
}

// TestCorrectedSplitTakesItsCardAlong corrects a split to another family: the
// card that was given out belongs there, and comes back with an undo.
func TestCorrectedSplitTakesItsCardAlong(t *testing.T) {
	r := newRig(t, store.NewMem())
	wrong, right := r.release("bracket", "", 50), r.release("bracket", "", 50)
	r.work("L1", wrong, 50)
	r.work("L1", right, 50)
	split := r.scan("L1", string(wrong), traveler.ActSplit, pieces(20))
	child := r.kept(worker, split).Family.Batches[1].Card
	owner := func(want traveler.Code) {
		t.Helper()
		if f := r.family(child); f.Root != want || f.Index(child) < 0 {
			t.Errorf("the new card belongs to %s, want %s", f.Root, want)
		}
	}
	owner(wrong)
	correct := r.scan("L1", string(right), traveler.ActCorrect, about(string(split.ID)))
	r.kept(supervisor, correct)
	owner(right)
	r.reopen()
	owner(right)
	r.kept(worker, r.scan("M1", string(child), traveler.ActSetup))
	r.kept(supervisor, r.scan("L1", string(right), traveler.ActUndo, about(string(correct.ID))))
	owner(wrong)
	r.reopen()
	owner(wrong)
	before := r.dump()
	r.log = forgetful{r.log}
	r.reopen()
	owner(wrong)
	same(t, "from the whole record", r.dump(), before)
}

func TestRefusedCorrectionStaysAtHome(t *testing.T) {
	r := newRig(t, store.NewMem())
	wrong, right := r.release("bracket", "", 50), r.release("bracket", "", 50)
	s := r.scan("L1", string(wrong), traveler.ActSetup)
	r.kept(worker, s)
	r.is(r.one(worker, r.scan("L1", string(right), traveler.ActCorrect, about(string(s.ID)))),
		traveler.Refused, "role.settle")
	if n := len(r.family(right).Record()); n != 1 {
		t.Errorf("the other batch has %d entries", n)
	}
	r.is(r.one(supervisor, r.scan("L1", "nowhere", traveler.ActCorrect, about(string(s.ID)))),
		traveler.Refused, "card.unknown")
	before := r.dump()
	r.reopen()
	same(t, "opened again", r.dump(), before)
}

// TestLooseScanFindsHome settles scans that came late with a card nobody knows.
func TestLooseScanFindsHome(t *testing.T) {
	r := newRig(t, store.NewMem())
	card := r.release("bracket", "", 50)
	r.kept(worker, r.scan("L1", string(card), traveler.ActSetup))
	r.kept(worker, r.scan("L1", string(card), traveler.ActRun))
	count := r.scan("L1", "what order", traveler.ActCount, good(7), late)
	r.is(r.one(worker, count), traveler.Questioned, "card.unknown")
	r.is(r.one(worker, r.scan("L1", string(card), traveler.ActCorrect, about(string(count.ID)), good(7))),
		traveler.Refused, "role.settle")
	if len(r.desk.Loose()) != 1 || len(r.family(card).Record()) != 3 {
		t.Error("a refused correction took the scan in")
	}
	r.kept(supervisor, r.scan("L1", string(card), traveler.ActCorrect, about(string(count.ID)), good(7)))
	if len(r.desk.Loose()) != 0 || r.family(card).Visits[0].Good != 7 {
		t.Errorf("%d loose, %d good", len(r.desk.Loose()), r.family(card).Visits[0].Good)
	}
	before := r.dump()
	r.reopen()
	same(t, "opened again", r.dump(), before)
	r.log = forgetful{r.log}
	r.reopen()
	same(t, "from the whole record", r.dump(), before)
}

func TestLooseScanIsDropped(t *testing.T) {
	r := newRig(t, store.NewMem())
	lost := func() traveler.Scan {
		s := r.scan("L9", "what order", traveler.ActRun, late)
		r.is(r.one(worker, s), traveler.Questioned, "station.unknown")
		return s
	}
	s := lost()
	drop := func(reason string) traveler.Scan {
		return r.scan("Q1", "what order", traveler.ActDecide, about("scan:"+string(s.ID)), why(reason))
	}
	r.is(r.one(worker, drop("drop")), traveler.Refused, "role.settle")
	r.is(r.one(supervisor, drop("add")), traveler.Refused, "decide.choice")
	if len(r.desk.Loose()) != 1 {
		t.Fatalf("%d loose", len(r.desk.Loose()))
	}
	d := drop("drop")
	r.kept(supervisor, d)
	r.is(r.one(supervisor, r.scan("Q1", "what order", traveler.ActUndo, about(string(d.ID)))),
		traveler.Refused, "control.unknown")
	if len(r.desk.Loose()) != 0 {
		t.Fatalf("%d loose", len(r.desk.Loose()))
	}
	s = lost()
	undo := func() traveler.Scan { return r.scan("L1", "what order", traveler.ActUndo, about(string(s.ID))) }
	r.is(r.one(traveler.Actor{Name: "else", Role: traveler.RoleOperator}, undo()), traveler.Refused,
		"undo.late")
	s = lost()
	r.kept(worker, undo())
	s = lost()
	r.hand.pass(3 * time.Minute)
	r.is(r.one(worker, undo()), traveler.Refused, "undo.late")
	r.kept(supervisor, undo())
	if n := len(r.desk.Loose()); n != 1 {
		t.Errorf("%d loose, want the one that someone else could not take back", n)
	}
	before := r.dump()
	r.log = forgetful{r.log}
	r.reopen()
	same(t, "from the whole record", r.dump(), before)
}
