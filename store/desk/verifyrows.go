package desk

import (
	"bytes"
	"cmp"
	"encoding/json"
	"maps"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"tallywalk/store"
	"tallywalk/traveler"
)

// rows compares the rows of the ledger, a bucket at a time: families first, since they
// say which facts are compared.
func (a *audit) rows() error {
	a.let = map[string]*int{}
	for _, b := range []struct {
		name string
		row  func(key string, v, made []byte)
		may  func(key string, made []byte) bool // whether a row that was made may be missing
	}{
		{ledgerFamilies, a.familyRow,
			func(root string, made []byte) bool { return a.mayMissFamily(traveler.Code(root), made) }},
		{store.LedgerFacts, a.factRow, never},
		{ledgerCards, a.cardRow, func(_ string, made []byte) bool { return a.isBackOf(made) }},
		{ledgerOrders, a.orderRow, a.mayMissOrder},
		{ledgerUsed, a.sameRow(ledgerUsed), never},
		{ledgerAdopted, a.sameRow(ledgerAdopted), never},
		{store.LedgerEpochs, a.sameRow(store.LedgerEpochs), never},
	} {
		seen := map[string]bool{}
		err := a.still.Rows(b.name, func(key string, v []byte) bool {
			seen[key] = true
			b.row(key, v, a.made.rows[b.name][key])
			return true
		})
		if err != nil {
			return err
		}
		for _, key := range sortedKeys(a.made.rows[b.name]) {
			if !seen[key] && !b.may(key, a.made.rows[b.name][key]) {
				a.rowFault("missing", b.name, key)
			}
		}
	}
	// What is let be must be there all the same.
	for _, key := range sortedKeys(a.let) {
		if v, err := a.still.Row(store.LedgerFacts, key); err != nil {
			return err
		} else if v == nil {
			a.rowFault("missing", store.LedgerFacts, key)
		}
	}
	return nil
}

func never(string, []byte) bool { return false }

func sortedKeys[K cmp.Ordered, V any](m map[K]V) []K { return slices.Sorted(maps.Keys(m)) }

// rowFault names a row: its bucket, and its key as one can read it, which has the batch
// where there is one.
func (a *audit) rowFault(what, bucket, key string) {
	name := strings.ReplaceAll(key, "\x00", " ")
	if end := factEnd(key); bucket == store.LedgerFacts && !end.IsZero() {
		part, rest, _ := strings.Cut(key, "\x00")
		name = part + " " + end.UTC().Format(time.RFC3339) + " " + rest[8:]
	}
	a.fault("store.verify.row."+what, bucket, legible(name))
}

// mostLegible is how many characters of a key are said.
const mostLegible = 80

// legible is a key, which may be of a damaged page, as one line that can be read.
func legible(key string) string {
	out := []rune(strings.Map(func(r rune) rune {
		if r == utf8.RuneError || !unicode.IsPrint(r) {
			return '·'
		}
		return r
	}, key))
	if len(out) > mostLegible {
		out = append(out[:mostLegible], '…')
	}
	return string(out)
}

// sameRow compares a row of a bucket that depends on nothing but the record.
func (a *audit) sameRow(bucket string) func(key string, v, made []byte) {
	return func(key string, v, made []byte) {
		switch {
		case made == nil:
			a.rowFault("extra", bucket, key)
		case !bytes.Equal(v, made):
			a.rowFault("changed", bucket, key)
		default:
			a.Rows++
		}
	}
}

func (a *audit) familyRow(key string, v, made []byte) {
	root := traveler.Code(key)
	record := a.record(root)
	var is familyRow
	switch {
	case record == nil:
		a.rowFault("extra", ledgerFamilies, key)
	case json.Unmarshal(v, &is) != nil:
		a.rowFault("unread", ledgerFamilies, key)
	case a.onFloor(root):
		a.letBe(&is, made, &a.Returned)
		if !within(is.Seqs, record) {
			a.rowFault("changed", ledgerFamilies, key)
		}
	case a.isStale(root, &is):
		a.letBe(&is, made, &a.Stale)
		if !slices.Equal(is.Seqs, record) {
			a.rowFault("changed", ledgerFamilies, key)
		}
	default:
		a.sameRow(ledgerFamilies)(key, v, made)
	}
}

