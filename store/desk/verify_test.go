package desk

import (
	"errors"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"tallywalk/store"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

func noStep(traveler.Seq) error { return nil }

// audited holds the ledger to one that is made again from the record.
func (r *rig) audited() *Audit {
	r.Helper()
	a, err := verifyLedger(unwrap(r.log), Options{ThinEvery: r.opt.ThinEvery, Keep: r.opt.Keep}, noStep)
	r.must(err)
	if len(a.Faults) > 0 || a.Unmade {
		r.Fatalf("unmade %v; %v", a.Unmade, a.Faults)
	}
	return a
}

// shelved is a rig of which two batches are off the floor, and one on it.
func shelved(t *testing.T) (r *rig, off, on traveler.Code) {
	r = newRig(t, store.NewMem())
	off = r.release("bracket", "W1", 5)
	r.finish(off, 5)
	r.finish(r.release("flange", "W1", 5), 5)
	on = r.release("flange", "W2", 5)
	r.hand.pass(80 * time.Hour)
	r.reopen()
	r.reopen()
	return r, off, on
}

// keyOf is the key of a row of a batch.
func keyOf(r *rig, bucket string, card traveler.Code) (key string) {
	r.Helper()
	r.must(r.log.Rows(bucket, func(k string, _ []byte) bool {
		if strings.HasSuffix(k, string(card)) {
			key = k
		}
		return true
	}))
	if key == "" {
		r.Fatalf("%s has no row of %s", bucket, card)
	}
	return key
}

// TestLedgerIsHeldToTheRecord checks that each row that was changed, removed or added is
// named with its bucket and its batch, and no other.
func TestLedgerIsHeldToTheRecord(t *testing.T) {
	r, off, _ := shelved(t)
	if a := r.audited(); a.Rows == 0 || a.Stale != 0 || a.Returned != 0 {
		t.Fatalf("%+v", a)
	}
	foreign := store.LedgerRow("", "", traveler.Code("B00000019")).Value
	for _, c := range []struct{ what, bucket, key, named string }{
		{"changed", store.LedgerFacts, keyOf(r, store.LedgerFacts, off), string(off)},
		{"missing", store.LedgerFacts, keyOf(r, store.LedgerFacts, off), string(off)},
		{"extra", store.LedgerFacts, factFrom("bracket", r.hand.now()) + "B00000019", "B00000019"},
		{"changed", ledgerFamilies, string(off), string(off)},
		{"missing", ledgerFamilies, string(off), string(off)},
		{"extra", ledgerFamilies, "B00000019", "B00000019"},
		{"changed", ledgerCards, string(off), string(off)},
		{"missing", ledgerCards, string(off), string(off)},
		{"extra", ledgerCards, "B00000019", "B00000019"},
		{"changed", ledgerOrders, "W1", "W1"},
		{"missing", ledgerOrders, "W1", "W1"},
		{"extra", ledgerOrders, "W9", "W9"},
		{"missing", ledgerUsed, "bracket\x001", "bracket 1"},
		{"extra", ledgerUsed, "bracket\x002", "bracket 2"},
		{"extra", ledgerAdopted, "3", "3"},
		{"extra", store.LedgerEpochs, "0123456789abcdef", "0123456789abcdef"},
	} {
		was, err := r.log.Row(c.bucket, c.key)
		r.must(err)
		row := story.Row{Bucket: c.bucket, Key: c.key}
		switch {
		case c.what == "missing":
		case c.bucket == ledgerFamilies:
			row = store.LedgerRow(c.bucket, c.key, familyRow{Seqs: []traveler.Seq{2}})
		case c.bucket == ledgerOrders:
			row = store.LedgerRow(c.bucket, c.key, []traveler.Code{"B00000019"})
		case c.what == "changed" && c.bucket == store.LedgerFacts:
			row.Value = append([]byte{was[0] ^ 1}, was[1:]...)
		default:
			row.Value = foreign
		}
		r.put(row)
		a, err := VerifyLedger(r.log, noStep)
		r.must(err)
		if len(a.Faults) != 1 {
			t.Errorf("%s, %s: %v", c.what, c.bucket, a.Faults)
		}
		for _, err := range a.Faults {
			say := sayOf(err)
			if say.Key != "store.verify.row."+c.what || say.Args[0] != c.bucket ||
				!strings.Contains(say.Args[1], c.named) {
				t.Errorf("%s, %s: %s", c.what, c.bucket, say.Text("en"))
			}
		}
		r.put(story.Row{Bucket: c.bucket, Key: c.key, Value: was})
	}
	r.audited()
}

// put writes a row as no desk does.
func (r *rig) put(row story.Row) {
	r.Helper()
	seq, _ := r.log.Head()
	r.must(r.log.Append(seq, nil, []story.Row{row}))
}

// TestReturnedRowsAreLetBe checks that rows of a family that came back to the floor are
// let be, but not one that is gone.
func TestReturnedRowsAreLetBe(t *testing.T) {
	r, off, _ := shelved(t)
	r.kept(worker, r.scan("Q1", string(off), traveler.ActDeliver, pieces(5)))
	if a := r.audited(); a.Returned != 1 {
		t.Errorf("%+v", a)
	}
	key := keyOf(r, store.LedgerFacts, off)
	was, err := r.log.Row(store.LedgerFacts, key)
	r.must(err)
	r.put(story.Row{Bucket: store.LedgerFacts, Key: key})
	if a, err := VerifyLedger(r.log, noStep); err != nil || len(a.Faults) != 1 {
		t.Errorf("%v, %+v", err, a)
	}
	r.put(story.Row{Bucket: store.LedgerFacts, Key: key, Value: was})
}

// TestStaleRowsAreLetBe checks that what a change of the shop made old is no fault while
// it is still to be made again, and compared once it is.
func TestStaleRowsAreLetBe(t *testing.T) { synctest.Test(t, staleLetBe) }

func staleLetBe(t *testing.T) {
	r, log := staleRig(t)
	synctest.Wait()
	if a, err := VerifyLedger(log.Log, noStep); err != nil || len(a.Faults) != 0 || a.Stale != 1 {
		t.Errorf("%v, %+v", err, a)
	}
	log.set(func() { log.rows = nil })
	r.release("bracket", "", 2)
	synctest.Wait()
	if a, err := VerifyLedger(log.Log, noStep); err != nil || len(a.Faults) != 0 || a.Stale != 0 {
		t.Errorf("%v, %+v", err, a)
	}
}

// TestWrongSnapshotIsNamed checks that a family whose sequences the snapshot has wrong
// is named.
func TestWrongSnapshotIsNamed(t *testing.T) {
	r, _, on := shelved(t)
	s, err := r.log.Load()
	r.must(err)
	was := s.Open[on]
	s.Open[on] = append([]traveler.Seq{2}, was...)
	r.must(r.log.Save(s))
	a, err := VerifyLedger(r.log, noStep)
	if err != nil || len(a.Faults) != 1 || sayOf(a.Faults[0]).Args[1] != string(on) {
		t.Errorf("%v, %+v", err, a)
	}
	s.Open[on] = was
	r.must(r.log.Save(s))
	r.audited()
}

// sayOf is what an error of ours says.
func sayOf(err error) (m traveler.Msg) {
	if ours := (*traveler.Error)(nil); errors.As(err, &ours) {
		m = ours.Say
	}
	return m
}

// TestLegible says keys of damaged pages in one line.
func TestLegible(t *testing.T) {
	for key, want := range map[string]string{
		"1001-04 B1": "1001-04 B1", "Größe": "Größe", "a\x00b\nc\xff": "a·b·c·",
		strings.Repeat("x", 5000): strings.Repeat("x", 80) + "…",
	} {
		if got := legible(key); got != want {
			t.Errorf("%q is said as %q, want %q", key, got, want)
		}
	}
}
