package desk

import (
	"tallywalk/store"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// retake takes a scan as it was taken in the record that it comes from: with
// its arrival, with what its names meant then, kept or refused as it was.
func (w *writer) retake(e *traveler.Entry, t *story.Taken) error {
	if at := store.Whole(t.Arrived); !t.Arrived.IsZero() && at.Before(e.Arrived) {
		e.Arrived = at
	}
	w.bound(e)
	e.Card, e.Machine, e.Other = t.Card, t.Machine, t.Other
	target, err := w.targetOf(e)
	if err != nil {
		return err
	}
	root, err := w.rootOf(e.Card)
	switch {
	case err != nil:
		return err
	case t.Outcome == traveler.Refused:
		return w.refusedBefore(e, t, root)
	case target != nil:
		_, err = w.control(e, target, t.Say)
		return err
	case root == "":
		e.Card, e.Outcome, e.Say = "", t.Outcome, t.Say
		w.keepLoose(e)
		return nil
	}
	return w.addRefused(root, e)
}

// targetOf finds the scan that a control is about, or nil.
func (w *writer) targetOf(e *traveler.Entry) (*traveler.Entry, error) {
	id := story.ControlTarget(e.Scan)
	if id == "" {
		return nil, nil
	}
	target, err := w.byID(id, sighting{})
	if err != nil || target == nil || target.Scan == nil {
		return nil, err
	}
	return target, nil
}

// refusedBefore keeps a scan that was refused when it was made.
func (w *writer) refusedBefore(e *traveler.Entry, t *story.Taken, root traveler.Code) error {
	e.Outcome, e.Say, e.Other = traveler.Refused, t.Say, ""
	if root == "" {
		e.Card = ""
		return nil
	}
	f, err := w.family(root)
	if err != nil {
		return err
	}
	w.setFamily(f.Adopt(w.shop, e))
	return nil
}

// addRefused gives a family a scan that was kept before. One that would be
// refused now, since the shop is not quite the one it was, is kept all the same
// and asked about.
func (w *writer) addRefused(root traveler.Code, e *traveler.Entry) error {
	f, err := w.family(root)
	if err != nil {
		return err
	}
	other := e.Other
	next, _ := f.Add(w.shop, e)
	if e.Outcome == traveler.Refused {
		e.Outcome, e.Other = traveler.Questioned, other
		next = f.Adopt(w.shop, e)
	}
	w.setFamily(next)
	if e.Scan.Action == traveler.ActSplit && e.Other != "" {
		w.own(e.Other, root)
	}
	return nil
}
