package store

import (
	"fmt"
	"time"

	"tallywalk/traveler"
)

// writer is the desk's one writer. Its own floor runs ahead of the file by the
// group that is being committed and the one that is being decided. Only its
// goroutine uses it.
type writer struct {
	floor // head is the end of what is known to be kept
	d     *Desk
	log   traveler.Log

	shopSeqs []traveler.Seq
	adopted  map[traveler.Seq][]traveler.Code // roots that took a scan in, beside its own
	used     map[traveler.RouteKey]bool
	saved    traveler.Seq // sequence of the last snapshot
	broken   error        // set until the log was opened and replayed again

	flight  *group            // being committed, or nil
	shown   <-chan struct{}   // closed when all that was sent off is shown
	ahead   []*traveler.Entry // decided, not known to be kept; they follow head
	pending map[traveler.ScanID]*traveler.Entry

	*group           // being decided
	now    time.Time // when the command being decided is heard
	failed error     // of the log, while deciding; the group is lost
}

// group is what goes into one transaction, and what is shown after it.
type group struct {
	last     traveler.Seq
	commands []*command
	entries  []*traveler.Entry
	rows     []traveler.Row
	touched  map[traveler.Code]*telling // families as they were before the group
	order    []traveler.Code            // of touched, in order
	owned    [][2]traveler.Code         // cards given out, with their roots

	// What is shown: families in order, shop and loose scans.
	told  []*telling
	shop  *traveler.Shop
	loose []*traveler.Entry
	done  chan error // how the commit ended

	before <-chan struct{} // closed when the group before is shown
	shown  chan struct{}   // closed when this one is
}

func (d *Desk) run(w *writer) {
	defer close(d.stopped)
	for c := w.wait(); c != nil; c = w.wait() {
		w.decideGroup(c)
	}
	d.last = w.farewell()
}

// wait gives the next command; nil when the desk closes and none waits.
func (w *writer) wait() *command {
	w.snapshotIfDue()
	for {
		select {
		case c := <-w.d.queue:
			return c
		case err := <-w.landing():
			w.landed(err)
			// What fails here fails again for the next command, which hears of it.
			_ = w.mend()
		case <-w.d.closing:
			select {
			case c := <-w.d.queue:
				return c
			default:
				return nil
			}
		}
	}
}

// landing tells when the commit in flight is over; it never does when there is
// none.
func (w *writer) landing() <-chan error {
	if w.flight == nil {
		return nil
	}
	return w.flight.done
}

// landed takes note of how a commit ended.
func (w *writer) landed(err error) {
	n := len(w.flight.entries)
	w.flight = nil
	if err != nil {
		w.broken = err
		return
	}
	for _, e := range w.ahead[:n] {
		delete(w.pending, e.ID())
	}
	w.ahead = w.ahead[n:]
	w.head.seq += traveler.Seq(n)
}

// land waits for the commit in flight.
func (w *writer) land() {
	if w.flight != nil {
		w.landed(<-w.flight.done)
	}
}

// rest waits until nothing is in flight and all is shown.
func (w *writer) rest() {
	w.land()
	<-w.shown
}

// decideGroup decides a command and those that wait behind it, as long as the
// commit before is in flight or more are waiting, and sends them off together.
func (w *writer) decideGroup(first *command) {
	if err := w.mend(); err != nil {
		first.answer(err)
		return
	}
	w.beginGroup()
	err := w.decide(first)
	for c := w.another(); c != nil && err == nil; c = w.another() {
		err = w.decide(c)
	}
	w.land()
	if w.broken != nil {
		// What the group was decided on is not there.
		err = w.broken
	}
	if err != nil {
		w.broken = err
		for _, c := range w.commands {
			c.answer(err)
		}
		_ = w.mend()
		return
	}
	w.seal()
	w.flight, w.shown = w.group, w.group.shown
	go w.d.commit(w.flight)
}

// another gives the next command of a group; nil when the group is full, when
// the commit in flight is over, so that this one follows at once, or when none
// is in flight and nothing waits.
func (w *writer) another() *command {
	if len(w.commands) >= groupLen || len(w.entries) >= groupEntries {
		return nil
	}
	if w.flight == nil {
		select {
		case c := <-w.d.queue:
			return c
		default:
			return nil
		}
	}
	select {
	case c := <-w.d.queue:
		return c
	case err := <-w.landing():
		w.landed(err)
		return nil
	}
}

