package intake

import (
	"io"
	"slices"
	"strings"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Exports are the lists that can be written.
var Exports = []string{"batches", "visits", "scans"}

// Selection says which of a shop's batches, with their visits and scans, are
// written. Empty fields do not restrict.
type Selection struct {
	Part, RouteRev, Customer, WorksOrder string
	// From and To bound the end of batches and visits' batches, those on the floor
	// being wanted too unless Past; and when scans happened.
	From, To time.Time
	// Past: the period is over, so that what is on the floor is no part of it.
	Past bool
}

func (sel *Selection) all() bool {
	return sel.Part == "" && sel.RouteRev == "" && sel.Customer == "" && sel.WorksOrder == ""
}

func (sel *Selection) wants(part, rev, customer, order string) bool {
	return (sel.Part == "" || part == sel.Part) && (sel.RouteRev == "" || rev == sel.RouteRev) &&
		(sel.Customer == "" || customer == sel.Customer) &&
		(sel.WorksOrder == "" || strings.EqualFold(order, sel.WorksOrder))
}

// Export writes one of the lists of a desk. It reads piece by piece and holds no
// transaction while it writes, so that a slow reader keeps nobody up. It fails as w and
// desk do, and for a list that is none.
func Export(w io.Writer, desk story.Desk, what string, f Format, zone *time.Location, sel Selection) error {
	switch what {
	case "batches":
		l, err := NewBatches(w, f, zone)
		if err != nil {
			return err
		}
		return l.finish(eachBatch(desk, &sel, true, l.Add))
	case "visits":
		l, err := NewVisits(w, f, zone)
		if err != nil {
			return err
		}
		return l.finish(eachBatch(desk, &sel, false, func(b *story.BatchFact) error {
			for i := range b.Visits {
				if err := l.Add(&VisitOf{b, &b.Visits[i]}); err != nil {
					return err
				}
			}
			return nil
		}))
	case "scans":
		l, err := NewScans(w, f, zone)
		if err != nil {
			return err
		}
		err = eachScan(desk, &sel, l.Add)
		if l.list != nil {
			return l.list.finish(err)
		}
		return err
	}
	return traveler.Fail(traveler.KindNotFound, "export.what", what)
}

// finish ends a list after what went wrong before, if anything did.
func (l *List[T]) finish(err error) error {
	if err != nil {
		l.s.drop()
		return err
	}
	return l.Close()
}

func eachBatch(desk story.Desk, sel *Selection, bare bool, take func(*story.BatchFact) error) error {
	var fault error
	err := desk.Facts(
		story.FactQuery{Part: sel.Part, From: sel.From, To: sel.To, Open: !sel.Past, Bare: bare},
		func(b *story.BatchFact) bool {
			if sel.wants(b.Part, b.Rev, b.Customer, b.Order) {
				fault = take(b)
			}
			return fault == nil
		})
	if fault != nil {
		return fault
	}
	return err
}

// eachScan hands on the scans that fit. Which batches they are of the record
// itself says: a release comes before the scans of its batch.
func eachScan(desk story.Desk, sel *Selection, take func(*traveler.Entry) error) error {
	wanted := map[traveler.Code]bool{}
	var fault error
	err := desk.Entries(1, func(e *traveler.Entry) bool {
		if r := e.Release; r != nil && !sel.all() && sel.wants(r.Part, r.RouteRev, r.Customer, r.WorksOrder) {
			wanted[e.Card] = true
		}
		if e.Scan == nil || !sel.all() && !wanted[e.Card] {
			return true
		}
		if e.Other != "" && e.Scan.Action == traveler.ActSplit && !sel.all() {
			wanted[e.Other] = true
		}
		if !sel.within(e.Scan) {
			return true
		}
		fault = take(e)
		return fault == nil
	})
	if fault != nil {
		return fault
	}
	return err
}

// within reports whether a scan happened in the period.
func (sel *Selection) within(s *traveler.Scan) bool {
	at := s.At.Add(time.Duration(s.OffsetMS) * time.Millisecond)
	if s.Happened != nil {
		at = *s.Happened
	}
	return !at.Before(sel.From) && (sel.To.IsZero() || at.Before(sel.To))
}

// CanExport reports whether there is such a list.
func CanExport(what string) bool { return slices.Contains(Exports, what) }
