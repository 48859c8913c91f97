package desk

import (
	"reflect"
	"slices"

	"tallywalk/store"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

func errElsewhere() error {
	return &traveler.Error{Kind: traveler.KindBusy, Say: traveler.Msg{Key: "stream.nobody"},
		Err: store.ErrElsewhere}
}

// sharedEntries is how many entries there are in a group that goes to other servers, after
// which no more commands are taken: some 350 kB.
const sharedEntries = 1024

// most is how many entries make a group full.
func (w *writer) most() int {
	if w.shared != nil {
		return sharedEntries
	}
	return groupEntries
}

// newsTogether is how much news is taken in before others have their turn.
const newsTogether = 64

// elsewhere reports whether another server decides.
func (w *writer) elsewhere() bool { return w.shared != nil && !w.shared.Decides() }

// takeNews takes in what other servers decided, and whose claim stands.
func (w *writer) takeNews() {
	w.unread = false
	for range newsTogether {
		n, ok := w.shared.Next()
		if !ok {
			return
		}
		// What was decided and is not kept is not kept now; it is said again.
		w.flush()
		// What fails here is tried again when the log says that it has news.
		if w.reopen() != nil {
			return
		}
		if err := guarded(func() error { return w.take(n) }); err != nil {
			w.giveUp(err)
			return
		}
	}
	w.unread = true
}

// newsReady is ready when there may be news.
func (w *writer) newsReady() <-chan struct{} {
	if w.unread {
		return always
	}
	return w.ready
}

func (w *writer) take(n store.News) error {
	if n.Group == nil {
		return w.shared.Take(n, nil)
	}
	for _, e := range n.Group.Entries() {
		w.now, w.clock = e.Arrived, e.Clock
		w.entries, w.ahead = append(w.entries, e), append(w.ahead, e)
		w.d.clock.arrived(e.Arrived)
		if err := w.takeEntry(e); err != nil {
			return err
		}
	}
	w.refoldOpen()
	w.after.shop, w.after.loose = w.shop, w.loose
	if err := w.shared.Take(n, w.rows); err != nil {
		return err
	}
	w.after.head.seq, w.after.head.link = n.Group.End()
	w.d.show(w.group)
	w.committed(w.group)
	w.beginGroup()
	return nil
}

// takeEntry brings an entry that was decided elsewhere to the families that it belongs to.
func (w *writer) takeEntry(e *traveler.Entry) error {
	if e.Epoch != "" {
		w.epochs.now, w.epochs.begun[e.Epoch] = e.Epoch, e.Seq
	}
	if e.Scan != nil && e.Target == 0 && e.Card != "" {
		return w.takeScan(e)
	}
	r := &replay{w: w, following: true, records: map[traveler.Code][]*traveler.Entry{}}
	w.refoldOpen()
	if err := r.entry(e); err != nil {
		return err
	}
	for root, record := range r.records {
		w.setFamily(story.Fold(w.shop, record))
		// A family that was off the floor has its cards in memory again.
		for _, card := range cardsIn(record) {
			if w.roots[card] == root {
				w.own(card, root)
			}
		}
	}
	if e.Change != nil {
		w.refoldAll()
	}
	return nil
}

// takeScan adds a scan to its family as the server did that decided it. Where the family
// would answer otherwise now, as of scans that came from another record, the answer that
// was given stands.
func (w *writer) takeScan(e *traveler.Entry) error {
	root, err := w.rootOf(e.Card)
	if err != nil {
		return err
	}
	w.noteDevice(e)
	if root == "" {
		if e.Outcome != traveler.Refused {
			w.keepLoose(e)
		}
		return nil
	}
	f, err := w.openFamily(root)
	if err != nil {
		return err
	}
	before := slices.Clip(f.Record())
	said := *e
	said.Outcome, said.Say = "", traveler.Msg{}
	next, _ := f.AddOpen(w.shop, &said)
	if reflect.DeepEqual(&said, e) {
		w.setOpenFamily(next)
	} else {
		w.refoldOpen()
		w.setFamily(story.Fold(w.shop, merge(before, []*traveler.Entry{e})))
	}
	if e.Scan.Action == traveler.ActSplit && e.Other != "" && w.roots[e.Other] == "" {
		w.own(e.Other, root)
	}
	return nil
}
