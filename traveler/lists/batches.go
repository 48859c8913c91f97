package lists

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/intake"
	"tallywalk/traveler/story"
)

// batches says what becomes of a list of batches. A works order that is there already
// is updated, the first line of it its first batch, and so on.
func (s *Room) batches(p *Plan, in io.Reader) error {
	batches, err := intake.Batches(p.file, in, s.Zone)
	if err != nil {
		return err
	}
	if err := s.checkBatches(p.file, batches); err != nil {
		return err
	}
	seen := map[string]int{}
	var bad intake.Refused
	for _, b := range batches {
		key := strings.Join(
			[]string{b.Release.WorksOrder, b.Release.Part, b.Release.RouteRev, b.Release.OrderLine}, "\x00")
		if b.Release.WorksOrder == "" {
			key = fmt.Sprintf("%+v", b.Release)
		}
		n := seen[key]
		seen[key]++
		b.Release.ID = traveler.IDOf(fmt.Sprintf("batch %s %d", key, n))
		f, i := s.carded(&b)
		if f != nil {
			asReleased(f, i, &b.Release)
		} else {
			f, i = s.nth(&b.Release, n)
			keepMadeUp(f, i, &b.Release)
		}
		if f == nil {
			p.releases, p.cards = append(p.releases, b.Release), append(p.cards, b.Card)
			p.put(batchKey(&b.Release), New)
			continue
		}
		up, changes := s.changesOf(f, i, &b)
		if s := f.State(i); len(up) > 0 && (s == story.StateCancelled || f.Batches[i].Joined != "") {
			bad.Add(intake.Problem{File: p.file, Line: b.Line, Column: "works_order",
				Value:  b.Release.WorksOrder,
				Reason: "batch " + string(f.Batches[i].Card) + " is cancelled or joined and changes no more"})
		}
		putKnown(p, batchKey(&b.Release), true, changes)
		p.updates = append(p.updates, up...)
	}
	return bad.Err()
}

func batchKey(r *traveler.Release) string {
	return strings.TrimSpace(r.WorksOrder + " " + r.Part + " " + r.RouteRev + " " + num(r.Pieces))
}

// TakeBatches releases batches, all or none, and changes others, each by itself. It fails
// as the desk does, and with KindInvalid, saying what was kept all the same, where a change
// is refused.
func (s *Room) TakeBatches(ctx context.Context, file string, fresh []traveler.Release, cards []traveler.Code,
	changes []story.Said) error {
	if len(fresh) > 0 {
		answers, err := s.Desk.Release(ctx, s.By, fresh, cards)
		if err != nil {
			return fmt.Errorf("%s: nothing was imported: %w", file, err)
		}
		for i := range answers {
			if answers[i].Err != nil {
				return fmt.Errorf("%s: nothing was imported: %w", file, answers[i].Err)
			}
		}
	}
	if len(changes) == 0 {
		return nil
	}
	answers, err := s.Desk.Scans(ctx, changes)
	if err != nil {
		return fmt.Errorf("%s: %d batches were released; of the changes to others some may be kept: %w", file,
			len(fresh), err)
	}
	return refusedOf(answers, changes, len(fresh))
}

// refusedOf says which change was refused first, and what was kept all the same; nil where
// all of them were kept.
func refusedOf(answers []story.Answer, changes []story.Said, released int) error {
	first, refused := -1, 0
	for i := range answers {
		if answers[i].Err == nil && answers[i].Outcome != traveler.Refused {
			continue
		}
		if refused++; first < 0 {
			first = i
		}
	}
	if first < 0 {
		return nil
	}
	why := answers[first].Say.Text(traveler.English)
	if err := answers[first].Err; err != nil {
		why = err.Error()
	}
	return traveler.Fail(
		traveler.KindInvalid, "lists.partly", num(released), num(len(answers)-refused), num(refused),
		changes[first].Scan.Card, why,
	)
}

// checkBatches names the lines whose part and route are not known.
func (s *Room) checkBatches(file string, batches []intake.Batch) error {
	shop := s.Desk.Shop()
	var bad intake.Refused
	for _, b := range batches {
		if _, ok := shop.Route(b.Release.Part, b.Release.RouteRev); ok {
			continue
		}
		bad.Add(intake.Problem{File: file, Line: b.Line, Column: "route_rev", Value: b.Release.RouteRev,
			Reason: "part " + b.Release.Part + " has no route of this revision; import routes first"})
	}
	return bad.Err()
}

// carded finds the batch that has the card of a line already.
func (s *Room) carded(b *intake.Batch) (*story.Family, int) {
	if b.Card == "" {
		return nil, 0
	}
	f, err := s.Desk.Family(b.Card)
	if err != nil {
		return nil, 0
	}
	i := f.Index(b.Card)
	if i < 0 || f.Batches[i].Part != b.Release.Part || f.Batches[i].Rev != b.Release.RouteRev {
		return nil, 0
	}
	return f, i
}

