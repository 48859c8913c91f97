package desk

import (
	"fmt"
	"runtime"
	"slices"
	"time"

	"tallywalk/store"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// writer decides. Its own floor runs ahead of the file by the groups that are
// being committed and the one that is being decided. Only its goroutine uses
// it.
type writer struct {
	floor // head is the end of what is known to be kept and shown
	d     *Desk
	log   story.Log

	shared store.Shared    // the log, where several servers keep it; nil else
	unread bool            // there was more than was taken in
	ready  <-chan struct{} // of shared, when there is news

	shopSeqs []traveler.Seq
	adopted  map[traveler.Seq][]traveler.Code // roots that took a scan in, beside its own
	used     map[traveler.RouteKey]bool
	saved    traveler.Seq // sequence of the last snapshot
	stale    *staleRow    // what of the ledger is to be made again
	later    bool         // making it again failed; a commit must go well first
	broken   error        // set until the log was opened and replayed again

	commits chan *group       // to the committer
	results chan *group       // from the committer
	sent    bool              // a group was sent off and its result has not come
	ahead   []*traveler.Entry // decided, not known to be kept; they follow head
	pending map[traveler.ScanID]*traveler.Entry
	recent  recent
	epochs  epochs
	devices map[traveler.DeviceID]story.Spoken
	open    []*folded // of the command being decided, whose stories lack their ends

	*group           // being decided
	now    time.Time // when the command being decided came
	clock  time.Time // what the clock says then, where the record is far ahead of it; zero else
	failed error     // of the log, while deciding; the group is lost
}

// group is what goes into one transaction, and what is shown after it.
type group struct {
	commands []*command
	last     traveler.Seq
	entries  []*traveler.Entry
	rows     []story.Row
	folds    []*folded          // families in the order in which they were folded
	owned    [][2]traveler.Code // cards given out, with their roots
	after    floor              // shop, loose and head after the group, and nothing else
	err      error
}

// run takes commands and decides them, while the group before is being
// committed. A group goes off when the one before is answered and nobody comes
// any more: whoever was just answered has had the time to say the next thing,
// so that a commit takes as many along as there are.
func (w *writer) run() {
	defer close(w.commits)
	for {
		w.snapshotIfDue()
		full := len(w.commands) >= groupLen || len(w.entries) >= w.most()
		queue, commits := w.d.queue, w.commits
		if full {
			queue = nil
		}
		if len(w.commands) == 0 || w.sent || !full && w.more() {
			commits = nil
		}
		select {
		case c := <-queue:
			w.decide(c)
		case commits <- w.group:
			w.groupSent()
		case g := <-w.results:
			w.committed(g)
		case <-w.newsReady():
			w.takeNews()
		case <-w.idle():
			w.remake()
		case <-w.d.closing:
			// What only waits was promised nothing: it is sent again.
			for len(w.d.queue) > 0 {
				(<-w.d.queue).answer(errClosing())
			}
			w.d.last = w.finish()
			return
		}
	}
}

// more reports whether someone waits, and lets others run first if not.
func (w *writer) more() bool {
	if len(w.d.queue) == 0 {
		runtime.Gosched()
	}
	return len(w.d.queue) > 0
}

// groupSent begins another group.
func (w *writer) groupSent() {
	w.sent = true
	w.beginGroup()
}

func (w *writer) beginGroup() {
	w.failed = nil
	w.group = &group{last: w.head.seq + traveler.Seq(len(w.ahead))}
	w.after.shop, w.after.loose = w.shop, w.loose
}

// committed takes note of how a commit ended.
func (w *writer) committed(g *group) {
	w.sent = false
	if g.err != nil {
		w.redo(g.err)
		return
	}
	for _, e := range g.entries {
		if id := e.ID(); id != "" {
			delete(w.pending, id)
			w.recent.add(id, e.Seq)
		}
	}
	if len(g.entries) > 0 {
		w.later = false
		w.ahead, w.head = w.ahead[len(g.entries):], g.after.head
	}
}

// flush sends off what is decided and waits until all is shown.
func (w *writer) flush() {
	if w.sent {
		w.committed(<-w.results)
	}
	if len(w.commands) > 0 {
		w.commits <- w.group
		w.groupSent()
	}
	if w.sent {
		w.committed(<-w.results)
	}
}

// fail gives up the group being decided because deciding it failed.
func (w *writer) fail(err error) {
	if w.sent {
		// What was decided before is not to blame; the replay will find it.
		<-w.results
		w.sent = false
	}
	commands := w.giveUp(err)
	for _, c := range commands {
		c.answer(err)
	}
	_ = w.reopen()
}

// redo decides the group once more because the one before it, on which it was
// decided, could not be kept.
func (w *writer) redo(err error) {
	for _, c := range w.giveUp(err) {
		c.answers, c.err = nil, nil
		w.decide(c)
	}
	// What fails here fails again for the next command, which gets the error.
	_ = w.reopen()
}

// giveUp drops what was decided; the log must be opened again.
func (w *writer) giveUp(err error) []*command {
	commands := w.commands
	w.broken = err
	w.beginGroup()
	return commands
}

// reopen opens and replays the log again after an error.
func (w *writer) reopen() error {
	if w.broken == nil {
		return nil
	}
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

// decide decides one command.
func (w *writer) decide(c *command) {
	if err := w.reopen(); err != nil {
		c.answer(err)
		return
	}
	if w.elsewhere() {
		c.answer(errElsewhere())
		return
	}
	now, is, err := w.d.clock.now()
	if err != nil {
		c.answer(err)
		return
	}
	w.commands = append(w.commands, c)
	if c.ctx.Err() != nil {
		c.err = gaveUp(c.ctx)
		return
	}
	w.now, w.clock = now, is
	if err := w.decideGuarded(c); err != nil {
		w.fail(err)
	}
}

// decideGuarded lets a command decide. An error means that the group is lost: the log
// cannot be read, or deciding went wrong in a way that nobody foresaw.
func (w *writer) decideGuarded(c *command) error {
	return guarded(func() error { return w.letDecide(c) })
}

// guarded turns a panic into an error.
func guarded(fn func() error) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = &traveler.Error{
				Kind: traveler.KindInternal, Doing: "decide", Say: traveler.Msg{Key: "store.internal"},
				Err: fmt.Errorf("panic: %v", r),
			}
		}
	}()
	return fn()
}

