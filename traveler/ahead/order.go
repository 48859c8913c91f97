package ahead

import (
	"cmp"
	"context"
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// order reads a record in the order in which things became known. What was
// imported of an older log became known when it happened, so it is gathered first
// and mixed in; the lists of the shop that came with it go before all of it.
type order struct {
	desk     story.Desk
	rest     func() // between pieces
	lists    []*traveler.Entry
	imported []*traveler.Entry // by Known, from next on
	next     int
	seq      traveler.Seq // read up to here
	last     traveler.Seq // of what was gathered
}

// piece is how many entries are read at once: no reading goes on while anything is
// worked out, since a long one holds up the file's growth.
const piece = 4096

// newOrder gathers what was imported. It fails as the desk does, or with the
// context's error.
func newOrder(ctx context.Context, desk story.Desk, rest func()) (*order, error) {
	o := &order{desk: desk, rest: rest}
	var lists []*traveler.Entry
	err := o.pieces(ctx, 1, func(e *traveler.Entry) error {
		switch {
		case e.Change != nil && e.By.Name == traveler.Importer:
			lists = append(lists, e)
		case isOld(e):
			o.imported, o.last = append(o.imported, e), e.Seq
		}
		return nil
	})
	slices.SortStableFunc(o.imported, func(a, b *traveler.Entry) int {
		return cmp.Or(Known(a).Compare(Known(b)), cmp.Compare(a.Seq, b.Seq))
	})
	for _, e := range lists {
		if e.Seq < o.last {
			o.lists = append(o.lists, e)
		}
	}
	return o, err
}

// isOld reports whether an entry became known before it arrived here.
func isOld(e *traveler.Entry) bool { return Known(e).Before(e.Arrived) }

// read hands on what has come since the last time, in order, with when it became
// known. It fails as take, as the desk, or with the context's error.
func (o *order) read(ctx context.Context, take func(e *traveler.Entry, known time.Time) error) error {
	for _, e := range o.lists {
		if err := take(e, time.Time{}); err != nil {
			return err
		}
	}
	o.lists = nil
	return o.pieces(ctx, o.seq+1, func(e *traveler.Entry) error {
		o.seq = e.Seq
		for o.next < len(o.imported) && !Known(o.imported[o.next]).After(e.Arrived) {
			if err := take(o.imported[o.next], Known(o.imported[o.next])); err != nil {
				return err
			}
			o.imported[o.next] = nil
			o.next++
		}
		if e.Seq < o.last && (isOld(e) || e.Change != nil && e.By.Name == traveler.Importer) ||
			e.Seq == o.last && isOld(e) {
			return nil // it came in its place, before
		}
		return take(e, Known(e))
	})
}

// pieces reads entries from one on, some at a time.
func (o *order) pieces(ctx context.Context, from traveler.Seq, take func(*traveler.Entry) error) error {
	for {
		var got []*traveler.Entry
		err := o.desk.Entries(from, func(e *traveler.Entry) bool {
			got = append(got, e)
			return len(got) < piece
		})
		if err != nil {
			return err
		}
		for _, e := range got {
			if err := take(e); err != nil {
				return err
			}
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		if len(got) < piece {
			return nil
		}
		from = got[len(got)-1].Seq + 1
		o.rest()
	}
}
