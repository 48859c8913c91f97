package store

import (
	"fmt"
	"time"

	"tallywalk/traveler"
)

// writer is the desk's one writer with its own floor. Only its goroutine uses
// it.
type writer struct {
	floor
	d   *Desk
	log traveler.Log

	shopSeqs []traveler.Seq
	adopted  map[traveler.Seq][]traveler.Code // roots that took a scan in, beside its own
	used     map[traveler.RouteKey]bool
	saved    traveler.Seq // sequence of the last snapshot
	broken   error        // set until the log was opened and replayed again

	// The group being decided.
	now     time.Time
	failed  error // of the log, while deciding; the group is lost
	entries []*traveler.Entry
	rows    []traveler.Row
	pending map[traveler.ScanID]*traveler.Entry
	touched map[traveler.Code]*telling // families as they were before the group
	order   []traveler.Code            // of touched, in order
	owned   [][2]traveler.Code         // cards given out, with their roots
}

func (d *Desk) run(w *writer) {
	defer close(d.stopped)
	for {
		select {
		case c := <-d.queue:
			w.group(d.gather(c))
		case <-d.closing:
			for {
				select {
				case c := <-d.queue:
					w.group(d.gather(c))
				default:
					d.last = w.farewell()
					return
				}
			}
		}
	}
}

// gather takes the commands that wait behind the first.
func (d *Desk) gather(first *command) []*command {
	group := []*command{first}
	for len(group) < groupLen {
		select {
		case c := <-d.queue:
			group = append(group, c)
		default:
			return group
		}
	}
	return group
}

// group decides commands, commits them together, shows the result, and answers.
func (w *writer) group(commands []*command) {
	for len(commands) > 0 {
		if err := w.mend(); err != nil {
			w.answer(commands, err)
			return
		}
		n, err := w.decideAll(commands)
		if err == nil {
			err = w.commit()
		}
		w.answer(commands[:n], err)
		commands = commands[n:]
		if err != nil {
			w.broken = err
			continue
		}
		w.snapshotIfDue()
	}
	// What fails here fails again for the next command, which hears of it.
	_ = w.mend()
}

// mend opens and replays the log again after an error.
func (w *writer) mend() error {
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
	w.d.showAll(w.clone())
	return nil
}

// decideAll decides commands one after the other and says how many it took. An
// error means that none of them may be kept.
func (w *writer) decideAll(commands []*command) (n int, err error) {
	defer func() {
		if r := recover(); r != nil {
			n, err = max(n, 1), &traveler.Error{
				Kind: traveler.KindInternal, Doing: "decide", Say: traveler.Msg{Key: "store.internal"}, Err: fmt.Errorf("panic: %v", r),
			}
		}
	}()
	w.beginGroup()
	for n < len(commands) && len(w.entries) < groupEntries {
		c := commands[n]
		n++
		if c.ctx.Err() != nil {
			c.err = gaveUp(c.ctx)
			continue
		}
		c.replies, c.err = c.decide(w)
		if w.failed != nil {
			return n, w.failed
		}
	}
	return n, nil
}

func (w *writer) beginGroup() {
	w.now = w.d.opt.Now().UTC().Truncate(time.Millisecond)
	w.failed, w.entries, w.rows, w.order, w.owned = nil, nil, nil, nil, nil
	w.pending = map[traveler.ScanID]*traveler.Entry{}
	w.touched = map[traveler.Code]*telling{}
}

// lost notes that the log could not be read, so that the whole group fails.
func (w *writer) lost(err error) error {
	w.failed = err
	return err
}

// commit appends what was decided and shows it.
func (w *writer) commit() error {
	if len(w.entries) == 0 {
		return nil
	}
	w.seal()
	if err := w.log.Append(w.head.seq, w.entries, w.rows); err != nil {
		return err
	}
	w.head.seq, w.head.link = w.log.Head()
	w.d.show(w)
	return nil
}

// seal compares the ended visits of each touched family with what the ledger
// holds of them.
func (w *writer) seal() {
	for _, root := range w.order {
		t := w.families[root]
		t.ended = endedVisits(t.f)
		var old []visitRow
		if was := w.touched[root]; was != nil {
			old = was.ended
		}
		w.rows = append(w.rows, visitRows(old, t.ended)...)
	}
}

// answer sends the answers of commands, or the error that befell them all.
func (w *writer) answer(commands []*command, err error) {
	for _, c := range commands {
		switch {
		case c.err != nil:
		case err != nil:
			c.err = err
		default:
			c.answers = make([]traveler.Answer, len(c.replies))
			for i, r := range c.replies {
				if t := w.families[r.root]; t != nil {
					r.answer.Family = t.f
				}
				c.answers[i] = r.answer
			}
		}
		close(c.done)
	}
}

// next makes the entry that follows in the record.
func (w *writer) next(by traveler.Actor) *traveler.Entry {
	e := &traveler.Entry{Seq: w.head.seq + traveler.Seq(len(w.entries)) + 1, Arrived: w.now, By: by}
	if e.Seq == 1 {
		e.Epoch = w.log.Epoch()
	}
	return e
}

// keep takes an entry into the group.
func (w *writer) keep(e *traveler.Entry) {
	w.entries = append(w.entries, e)
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
