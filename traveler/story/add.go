package story

import (
	"cmp"
	"slices"
	"tallywalk/traveler"
	"time"
)

// Adopt adds a scan of another family, which a correction is about to move
// here, to the record. Add the correction next.
func (f *Family) Adopt(shop *traveler.Shop, e *traveler.Entry) *Family {
	record := append(slices.Clip(f.record), e)
	slices.SortStableFunc(record, func(a, b *traveler.Entry) int { return cmp.Compare(a.Seq, b.Seq) })
	return Fold(shop, record)
}

// Add adds an entry to a family and answers it: it sets the entry's Outcome
// and Say, and returns the family with it. offer reports whether a
// refused scan may be said again with Anyway. The entry's resolved fields
// (Card, Machine, Other, Target, Seq, Arrived, By) are set by the caller, and
// Other of a split is taken back when the split is refused.
func (f *Family) Add(shop *traveler.Shop, e *traveler.Entry) (next *Family, offer bool) {
	next, offer = f.AddOpen(shop, e)
	return next.Refold(shop), offer
}

// AddOpen is Add, but for a family that may lack the rest of its story: what
// happened after a scan that came late. It is answered all the same, since an
// answer rests on what stood before. Nobody may read the family, or keep the
// one that it gave, until Refold has folded the rest.
func (f *Family) AddOpen(shop *traveler.Shop, e *traveler.Entry) (next *Family, offer bool) {
	if e.Scan == nil {
		return Fold(shop, append(slices.Clip(f.record), e)), false
	}
	if !f.newest() || f.versions.shop != shop {
		f = Fold(shop, f.record)
	}
	ev := f.newEvent(e)
	if f.isLast(shop, &ev) {
		return f.Refold(shop).addLast(shop, e, &ev)
	}
	return f.addLate(shop, e)
}

// Refold folds what is left of an open family's story; others are as they are.
func (f *Family) Refold(shop *traveler.Shop) *Family {
	if f.open && !f.newest() {
		return Fold(shop, f.record)
	}
	if f.open {
		f.fold(shop, len(f.events))
		f.open = false
	}
	return f
}

// addLast applies a scan that happened after all others.
func (f *Family) addLast(shop *traveler.Shop, e *traveler.Entry, ev *event) (*Family, bool) {
	if e.Scan.IsPresent() {
		m := f.check(shop, ev)
		if m != nil && !m.keep && (!m.ask || !e.Scan.Anyway) {
			return f.refuse(e, m.msg), m.ask
		}
		ev.checked = m == nil
	}
	f.versions.keepMark(f, len(f.events), len(f.events)+1, true)
	n := f.clone()
	n.keep(e)
	ev.suspect, ev.high = ev.uncertain, ev.at
	if k := len(n.events); k > 0 && n.events[k-1].high.After(ev.at) {
		ev.high = n.events[k-1].high
	}
	n.events = append(n.events, *ev)
	n.versions.add(ev)
	n.step(shop, &n.events[len(n.events)-1])
	n.answer(e)
	return n, false
}

// answer sets the outcome of the scan that was folded last.
func (f *Family) answer(e *traveler.Entry) {
	e.Outcome = traveler.Kept
	if f.Lines.At(f.Lines.Len()-1).Fate == FateAsked {
		e.Outcome, e.Say = traveler.Questioned, f.misfits[len(f.misfits)-1].Known
	}
}

// change is a stretch of the events as it is with a new one among them. What
// stands before and after it is as it was.
type change struct {
	start, end int // of the stretch as it was
	some       []event
	at         int  // place of the new one
	near       bool // nothing but the order of neighbours changed
}

// addLate adds a scan that something happened after, or one that says
// something of others: the family goes back to where the story changes.
func (f *Family) addLate(shop *traveler.Shop, e *traveler.Entry) (*Family, bool) {
	c := f.insert(shop, e)
	c.at = c.start + slices.IndexFunc(c.some, func(ev event) bool { return ev.e == e })
	was := slices.Clone(f.events[c.start:c.end])
	// In place: only the newest version looks at its events.
	events := slices.Replace(f.events, c.start, c.end, c.some...)
	if e.Scan.IsPresent() {
		n, why, offer := f.addPresent(shop, e, events, &c)
		if n == nil {
			n = f.refuse(e, why)
			n.events = slices.Replace(events, c.start, c.start+len(c.some), was...)
			return n, offer
		}
		return n, false
	}
	n := f.rewindTo(shop, events, c.start)
	n.accept(e, events, &c)
	n.fold(shop, c.at+1)
	n.answer(e)
	return n, false
}