// asReleased lets a line that was exported change nothing: it has what its batch
// was released with, and someone may have changed that since.
func asReleased(f *story.Family, i int, r *traveler.Release) {
	for _, e := range f.Record() {
		if was := e.Release; was != nil && e.Card == f.Batches[i].Card {
			if r.Pieces == was.Pieces {
				r.Pieces = f.Batches[i].Started
			}
			if r.Wanted == cmp.Or(was.Wanted, was.Pieces) {
				r.Wanted = f.Batches[i].Wanted
			}
			if r.Priority == was.Priority {
				r.Priority = f.Batches[i].Priority
			}
			if r.Due.Equal(was.Due) {
				r.Due = f.Batches[i].Due
			}
			if r.Hot == was.Hot {
				r.Hot = f.Batches[i].Hot
			}
			if r.Customer == was.Customer {
				r.Customer = f.Batches[i].Customer
			}
			if r.OrderLine == was.OrderLine {
				r.OrderLine = f.Batches[i].Line
			}
			if slices.Equal(r.MaterialLots, was.MaterialLots) {
				r.MaterialLots = f.Batches[i].Lots
			}
		}
	}
}

// keepMadeUp keeps what is wanted of a batch that others make up for: the list says
// what the order line wants, of all of them together.
func keepMadeUp(f *story.Family, i int, r *traveler.Release) {
	if f == nil || len(f.Batches[i].MadeUp) == 0 {
		return
	}
	for _, e := range f.Record() {
		if was := e.Release; was != nil && e.Card == f.Batches[i].Card &&
			r.Wanted == cmp.Or(was.Wanted, was.Pieces) {
			r.Wanted = f.Batches[i].Wanted
		}
	}
}

// nth finds the n-th batch of a works order, counted by when it was released.
func (s *Room) nth(r *traveler.Release, n int) (*story.Family, int) {
	if r.WorksOrder == "" {
		return nil, 0
	}
	for _, card := range s.Desk.FindCard(r.WorksOrder) {
		f, err := s.Desk.Family(card)
		if err != nil || f.Root != card {
			continue
		}
		if b := &f.Batches[0]; b.Part != r.Part || b.Rev != r.RouteRev || b.Line != r.OrderLine ||
			b.Order != r.WorksOrder {
			continue
		}
		if n == 0 {
			return f, 0
		}
		n--
	}
	return nil, 0
}

// changesOf are the scans that bring a batch to what a line of the list says of it now.
// What the line leaves out stays as it is. In
// words they are what changes, as before > after.
func (s *Room) changesOf(f *story.Family, i int, line *intake.Batch) (out []story.Said, changes []string) {
	b, r := &f.Batches[i], &line.Release
	say := func(column, what, to string, pieces int, same bool) {
		if same || column != "" && !line.Says(column) {
			return
		}
		now := s.Now().UTC()
		id := traveler.IDOf(fmt.Sprintf("update %s %s %s %d %d", b.Card, what, to, pieces, now.UnixNano()))
		after := to
		if to == "" && what != story.OverrideCustomer && what != story.OverrideLine {
			after = num(pieces)
		}
		changes = append(changes, what+": "+b.Planned(what)+" > "+after)
		out = append(out, story.Said{By: s.By, Scan: traveler.Scan{
			ID: id, At: now, Station: traveler.Office, Card: string(b.Card), Action: traveler.ActOverride,
			For: what, To: to, Pieces: pieces,
			Reason: traveler.Importer, Note: "import",
		}})
	}
	say("", story.OverridePieces, "", r.Pieces, r.Pieces == b.Started)
	wanted := cmp.Or(r.Wanted, r.Pieces)
	say("wanted", story.OverrideWanted, "", wanted, wanted == b.Wanted)
	if !line.Says("wanted") && b.Wanted == b.Started {
		say("", story.OverrideWanted, "", r.Pieces, r.Pieces == b.Wanted) // as many as are started
	}
	say("due", story.OverrideDue, r.Due.Format(time.DateOnly), 0, r.Due.Equal(b.Due))
	say("priority", story.OverridePriority, "", r.Priority, r.Priority == b.Priority)
	hot := 0
	if r.Hot {
		hot = 1
	}
	say("hot", story.OverrideHot, "", hot, r.Hot == b.Hot)
	say("customer", story.OverrideCustomer, r.Customer, 0, r.Customer == b.Customer)
	say("order_line", story.OverrideLine, r.OrderLine, 0, r.OrderLine == b.Line)
	lots := strings.Join(r.MaterialLots, ", ")
	say("material_lot", story.OverrideLots, lots, 0, slices.Equal(r.MaterialLots, b.Lots))
	return out, changes
}
