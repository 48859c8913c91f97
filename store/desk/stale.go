package desk

import (
	"encoding/json"
	"slices"
	"time"

	"tallywalk/store"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// The ledger's facts of a family are what its story came to when it left the
// floor. A change of shop that holds from before then makes them stale: overtime
// said afterwards, aisles drawn once there is a history. They are made again, a
// few at a time, while nobody asks for anything.

// staleRow says what has still to be made again.
type staleRow struct {
	From time.Time     `json:"from"` // families that ended at or after it
	Next traveler.Code `json:"next"` // the first root that was not looked at
}

const (
	staleKey   = "facts"
	staleMade  = 16  // families that are made again in one step
	staleAsked = 512 // families that are looked at in one step
)

// reach says from when on a change bears on what happened before now. What was
// never said before holds from ever: the first hours of a calendar, the first
// place of a machine.
func reach(shop *traveler.Shop, c *traveler.Change, now time.Time) (from time.Time, back bool) {
	from, back = c.From, c.From.Before(now) && (len(c.Machines)+len(c.Calendars) > 0 || c.Layout != nil)
	for i := range c.Calendars {
		if dates := shop.CalendarDates(c.Calendars[i].Name); len(dates) == 0 || c.From.Before(dates[0]) {
			return time.Time{}, true
		}
	}
	for i := range c.Machines {
		if dates := shop.MachineDates(c.Machines[i].ID); len(dates) > 0 && c.From.Before(dates[0]) {
			return time.Time{}, true
		}
	}
	return from, back
}

// markStale notes that a change makes rows of the ledger stale.
func (w *writer) markStale(c *traveler.Change, now time.Time) {
	from, back := reach(w.shop, c, now)
	if !back {
		return
	}
	if w.stale != nil && w.stale.From.Before(from) {
		from = w.stale.From
	}
	w.stale = &staleRow{From: from}
	w.rows = append(w.rows, store.LedgerRow(ledgerStale, staleKey, w.stale))
}

// loadStale reads what was to be made again when the last writer ended.
func (w *writer) loadStale() error {
	v, err := w.log.Row(ledgerStale, staleKey)
	if err != nil || v == nil {
		return err
	}
	w.stale = &staleRow{}
	if json.Unmarshal(v, w.stale) != nil {
		return badRow(ledgerStale, staleKey)
	}
	return nil
}

// idle is ready when there is something to make again and nothing else to do.
func (w *writer) idle() <-chan struct{} {
	if w.stale == nil || w.later || w.broken != nil || w.sent || len(w.commands) > 0 || len(w.d.queue) > 0 {
		return nil
	}
	return always
}

var always = func() chan struct{} {
	c := make(chan struct{})
	close(c)
	return c
}()

// remake makes a few rows again. What fails is like a failed commit, and is not
// tried again before a commit went well.
func (w *writer) remake() {
	w.now = w.d.opt.Now()
	w.beginGroup()
	if err := w.remakeSome(); err != nil {
		w.later = true
		w.fail(err)
		return
	}
	w.beginGroup()
}

func (w *writer) remakeSome() error {
	roots, next, err := w.staleRoots()
	if err != nil {
		return err
	}
	for _, root := range roots {
		f, err := load(w.log, w.shop, root)
		if traveler.KindOf(err) == traveler.KindCorrupt {
			continue // verify reports it; the others do not suffer for it
		}
		if err != nil {
			return err
		}
		if err := w.shelveFacts(f); err != nil {
			return err
		}
	}
	w.stale.Next = next
	if next == "" {
		w.stale = nil
		w.rows = append(w.rows, story.Row{Bucket: ledgerStale, Key: staleKey})
	} else {
		w.rows = append(w.rows, store.LedgerRow(ledgerStale, staleKey, w.stale))
	}
	return w.log.Append(w.head.seq, nil, w.rows)
}

// staleRoots finds the next families off the floor that ended late enough, and
// the root to go on from; none = that was the last.
func (w *writer) staleRoots() (roots []traveler.Code, next traveler.Code, err error) {
	asked := 0
	err = w.log.Range(ledgerFamilies, string(w.stale.Next), "", func(key string, v []byte) bool {
		root := traveler.Code(key)
		if asked++; asked > staleAsked || len(roots) == staleMade {
			next = root
			return false
		}
		var r familyRow
		if json.Unmarshal(v, &r) != nil {
			return true
		}
		since := func(k []byte) bool { return !factEnd(string(k)).Before(w.stale.From) }
		if w.families[root] == nil && slices.ContainsFunc(r.Facts, since) {
			roots = append(roots, root)
		}
		return true
	})
	return roots, next, err
}