// addPresent does so for a scan that someone waits for. There is no family when
// it is refused.
func (f *Family) addPresent(shop *traveler.Shop, e *traveler.Entry, events []event, c *change) (n *Family,
	why traveler.Msg, offer bool) {
	n = f.copyAt(shop, events, c.start)
	n.versions = newVersions(shop, 0) // no marks of what may be refused
	if e.Scan.Action == traveler.ActSplit {
		n.record = append(slices.Clip(f.record), e) // what was said of its card is no stranger's
	}
	n.fold(shop, c.at+1)
	n.versions, n.record = f.versions, f.record
	switch n.Lines.At(c.at).Fate {
	case FateLapsed:
		return nil, traveler.Msg{Key: "decide.gone"}, false
	case FateAsked:
		if q := n.misfits[len(n.misfits)-1]; !q.keep {
			return nil, q.Known, q.ask && !e.Scan.Anyway
		}
	}
	n.accept(e, events, c)
	n.answer(e)
	return n, traveler.Msg{}, false
}

// accept makes a new scan part of the newest version.
func (f *Family) accept(e *traveler.Entry, events []event, c *change) {
	f.versions.drop(c.start)
	f.keep(e)
	f.events, f.open = events, true
	if c.near {
		f.versions.add(&events[c.at])
	} else {
		f.versions.counted = false
	}
	if isControl(e.Scan) || len(f.awaited) > 0 {
		f.awaited = awaited(events)
	}
}

// rewindTo gives the story before the i-th event, to be folded on from there. An
// open family that has not reached it yet goes on itself.
func (f *Family) rewindTo(shop *traveler.Shop, events []event, i int) *Family {
	if f.open && f.Lines.Len() <= i {
		f.fold(shop, i)
		return f
	}
	return f.copyAt(shop, events, i)
}

// copyAt does so in a family of its own.
func (f *Family) copyAt(shop *traveler.Shop, events []event, i int) *Family {
	var n *Family
	if m := f.versions.markBefore(i); m != nil {
		n = m.unshared()
	} else {
		n = base(shop, f.record)
	}
	n.record, n.Refused, n.events = f.record, f.Refused, events
	n.awaited, n.versions, n.open = f.awaited, f.versions, true
	n.fold(shop, i)
	return n
}

// insert finds out what a new scan changes of the events.
func (f *Family) insert(shop *traveler.Shop, e *traveler.Entry) change {
	if c, ok := f.insertNear(shop, e); ok {
		return c
	}
	with := *f
	with.record = append(slices.Clip(f.record), e)
	events := with.read(shop)
	start := 0
	gave := traveler.Code("")
	if e.Scan.Action == traveler.ActSplit {
		gave = e.Other
	}
	for start < len(f.events) && f.events[start].same(&events[start]) &&
		(gave == "" || events[start].card != gave) {
		start++
	}
	return change{start: start, end: len(f.events), some: events[start:]}
}

// same reports whether two events are folded alike. A corrected one never is: what
// it says may have changed.
func (ev *event) same(o *event) bool {
	return ev.e == o.e && ev.s == o.s && ev.s == ev.e.Scan && ev.at.Equal(o.at) &&
		ev.uncertain == o.uncertain &&
		ev.fate == o.fate && ev.by == o.by && ev.force == o.force && ev.aimed == o.aimed &&
		(ev.denied == nil) == (o.denied == nil)
}

