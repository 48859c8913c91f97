package desk

import (
	"slices"

	"tallywalk/store"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// A control is a scan about another scan: undo, correction, or a decision about
// a question that a scan raised. Its base is the scan that the chain of targets
// ends at. The families that a base belongs to are its homes: the one of its
// own card, and those that a correction brought it to. A control is part of the
// record of every home of its base, and a correction to a card elsewhere brings
// the base there, with all that was said about it.

// control decides a scan about another. noCard says why its own card is not
// known, if it is not.
func (w *writer) control(e, target *traveler.Entry, noCard traveler.Msg) (offer bool, err error) {
	e.Target = target.Seq
	base, err := w.base(target)
	if err != nil {
		return false, err
	}
	homes, err := w.homes(base)
	if err != nil {
		return false, err
	}
	if e.Scan.Action == traveler.ActCorrect {
		if e.Card == "" {
			w.aside(e, noCard)
			return false, nil
		}
		return w.correct(e, base, homes)
	}
	if len(homes) == 0 {
		w.settleLoose(e, target, base)
		return false, nil
	}
	own, err := w.rootOf(e.Card)
	if err != nil {
		return false, err
	}
	if !slices.Contains(homes, own) {
		// The target says which batch is meant, not the card at hand.
		own = homes[0]
		if e.Card = base.Card; base.Card == "" {
			e.Card = own
		}
	}
	if offer, err = w.addScan(own, e); err != nil {
		return offer, err
	}
	w.undone(e, target, base, homes)
	return offer, w.spread(e, own, homes)
}

// base follows the targets of controls to the scan that all is about.
func (w *writer) base(e *traveler.Entry) (*traveler.Entry, error) {
	for e.Target != 0 {
		next, err := w.bySeq(e.Target)
		if err != nil {
			return nil, err
		}
		e = next
	}
	return e, nil
}

// homes lists the roots of the families that have a base in their record.
func (w *writer) homes(base *traveler.Entry) ([]traveler.Code, error) {
	root, err := w.rootOf(base.Card)
	if err != nil {
		return nil, err
	}
	var out []traveler.Code
	if root != "" {
		out = append(out, root)
	}
	return union(out, w.adopted[base.Seq]), nil
}

// correct decides a correction, which may name a card of another family.
func (w *writer) correct(e, base *traveler.Entry, homes []traveler.Code) (offer bool, err error) {
	dest, err := w.rootOf(e.Card)
	if err != nil {
		return false, err
	}
	if len(homes) == 0 {
		return w.correctLoose(e, base, dest)
	}
	if offer, err = w.addScan(homes[0], e); err != nil || e.Outcome == traveler.Refused {
		return offer, err
	}
	w.follow(base, dest)
	if err := w.spread(e, homes[0], homes); err != nil || slices.Contains(homes, dest) {
		return offer, err
	}
	from, err := w.family(homes[0])
	if err != nil {
		return false, err
	}
	to, err := w.family(dest)
	if err != nil {
		return false, err
	}
	w.setFamily(story.Fold(w.shop, merge(to.Record(), cluster(base, from.Record()))))
	w.adopt(base, dest)
	return offer, nil
}

// correctLoose brings a scan that belonged nowhere to the batch it was meant
// for.
func (w *writer) correctLoose(e, base *traveler.Entry, dest traveler.Code) (offer bool, err error) {
	to, err := w.family(dest)
	if err != nil {
		return false, err
	}
	with := story.Fold(w.shop, merge(to.Record(), cluster(base, merge(w.loose, []*traveler.Entry{base}))))
	next, offer := with.Add(w.shop, e)
	if e.Outcome == traveler.Refused {
		e.Card, e.Other, e.Target = "", "", 0
		return offer, nil
	}
	w.setFamily(next)
	w.adopt(base, dest)
	return offer, nil
}

// spread lets the other homes of a base know what was said about it.
func (w *writer) spread(e *traveler.Entry, named traveler.Code, homes []traveler.Code) error {
	if e.Outcome == traveler.Refused {
		return nil
	}
	for _, root := range homes {
		if root == named {
			continue
		}
		f, err := w.family(root)
		if err != nil {
			return err
		}
		w.setFamily(story.Fold(w.shop, merge(f.Record(), []*traveler.Entry{e})))
	}
	return nil
}

// adopt notes that a family took a scan in.
func (w *writer) adopt(base *traveler.Entry, root traveler.Code) {
	w.noteAdopted(base, root)
	w.rows = append(w.rows, store.LedgerRow(ledgerAdopted, base.Seq.String(), w.adopted[base.Seq]))
}

func (w *writer) noteAdopted(base *traveler.Entry, root traveler.Code) {
	w.adopted[base.Seq] = union(w.adopted[base.Seq], []traveler.Code{root})
	w.takeLoose(base.Seq)
}

// follow lets the card that a split gave out go with the split to the family
// that a correction brings it to. Both families have the split in their record,
// so the ledger says whose card it is.
func (w *writer) follow(base *traveler.Entry, root traveler.Code) {
	if base.Scan.Action == traveler.ActSplit && base.Other != "" && w.roots[base.Other] != root {
		w.own(base.Other, root)
		w.rows = append(w.rows, store.LedgerRow(ledgerCards, string(base.Other), root))
	}
}

// undone lets the card of a split go home when the correction that brought it
// elsewhere is taken back.
func (w *writer) undone(e, target, base *traveler.Entry, homes []traveler.Code) {
	if e.Scan.Action == traveler.ActUndo && e.Outcome != traveler.Refused &&
		target.Scan.Action == traveler.ActCorrect && len(homes) > 0 {
		w.follow(base, homes[0])
	}
}

// settleLoose decides an undo, or a decision, about a scan that belongs to no
// family: it can only be taken away.
func (w *writer) settleLoose(e, target, base *traveler.Entry) {
	s := e.Scan
	settles := traveler.May(e.By.Role, traveler.DeedSettle)
	gap := e.Arrived.Sub(base.Arrived)
	own := traveler.May(e.By.Role, traveler.DeedScan) && base.By.Name == e.By.Name &&
		base.Scan.Operator == s.Operator
	why := traveler.Msg{}
	switch {
	case target != base:
		why = traveler.Msg{Key: "control.unknown", Args: []string{s.For}}
	case s.Action == traveler.ActUndo && !settles && (!own || gap > story.UndoTime):
		why = traveler.Msg{Key: "undo.late"}
	case s.Action == traveler.ActDecide && !settles:
		why = traveler.Msg{Key: story.RoleKey(traveler.DeedSettle),
			Args: []string{string(e.By.Role), string(s.Action)}}
	case s.Action == traveler.ActDecide && s.Reason != story.ChoiceDrop:
		why = traveler.Msg{Key: "decide.choice", Args: []string{s.Reason}}
	}
	if why.Key != "" {
		w.aside(e, why)
		return
	}
	e.Card, e.Outcome = "", traveler.Kept
	w.takeLoose(base.Seq)
}

// cluster is a base with all that a record says about it, by sequence.
func cluster(base *traveler.Entry, record []*traveler.Entry) []*traveler.Entry {
	in := map[traveler.Seq]bool{base.Seq: true}
	out := []*traveler.Entry{base}
	for _, e := range record {
		if e.Seq != base.Seq && in[e.Target] && !in[e.Seq] {
			in[e.Seq] = true
			out = append(out, e)
		}
	}
	return out
}

// merge puts two lists of entries together by sequence, each entry once.
func merge(a, b []*traveler.Entry) []*traveler.Entry {
	out := make([]*traveler.Entry, 0, len(a)+len(b))
	for len(a) > 0 || len(b) > 0 {
		switch {
		case len(b) == 0 || len(a) > 0 && a[0].Seq < b[0].Seq:
			out, a = append(out, a[0]), a[1:]
		case len(a) == 0 || b[0].Seq < a[0].Seq:
			out, b = append(out, b[0]), b[1:]
		default:
			out, a, b = append(out, a[0]), a[1:], b[1:]
		}
	}
	return out
}