func (w *writer) letDecide(c *command) error {
	replies, err := c.decide(w)
	w.refoldOpen()
	if w.failed != nil {
		return w.failed
	}
	c.err = err
	for _, r := range replies {
		if t := w.families[r.root]; t != nil {
			r.answer.Family = t.f
		}
		c.answers = append(c.answers, r.answer)
	}
	w.after.shop, w.after.loose = w.shop, w.loose
	return nil
}

// readFailed notes that the log could not be read, so that the whole group fails.
func (w *writer) readFailed(err error) error {
	w.failed = err
	return err
}

// commit appends groups as they come, shows them, and answers.
func (d *Desk) commit(commits <-chan *group, results chan<- *group) {
	defer close(d.stopped)
	for g := range commits {
		if len(g.entries) > 0 {
			g.err = d.log.Append(g.last, g.entries, g.rows)
		}
		if g.err == nil && len(g.entries) > 0 {
			seq, link := d.log.Head()
			g.after.head = recordEnd{seq, link}
			d.show(g)
		}
		for _, c := range g.commands {
			c.answer(g.err)
		}
		results <- g
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

// next makes the entry that follows in the record.
func (w *writer) next(by traveler.Actor) *traveler.Entry {
	e := &traveler.Entry{Seq: w.head.seq + traveler.Seq(len(w.ahead)) + 1, Arrived: w.now, Clock: w.clock,
		By: by}
	if e.Seq == 1 {
		e.Epoch = w.log.Epoch()
	}
	return e
}

// keep takes an entry into the group.
func (w *writer) keep(e *traveler.Entry) {
	w.entries = append(w.entries, e)
	w.ahead = append(w.ahead, e)
	w.d.clock.arrived(e.Arrived)
	w.noteDevice(e)
	if id := e.ID(); id != "" {
		w.pending[id] = e
	}
}

// setFamily puts the newest fold of a family on the writer's floor.
func (w *writer) setFamily(f *story.Family) {
	w.put(&folded{f: f})
}

// setOpenFamily does so for one whose story may lack its end: scans that come late
// together are each answered at their own place, and the end is folded once.
func (w *writer) setOpenFamily(f *story.Family) {
	if old := w.families[f.Root]; slices.Contains(w.open, old) {
		// Its place is taken before anybody saw it.
		is := func(t *folded) bool { return t == old }
		w.open, w.folds = slices.DeleteFunc(w.open, is), slices.DeleteFunc(w.folds, is)
	}
	t := &folded{f: f}
	w.put(t)
	w.open = append(w.open, t)
}

// refoldOpen folds the ends of the stories that lack them.
func (w *writer) refoldOpen() {
	for _, t := range w.open {
		t.f = t.f.Refold(w.shop)
	}
	w.open = w.open[:0]
}

// put puts a family on the writer's floor, to be shown with the group.
func (w *writer) put(t *folded) {
	w.show(t)
	w.folds = append(w.folds, t)
}

// own says to which family a card belongs.
func (w *writer) own(card, root traveler.Code) {
	w.roots[card] = root
	w.owned = append(w.owned, [2]traveler.Code{card, root})
}