// isStale reports whether the facts of a family are still to be made again.
func (a *audit) isStale(root traveler.Code, is *familyRow) bool {
	return a.stale != nil && root >= a.stale.Next &&
		slices.ContainsFunc(is.Facts, func(k []byte) bool { return !factEnd(string(k)).Before(a.stale.From) })
}

// letBe takes the facts of a family from those that are compared: is says which are
// kept, made which were made.
func (a *audit) letBe(is *familyRow, made []byte, count *int) {
	for _, key := range is.Facts {
		a.let[string(key)] = count
	}
	a.unexpect(made)
}

// unexpect forgets the facts that were made of a family.
func (a *audit) unexpect(made []byte) {
	var row familyRow
	if made == nil || json.Unmarshal(made, &row) != nil {
		return
	}
	for _, key := range row.Facts {
		delete(a.made.rows[store.LedgerFacts], string(key))
	}
}

// mayMissFamily reports whether a family may have no row: it is on the floor.
func (a *audit) mayMissFamily(root traveler.Code, made []byte) bool {
	if !a.onFloor(root) {
		return false
	}
	a.unexpect(made)
	return true
}

func (a *audit) factRow(key string, v, made []byte) {
	if count := a.let[key]; count != nil {
		*count++
		return
	}
	a.sameRow(store.LedgerFacts)(key, kept(store.LedgerFacts, v), made)
}

// owner is the family whose a card is; empty when nobody knows the card.
func (a *audit) owner(card traveler.Code) traveler.Code {
	root, err := a.w.rootOf(card)
	if err != nil {
		return "" // what was made can be read
	}
	return root
}

func (a *audit) cardRow(key string, v, _ []byte) {
	root, err := codeOf(v)
	switch owner := a.owner(traveler.Code(key)); {
	case err != nil:
		a.rowFault("unread", ledgerCards, key)
	case owner == "":
		a.rowFault("extra", ledgerCards, key)
	case owner != root:
		a.rowFault("changed", ledgerCards, key)
	default:
		a.Rows++
	}
}

// isBackOf reports whether the family that a row of a card names is on the floor.
func (a *audit) isBackOf(made []byte) bool {
	root, err := codeOf(made)
	return err == nil && a.onFloor(root)
}

// orderRow compares the batches of a works order, in any order: families leave the floor
// in none.
func (a *audit) orderRow(key string, v, made []byte) {
	is, err := codesOf(v)
	if err != nil {
		a.rowFault("unread", ledgerOrders, key)
		return
	}
	var want []traveler.Code
	if made != nil {
		want, _ = codesOf(made) // we wrote it
	}
	more := slices.ContainsFunc(is,
		func(c traveler.Code) bool { return !slices.Contains(want, c) && !a.hadOrder(c, key) })
	less := slices.ContainsFunc(want,
		func(c traveler.Code) bool { return !slices.Contains(is, c) && !a.onFloor(a.owner(c)) })
	switch {
	case made == nil && more:
		a.rowFault("extra", ledgerOrders, key)
	case more || less:
		a.rowFault("changed", ledgerOrders, key)
	default:
		a.Rows++
	}
}

// hadOrder reports whether a card that was not made may stand in the row of a works
// order: its family came back to the floor, or a split that gave it was undone.
func (a *audit) hadOrder(card traveler.Code, key string) bool {
	root := a.owner(card)
	if root == "" {
		return false
	}
	if a.onFloor(root) {
		return true
	}
	f, err := load(a.w.log, a.w.shop, root)
	if err != nil {
		return false
	}
	i := f.Index(card)
	return i < 0 || orderKey(f.Batches[i].Order) == key
}

func (a *audit) mayMissOrder(_ string, made []byte) bool {
	cards, _ := codesOf(made) // we wrote it
	return !slices.ContainsFunc(cards, func(c traveler.Code) bool { return !a.onFloor(a.owner(c)) })
}
