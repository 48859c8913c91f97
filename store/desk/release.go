package desk

import (
	"context"
	"reflect"
	"slices"
	"strconv"
	"time"

	"tallywalk/store"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Release puts batches on the floor, all or none; see story.Desk. cards may be shorter
// than rs; a batch without a card in it is given one. It fails as story.Desk says.
func (d *Desk) Release(ctx context.Context, by traveler.Actor, rs []traveler.Release,
	cards []traveler.Code) ([]story.Answer, error) {
	clean := make([]*traveler.Release, len(rs))
	for i := range rs {
		clean[i] = cleanRelease(&rs[i])
		if err := wellFormed(clean[i]); err != nil {
			return nil, err
		}
	}
	answers, err := d.ask(ctx, func(w *writer) ([]reply, error) { return w.release(by, clean, cards) })
	return d.complete(answers), err
}

func cleanRelease(r *traveler.Release) *traveler.Release {
	n := *r
	if n.Wanted == 0 {
		n.Wanted = n.Pieces
	}
	n.Due, n.Released = wholeOrZero(r.Due), wholeOrZero(r.Released)
	n.MaterialLots = store.NilIfEmpty(slices.Clone(r.MaterialLots))
	return &n
}

func wholeOrZero(t time.Time) time.Time {
	if t.IsZero() {
		return time.Time{}
	}
	return store.Whole(t)
}

// wellFormed checks what can be checked of a release without knowing the shop.
func wellFormed(r *traveler.Release) error {
	switch {
	case !r.ID.Valid():
		return traveler.Invalid("id", "form.uuid")
	case r.Pieces < 1 || r.Pieces > traveler.MaxPieces:
		return traveler.Invalid("pieces", "release.pieces", strconv.Itoa(traveler.MaxPieces))
	case r.Wanted < 1 || r.Wanted > traveler.MaxPieces:
		return traveler.Invalid("wanted", "form.number")
	case r.Priority < -traveler.MaxPieces || r.Priority > traveler.MaxPieces:
		return traveler.Invalid("priority", "form.number")
	case !timeful(r.Due):
		return traveler.Invalid("due", "form.time")
	case !timeful(r.Released):
		return traveler.Invalid("released", "form.time")
	case len(r.MaterialLots) > traveler.MaxLosses:
		return traveler.Invalid("material_lots", "form.number")
	}
	for _, f := range append([][2]string{
		{"part", r.Part}, {"route_rev", r.RouteRev}, {"works_order", r.WorksOrder}, {"customer", r.Customer},
		{"order_line", r.OrderLine},
	}, named("material_lots", r.MaterialLots)...) {
		if !traveler.CleanText(f[1], traveler.MaxShort) {
			return traveler.Invalid(f[0], "form.text")
		}
	}
	return nil
}

func named(field string, texts []string) [][2]string {
	out := make([][2]string, len(texts))
	for i, t := range texts {
		out[i] = [2]string{field, t}
	}
	return out
}

// timeful reports whether a time is unsaid, or in the years that a form takes.
func timeful(t time.Time) bool { return t.IsZero() || t.Year() >= 2000 && t.Year() <= 9999 }

// release checks all before it changes anything.
func (w *writer) release(by traveler.Actor, rs []*traveler.Release, cards []traveler.Code) ([]reply, error) {
	out := make([]reply, len(rs))
	fresh := map[traveler.ScanID]*traveler.Release{}
	taken := map[traveler.Code]bool{}
	var entries []*traveler.Entry
	for i, r := range rs {
		known, err := w.releasedAgain(r, fresh, &out[i])
		if err != nil {
			return nil, err
		}
		if known {
			continue
		}
		fresh[r.ID] = r
		card, err := w.cardFor(r, i, cards, taken)
		if err != nil {
			return nil, err
		}
		taken[card] = true
		entries = append(entries, &traveler.Entry{Release: r, Card: card})
	}
	for _, e := range entries {
		w.putOnFloor(by, e)
	}
	for i, r := range rs {
		if out[i].answer.ID == "" {
			e := w.pending[r.ID]
			out[i] = releaseReply(e)
			out[i].answer.Again = fresh[r.ID] != r
		}
	}
	return out, nil
}

func releaseReply(e *traveler.Entry) reply {
	return reply{root: e.Card,
		answer: story.Answer{ID: e.Release.ID, Outcome: traveler.Kept, Seq: e.Seq, Card: e.Card}}
}

// releasedAgain answers a release whose id is kept already, or stands earlier
// in the same list.
func (w *writer) releasedAgain(r *traveler.Release, fresh map[traveler.ScanID]*traveler.Release,
	out *reply) (bool, error) {
	if f := fresh[r.ID]; f != nil {
		if !reflect.DeepEqual(f, r) {
			return false, traveler.Fail(traveler.KindConflict, "release.conflict", string(r.ID))
		}
		return true, nil
	}
	e, err := w.byID(r.ID, sighting{})
	if err != nil {
		return false, w.readFailed(err)
	}
	if e == nil {
		return false, nil
	}
	if e.Release == nil || !reflect.DeepEqual(e.Release, r) {
		return false, traveler.Fail(traveler.KindConflict, "release.conflict", string(r.ID))
	}
	*out = releaseReply(e)
	out.answer.Again = true
	return true, nil
}

// cardFor checks that a batch can be released and gives it its card.
func (w *writer) cardFor(r *traveler.Release, i int, cards []traveler.Code,
	taken map[traveler.Code]bool) (traveler.Code, error) {
	if _, ok := w.shop.Route(r.Part, r.RouteRev); !ok {
		return "", traveler.Invalid("route_rev", "release.part", r.Part, r.RouteRev)
	}
	if i < len(cards) && cards[i] != "" {
		c, ok := traveler.ParseCode(string(cards[i]))
		if !ok || c != cards[i] || c.Kind() != traveler.KindBatch || taken[c] {
			return "", traveler.Invalid("card", "release.card", string(cards[i]))
		}
		free, err := w.free(c)
		if err != nil {
			return "", w.readFailed(err)
		}
		if !free {
			return "", traveler.Invalid("card", "release.card", string(c))
		}
		return c, nil
	}
	for {
		c, err := w.newCode(traveler.KindBatch)
		if err != nil {
			return "", w.readFailed(err)
		}
		if !taken[c] && !slices.Contains(cards, c) {
			return c, nil
		}
	}
}

func (w *writer) putOnFloor(by traveler.Actor, e *traveler.Entry) {
	r, card := e.Release, e.Card
	*e = *w.next(by)
	e.Release, e.Card, e.Rules, e.Outcome = r, card, story.Rules, traveler.Kept
	w.keep(e)
	w.own(card, card)
	w.setFamily(story.Fold(w.shop, []*traveler.Entry{e}))
	w.use(r)
}

// use notes that a route revision may not change any more.
func (w *writer) use(r *traveler.Release) {
	key := traveler.RouteKey{Part: r.Part, Rev: r.RouteRev}
	if !w.used[key] {
		w.used[key] = true
		w.rows = append(w.rows, store.LedgerRow(ledgerUsed, key.Part+"\x00"+key.Rev, true))
	}
}