// insertNear does so for a scan that changes nothing far from its own time: one
// that says nothing of others, is awaited by none, and is not after its
// device's own counter. ok is false where that does not hold.
func (f *Family) insertNear(shop *traveler.Shop, e *traveler.Entry) (c change, ok bool) {
	f.versions.count(f.events, f.record)
	ev := f.newEvent(e)
	if isControl(e.Scan) || ev.isVerdict() || f.versions.corrected || e.Arrived.Before(f.versions.arrived) ||
		slices.Contains(f.awaited, e.Scan.ID) {
		return change{}, false
	}
	if e.Scan.Action == traveler.ActSplit && f.mentions(e.Other) {
		return change{}, false
	}
	ev.at, ev.uncertain = ev.raw()
	ev.hint = f.hint(shop, &ev)
	if ev.chained() {
		last := f.versions.last[e.Scan.Device]
		if last.n >= e.Scan.N {
			return change{}, false
		}
		if last.at.After(ev.at) {
			ev.at, ev.uncertain = last.at, true
		}
	}
	ev.suspect = ev.uncertain
	from, to := f.around(&ev)
	some := append(slices.Clone(f.events[from:to]), ev)
	for i := range some {
		some[i].uncertain = some[i].suspect
	}
	slices.SortFunc(some, byTime)
	restoreDevices(some)
	settleOverlaps(some)
	var high time.Time
	if from > 0 {
		high = f.events[from-1].high
	}
	setHighs(some, high)
	start := from
	for start < to && f.events[start].same(&some[start-from]) {
		start++
	}
	return change{start: start, end: to, some: some[start-from:], near: true}, true
}

// around is the stretch in which a new event can change the order of others. All
// before it happened, by any clock, before the event and before all after it;
// all after it happened after both.
func (f *Family) around(ev *event) (from, to int) {
	reach := 2 * max(f.versions.widest, ev.within)
	from = f.firstAfter(ev.at.Add(-reach - 1)) // what happened at the same moment has its own order
	for !f.separates(from) {
		from--
	}
	to = max(from, f.firstAfter(ev.at.Add(reach)))
	for !f.separates(to) {
		to++
	}
	return from, to
}

// firstAfter is the first place at which some event up to it happened after t.
func (f *Family) firstAfter(t time.Time) int {
	i, _ := slices.BinarySearchFunc(f.events, t, func(ev event, t time.Time) int {
		if ev.high.After(t) {
			return 1
		}
		return -1
	})
	return i
}

// separates reports whether all events before the i-th happened before all from it
// on. Those that clocks let change places stand close together.
func (f *Family) separates(i int) bool {
	if i == 0 || i >= len(f.events) {
		return true
	}
	high := f.events[i-1].high
	far := high.Add(2 * f.versions.widest)
	for k := i; k < len(f.events) && !f.events[k].at.After(far); k++ {
		if !f.events[k].at.After(high) {
			return false
		}
	}
	return true
}

func (f *Family) refuse(e *traveler.Entry, why traveler.Msg) *Family {
	e.Outcome, e.Say = traveler.Refused, why
	if e.Scan.Action == traveler.ActSplit {
		e.Other = ""
	}
	n := *f
	n.keep(e)
	n.Refused = append(n.Refused, e)
	return &n
}

// isLast reports whether an event happened after all others, so that it need only
// be applied. It sets the event's time and hint.
func (f *Family) isLast(shop *traveler.Shop, ev *event) bool {
	if isControl(ev.s) || len(f.Batches) == 0 || slices.Contains(f.awaited, ev.e.Scan.ID) {
		return false
	}
	ev.at, ev.uncertain = ev.raw()
	ev.hint = f.hint(shop, ev)
	if len(f.events) == 0 {
		return true
	}
	last := &f.events[len(f.events)-1]
	if !ev.at.After(last.high) || (ev.s.Action == traveler.ActSplit && f.mentions(ev.e.Other)) {
		return false
	}
	f.versions.count(f.events, f.record)
	if ev.chained() && f.versions.last[ev.e.Scan.Device].n >= ev.e.Scan.N {
		return false
	}
	far := ev.at.Add(-ev.within - f.versions.widest)
	for i := len(f.events) - 1; i >= 0 && f.events[i].high.After(far); i-- {
		if swaps(&f.events[i], ev) {
			return false
		}
	}
	return true
}

// mentions reports whether a scan of a card is there already, before the split
// that gave it.
func (f *Family) mentions(card traveler.Code) bool {
	return slices.ContainsFunc(f.events, func(ev event) bool { return ev.e.Card == card })
}