// decide decides one command. An error means that the group is lost.
func (w *writer) decide(c *command) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = &traveler.Error{
				Kind: traveler.KindInternal, Doing: "decide", Say: traveler.Msg{Key: "store.internal"}, Err: fmt.Errorf("panic: %v", r),
			}
		}
	}()
	w.commands = append(w.commands, c)
	if c.ctx.Err() != nil {
		c.err = gaveUp(c.ctx)
		return nil
	}
	w.now = w.d.opt.Now().UTC().Truncate(time.Millisecond)
	c.replies, c.err = c.decide(w)
	return w.failed
}

func (w *writer) beginGroup() {
	w.failed = nil
	w.now = w.d.opt.Now().UTC().Truncate(time.Millisecond)
	w.group = &group{
		last: w.head.seq + traveler.Seq(len(w.ahead)), touched: map[traveler.Code]*telling{},
		done: make(chan error, 1), before: w.shown, shown: make(chan struct{}),
	}
}

// lost notes that the log could not be read, so that the whole group fails.
func (w *writer) lost(err error) error {
	w.failed = err
	return err
}

// seal compares the ended visits of each touched family with what the ledger
// holds of them, and notes what is to be shown and answered.
func (w *writer) seal() {
	g := w.group
	for _, root := range g.order {
		t := w.families[root]
		if t.ended == nil {
			t.ended = endedVisits(t.f)
		}
		var old []visitRow
		if was := g.touched[root]; was != nil {
			old = was.ended
		}
		g.rows = append(g.rows, visitRows(old, t.ended)...)
		g.told = append(g.told, t)
	}
	g.shop, g.loose = w.floor.shop, w.floor.loose
	for _, c := range g.commands {
		c.answers = make([]traveler.Answer, len(c.replies))
		for i, r := range c.replies {
			if t := w.families[r.root]; t != nil {
				r.answer.Family = t.f
			}
			c.answers[i] = r.answer
		}
	}
}

// commit appends a group, shows it, and answers. It runs beside the writer, and
// while it shows and answers the next one may be appending already.
func (d *Desk) commit(g *group) {
	defer close(g.shown)
	var err error
	if len(g.entries) > 0 {
		err = d.log.Append(g.last, g.entries, g.rows)
	}
	seq, link := d.log.Head()
	g.done <- err
	<-g.before
	if err == nil && len(g.entries) > 0 {
		d.show(g, head{seq, link})
	}
	for _, c := range g.commands {
		c.answer(err)
	}
}

// answer lets the one who asked go on: with the answers, with the command's own
// error, or with the one that befell its group.
func (c *command) answer(err error) {
	if c.err == nil {
		c.err = err
	}
	if c.err != nil {
		c.answers = nil
	}
	close(c.done)
}

// mend opens and replays the log again after an error.
func (w *writer) mend() error {
	if w.broken == nil {
		return nil
	}
	w.rest()
	if err := w.log.Reopen(); err != nil {
		return err
	}
	if err := w.replay(); err != nil {
		return err
	}
	w.broken = nil
	w.d.showAll(w.floor.clone())
	return nil
}

// next makes the entry that follows in the record.
func (w *writer) next(by traveler.Actor) *traveler.Entry {
	e := &traveler.Entry{Seq: w.head.seq + traveler.Seq(len(w.ahead)) + 1, Arrived: w.now, By: by}
	if e.Seq == 1 {
		e.Epoch = w.log.Epoch()
	}
	return e
}

// keep takes an entry into the group.
func (w *writer) keep(e *traveler.Entry) {
	w.entries = append(w.entries, e)
	w.ahead = append(w.ahead, e)
	if id := e.ID(); id != "" {
		w.pending[id] = e
	}
}

// tell puts the newest telling of a family on the writer's floor.
func (w *writer) tell(f *traveler.Family) {
	if _, ok := w.touched[f.Root]; !ok {
		w.touched[f.Root] = w.families[f.Root]
		w.order = append(w.order, f.Root)
	}
	w.show(&telling{f: f})
}

// own says to which family a card belongs.
func (w *writer) own(card, root traveler.Code) {
	w.roots[card] = root
	w.owned = append(w.owned, [2]traveler.Code{card, root})
}
