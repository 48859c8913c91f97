package desk

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"slices"

	"tallywalk/store"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// epochs are those that the record went through. A copy that was put back begins
// a new one, so that stations send again what the copy lacks.
type epochs struct {
	now    string
	begun  map[string]traveler.Seq // the entry that named each; the first one's is 1, of a record laid aside 0
	opened traveler.Seq            // the entry in which the writer began one by itself
}

// begin finds out what the log says of itself.
func (p *epochs) begin(log story.Log) error {
	p.now, p.begun = log.Epoch(), map[string]traveler.Seq{}
	end, _ := log.Head()
	if p.opened > end {
		p.opened = 0 // it was not kept
	}
	if end == 0 {
		return nil
	}
	first, err := log.Get([]traveler.Seq{1})
	if err == nil {
		p.begun[first[0].Epoch] = 1
	}
	return err
}

// load reads what the ledger holds.
func (p *epochs) load(log story.Log) (err error) {
	lerr := log.Rows(store.LedgerEpochs, func(name string, v []byte) bool {
		var seq traveler.Seq
		if json.Unmarshal(v, &seq) != nil {
			err = badRow(store.LedgerEpochs, name)
			return false
		}
		p.begun[name] = seq
		return true
	})
	if err == nil {
		err = lerr
	}
	return err
}

// note takes an entry in that begins an epoch, and gives its row for the ledger.
func (p *epochs) note(e *traveler.Entry) []story.Row {
	p.begun[e.Epoch] = e.Seq
	rows := []story.Row{store.LedgerRow(store.LedgerEpochs, e.Epoch, e.Seq)}
	if e.Say.Key == store.FreshKey {
		for _, name := range e.Say.Args[1:] {
			p.begun[name] = 0
			rows = append(rows, store.LedgerRow(store.LedgerEpochs, name, traveler.Seq(0)))
		}
	}
	return rows
}

// isAside reports whether a scan was made in a record that was laid aside, a trial for
// one: it is not for this one.
func (p *epochs) isAside(name string) bool {
	seq, known := p.begun[name]
	return known && seq == 0
}

// end is the first sequence that belongs to an epoch no more; 0 when it is not
// over, or not known here because it began after the copy was made.
func (p *epochs) end(name string) (end traveler.Seq) {
	from, known := p.begun[name]
	for _, seq := range p.begun {
		if known && seq > from && (end == 0 || seq < end) {
			end = seq
		}
	}
	return end
}

// noticePutBack begins an epoch when a device has seen more of this one than
// there is: then an older copy of the file was laid in its place. That can only
// happen while nobody has the file open, so the writer believes it once.
func (w *writer) noticePutBack(said *story.Said) error {
	last := w.head.seq + traveler.Seq(len(w.ahead))
	if said.Epoch != w.epochs.now || said.Scan.Basis <= last || w.epochs.opened != 0 {
		return nil
	}
	name, err := store.NewEpoch(w.d.opt.Rand)
	if err != nil {
		return &traveler.Error{Kind: traveler.KindInternal, Say: traveler.Msg{Key: "store.random"}, Err: err}
	}
	e := w.next(said.By)
	e.Epoch, e.Say = name, traveler.Msg{Key: "epoch.behind",
		Args: []string{last.String(), said.Scan.Basis.String()}}
	w.epochs.now, w.epochs.opened = name, e.Seq
	w.rows = append(w.rows, w.epochs.note(e)...)
	w.keep(e)
	return nil
}

// before is how a scan was answered in an epoch whose end this record lacks; nil
// when nobody says so, or what is said cannot be.
func (w *writer) before(said *story.Said) *story.Before {
	b := said.Before
	if b == nil || said.Taken != nil || said.Epoch == "" || said.Epoch == w.epochs.now {
		return nil
	}
	if b.Seq < w.epochs.end(said.Epoch) {
		return nil // the copy reaches that far, and has something else there
	}
	return b
}

// answeredBefore decides a scan that was answered already, in a record that was
// lost: a refused one stays refused, any other comes late.
func (w *writer) answeredBefore(e *traveler.Entry, b *story.Before) error {
	late := false
	e.Scan.Present = &late
	w.bound(e)
	if b.Outcome == traveler.Refused {
		return w.refusedThen(e)
	}
	if e.Scan.Action == traveler.ActSplit {
		card, err := w.issuedThen(b.Issued)
		if err != nil {
			return err
		}
		e.Other = card
	}
	_, err := w.place(e)
	return err
}

// issuedThen is the card that a split gave, if it is one and nobody has it.
func (w *writer) issuedThen(card traveler.Code) (traveler.Code, error) {
	if c, ok := traveler.ParseCode(string(card)); !ok || c != card || c.Kind() != traveler.KindBatch {
		return "", nil
	}
	free, err := w.free(card)
	if err != nil || !free {
		return "", err
	}
	return card, nil
}

func (w *writer) refusedThen(e *traveler.Entry) (err error) {
	e.Machine, _ = w.shop.FindMachine(e.Scan.Station)
	if e.Card, _, err = w.card(e.Scan.Card); err != nil {
		return err
	}
	root, err := w.rootOf(e.Card)
	if err != nil {
		return err
	}
	return w.refusedBefore(e, &story.Taken{Say: traveler.Msg{Key: "scan.before"}}, root)
}

// bringHome corrects the scans that came, from other stations, before the split
// that gave out their card was sent again.
func (w *writer) bringHome(split *traveler.Entry, b *story.Before) error {
	if card := issued(split); b == nil || card == "" || card != b.Issued {
		return nil
	}
	for _, l := range slices.Clone(w.loose) {
		if l.Outcome != traveler.Questioned || story.ControlTarget(l.Scan) != "" ||
			traveler.ParseRef(l.Scan.Card).Code != split.Other {
			continue
		}
		late := false
		e := w.next(store.Restorer)
		e.Scan = &traveler.Scan{
			ID: homeID(l.Scan.ID, split.Scan.ID), At: w.now, Present: &late, Station: traveler.Office,
			Card: string(split.Other), Action: traveler.ActCorrect, For: string(l.Scan.ID),
		}
		if _, err := w.place(e); err != nil {
			return err
		}
		w.keep(e)
	}
	return nil
}

// homeID is a version 8 UUID (RFC 9562) that is the same for the same two scans.
func homeID(scan, split traveler.ScanID) traveler.ScanID {
	h := sha256.Sum256(fmt.Appendf(nil, "home %s %s", scan, split))
	h[6], h[8] = h[6]&0x0f|0x80, h[8]&0x3f|0x80
	return store.NameID(h[:16])
}
