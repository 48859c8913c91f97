package desk

import (
	"context"
	"reflect"
	"slices"
	"time"

	"tallywalk/store"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// ahead is how far in the future something may be said to have happened.
const ahead = 24 * time.Hour

// scansTogether is how many scans are decided before others have their turn.
const scansTogether = 50

// Scans takes scans in their order and answers each after it is safe; see
// story.Desk. A scan that is not well formed, or whose id was used for
// something else, has an Err in its answer and is not kept. Many are taken a
// part at a time, so that others go between: when a later part fails, the parts
// before it are kept, and answered the same when they are sent again.
func (d *Desk) Scans(ctx context.Context, said []story.Said) ([]story.Answer, error) {
	var out []story.Answer
	for part := range slices.Chunk(said, scansTogether) {
		answers, err := d.scans(ctx, part)
		if err != nil {
			return nil, err
		}
		out = append(out, answers...)
	}
	return out, nil
}

func (d *Desk) scans(ctx context.Context, said []story.Said) ([]story.Answer, error) {
	scans := make([]*traveler.Scan, len(said))
	errs := make([]error, len(said))
	seen := make([]sighting, len(said))
	for i := range said {
		scans[i] = clean(&said[i].Scan)
		if errs[i] = scans[i].WellFormed(); errs[i] != nil {
			continue
		}
		var err error
		if seen[i], err = look(d.log, scans[i].ID); err != nil {
			return nil, err
		}
	}
	answers, err := d.ask(ctx, func(w *writer) ([]reply, error) {
		out := make([]reply, 0, len(scans))
		for i, s := range scans {
			if errs[i] != nil {
				out = append(out, reply{answer: story.Answer{ID: s.ID, Err: errs[i]}})
				continue
			}
			r, err := w.scan(&said[i], s, seen[i])
			if err != nil {
				return nil, w.readFailed(err)
			}
			out = append(out, r)
		}
		return out, nil
	})
	return d.complete(answers), err
}

// complete fetches the families of answers given again that had left the floor.
// An answer stands without its family when that cannot be read.
func (d *Desk) complete(answers []story.Answer) []story.Answer {
	for i := range answers {
		if a := &answers[i]; a.Family == nil && a.Card != "" {
			if f, err := d.Family(a.Card); err == nil {
				a.Family = f
			}
		}
	}
	return answers
}

// clean copies a scan as the record will give it back: times in UTC and whole
// milliseconds, no empty lists.
func clean(s *traveler.Scan) *traveler.Scan {
	n := *s
	n.At = store.Whole(s.At)
	if s.Happened != nil {
		t := store.Whole(*s.Happened)
		n.Happened = &t
	}
	n.Present, n.Good, n.Missing, n.Reads = copied(s.Present), copied(s.Good), copied(s.Missing), copied(
		s.Reads)
	n.Scrap, n.Rework, n.Review = store.NilIfEmpty(slices.Clone(s.Scrap)), store.NilIfEmpty(
		slices.Clone(s.Rework)), store.NilIfEmpty(slices.Clone(s.Review))
	return &n
}

func copied[T any](p *T) *T {
	if p == nil {
		return nil
	}
	v := *p
	return &v
}

// scan decides one scan. An error is one of the log.
func (w *writer) scan(said *story.Said, s *traveler.Scan, seen sighting) (reply, error) {
	if r, known, err := w.again(s, seen); known || err != nil {
		return r, err
	}
	if w.epochs.isAside(said.Epoch) {
		return reply{answer: story.Answer{ID: s.ID,
			Err: traveler.Fail(traveler.KindConflict, "scan.aside")}}, nil
	}
	if err := w.noticePutBack(said); err != nil {
		return reply{}, err
	}
	e := w.next(said.By)
	e.Scan = s
	before := w.before(said)
	var offer bool
	var err error
	switch {
	case said.Taken != nil:
		err = w.retake(e, said.Taken)
	case before != nil:
		err = w.answeredBefore(e, before)
	default:
		w.bound(e)
		offer, err = w.place(e)
	}
	if err != nil {
		return reply{}, err
	}
	w.keep(e)
	if err := w.bringHome(e, before); err != nil {
		return reply{}, err
	}
	root, err := w.rootOf(e.Card)
	return reply{root: root, answer: story.Answer{
		ID: s.ID, Outcome: e.Outcome, Seq: e.Seq, Say: e.Say, Offer: offer && e.Outcome == traveler.Refused,
		Card: e.Card, Issued: issued(e),
	}}, err
}

// issued is the card that a split gave. One that waits for a supervisor gave
// none yet.
func issued(e *traveler.Entry) traveler.Code {
	if e.Scan.Action == traveler.ActSplit && e.Outcome == traveler.Kept {
		return e.Other
	}
	return ""
}

// sameScan reports whether two scans say the same. Whether someone waits for
// the answer is no part of that: a device sends what it kept without waiting.
func sameScan(a, b *traveler.Scan) bool {
	x, y := *a, *b
	x.Present, y.Present = nil, nil
	return reflect.DeepEqual(&x, &y)
}

// again answers a scan whose id is kept already.
func (w *writer) again(s *traveler.Scan, seen sighting) (r reply, known bool, err error) {
	e, err := w.byID(s.ID, seen)
	if e == nil || err != nil {
		return reply{}, false, err
	}
	if e.Scan == nil || !sameScan(e.Scan, s) {
		err := traveler.Fail(traveler.KindConflict, "scan.conflict", string(s.ID))
		return reply{answer: story.Answer{ID: s.ID, Err: err}}, true, nil
	}
	root, err := w.rootOf(e.Card)
	return reply{root: root, answer: story.Answer{
		ID: s.ID, Outcome: e.Outcome, Again: true, Seq: e.Seq, Say: e.Say, Card: e.Card,
		Offer: e.Outcome == traveler.Refused && !e.Scan.Anyway && story.MayAnyway(e.Say), Issued: issued(e),
	}}, true, err
}

// byID gives the entry kept under an id, or nil. seen is what the log said of
// the id some time ago; the zero value asks it again.
func (w *writer) byID(id traveler.ScanID, seen sighting) (e *traveler.Entry, err error) {
	if e := w.pending[id]; e != nil {
		return e, nil
	}
	seq, ok := seen.seq, seen.seq != 0
	if !ok {
		seq, ok = w.recent.find(id, seen.at)
	}
	if !ok {
		seq, err = w.log.Find(id)
	}
	if seq == 0 || err != nil {
		return nil, err
	}
	return w.bySeq(seq)
}

func (w *writer) bySeq(seq traveler.Seq) (*traveler.Entry, error) {
	if seq > w.head.seq {
		return w.ahead[seq-w.head.seq-1], nil
	}
	es, err := w.log.Get([]traveler.Seq{seq})
	if err != nil {
		return nil, err
	}
	return es[0], nil
}

// place finds out what a scan is about and lets the family it belongs to answer
// it, or answers it here.
func (w *writer) place(e *traveler.Entry) (offer bool, err error) {
	s := e.Scan
	if s.IsPresent() && s.Happened != nil && s.Happened.Sub(e.Arrived) > ahead {
		w.aside(e, traveler.Msg{Key: "time.future", Args: []string{s.Happened.Format(time.RFC3339)}})
		return false, nil
	}
	machine, ok := w.shop.FindMachine(s.Station)
	if !ok && !s.AtDesk() {
		w.aside(e, traveler.Msg{Key: "station.unknown", Args: []string{s.Station}})
		return false, nil
	}
	e.Machine = machine
	if s.Action == traveler.ActOn || s.Action == traveler.ActOff {
		e.Outcome = traveler.Kept
		w.keepLoose(e)
		return false, nil
	}
	var why traveler.Msg
	if e.Card, why, err = w.card(s.Card); err != nil {
		return false, err
	}
	if id := story.ControlTarget(s); id != "" {
		target, err := w.byID(id, sighting{})
		if err != nil {
			return false, err
		}
		if target != nil && target.Scan != nil {
			return w.control(e, target, why)
		}
	}
	if e.Card == "" {
		w.aside(e, why)
		return false, nil
	}
	if s.Action == traveler.ActJoin {
		if e.Other, _, err = w.card(s.For); err != nil {
			return false, err
		}
	}
	if s.Action == traveler.ActOverride && s.For == story.OverrideWanted && s.To != "" {
		if known, err := w.rootOf(traveler.Code(s.To)); err != nil {
			return false, err
		} else if known == "" || traveler.Code(s.To) == e.Card {
			w.aside(e, traveler.Msg{Key: "card.unknown", Args: []string{s.To}})
			return false, nil
		}
	}
	root, err := w.rootOf(e.Card)
	if err != nil {
		return false, err
	}
	return w.addScan(root, e)
}

// aside answers a scan that belongs to no family: who waits for the answer is
// refused; a scan that comes late is kept as a loose question.
func (w *writer) aside(e *traveler.Entry, why traveler.Msg) {
	e.Card, e.Other, e.Target, e.Say = "", "", 0, why
	if e.Scan.IsPresent() {
		e.Outcome = traveler.Refused
		return
	}
	e.Outcome = traveler.Questioned
	w.keepLoose(e)
}

// keepLoose puts a scan with the loose ones.
func (w *writer) keepLoose(e *traveler.Entry) { w.loose = append(slices.Clip(w.loose), e) }

// takeLoose takes a scan from the loose ones, because a family took it in or
// someone settled it.
func (w *writer) takeLoose(seq traveler.Seq) {
	w.loose = slices.DeleteFunc(slices.Clone(w.loose), func(e *traveler.Entry) bool { return e.Seq == seq })
}

// addScan lets a family answer a scan.
func (w *writer) addScan(root traveler.Code, e *traveler.Entry) (offer bool, err error) {
	f, err := w.openFamily(root)
	if err != nil {
		return false, err
	}
	if e.Scan.Action == traveler.ActSplit && e.Other == "" {
		if e.Other, err = w.newCode(traveler.KindBatch); err != nil {
			return false, err
		}
	}
	next, offer := f.AddOpen(w.shop, e)
	w.setOpenFamily(next)
	if e.Scan.Action == traveler.ActSplit && e.Other != "" {
		w.own(e.Other, root)
	}
	return offer, nil
}
