package figures

import (
	"cmp"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// traced is a batch on the way from material to deliveries.
type traced struct {
	Card       traveler.Code     `json:"card"`
	Parent     traveler.Code     `json:"parent,omitempty"`
	JoinedTo   traveler.Code     `json:"joined_to,omitempty"`
	Root       traveler.Code     `json:"root"`
	Part       string            `json:"part"`
	PartName   string            `json:"part_name,omitempty"`
	DrawingRev string            `json:"drawing_rev,omitempty"`
	RouteRev   string            `json:"route_rev"`
	WorksOrder string            `json:"works_order,omitempty"`
	OrderLine  string            `json:"order_line,omitempty"`
	Customer   string            `json:"customer,omitempty"`
	Lots       []string          `json:"material_lots"`
	State      story.BatchState  `json:"state"`
	Released   time.Time         `json:"released"`
	Ended      *time.Time        `json:"ended"`
	Started    int               `json:"started"`
	Good       int               `json:"good"`
	Scrap      int               `json:"scrap"`
	Concession int               `json:"concession"`
	Review     int               `json:"review"`
	Missing    int               `json:"missing"`
	Stock      int               `json:"stock"`
	Conceded   []conceded        `json:"concessions"`
	Measured   []door.MeasuredAt `json:"measured"`
	Deliveries []delivered       `json:"deliveries"`
	Operations []tracedOp        `json:"operations"`
}

// delivered is pieces that left the shop.
type delivered struct {
	Pieces int       `json:"pieces"`
	At     time.Time `json:"at"`
	Note   string    `json:"note,omitempty"`
}

// conceded is pieces that were let pass with a concession.
type conceded struct {
	Operation traveler.Op `json:"operation"`
	Pieces    int         `json:"pieces"`
	At        time.Time   `json:"at"`
	Reference string      `json:"reference"`
}

// tracedOp is an operation that the pieces went through.
type tracedOp struct {
	Operation  traveler.Op          `json:"operation"`
	WorkCentre traveler.WorkCentre  `json:"work_centre"`
	Machines   []traveler.MachineID `json:"machines"`
	Outside    bool                 `json:"outside"`
	Good       int                  `json:"good"`
	Concession int                  `json:"concession"`
}

const mostTraced = 500

// traceView is what was found of a lot, an order, a customer or a card.
type traceView struct {
	Q       string   `json:"q"`
	Batches []traced `json:"batches"`
	Found   int      `json:"found"` // batches, those that are not listed too
}

// getTrace follows what is asked for, a material lot, a works order, a customer
// or a card, both ways: every batch of the families that it touches.
func (s *room) getTrace(c *fiber.Ctx) error {
	q := strings.TrimSpace(c.Query("q"))
	if q == "" {
		return c.JSON(traceView{q, []traced{}, 0})
	}
	all, found, err := s.trace(askerOf(c), q)
	if err != nil {
		return err
	}
	out, faces := []traced{}, s.Faces(c)
	for i := range all {
		v := tracedOf(&all[i])
		if err := s.decided(&v, &all[i], faces); err != nil {
			return err
		}
		out = append(out, v)
	}
	plain, err := faces.Plain(traceView{q, out, found}) // notes of deliveries and concessions
	if err != nil {
		return err
	}
	return c.JSON(plain)
}

// trace reads the batches of the families that are touched, the newest first,
// and how many there are: first which families, then their batches, then all of
// those that are shown.
func (s *room) trace(who *asker, q string) (all []story.BatchFact, found int, err error) {
	code := traveler.ParseRef(q).Code
	brief := story.FactTrip | story.FactOps | story.FactVisits
	roots := map[traveler.Code]bool{}
	whole := story.FactQuery{Open: true, Without: brief, Lent: true}
	err = s.Desk.Facts(whole, func(b *story.BatchFact) bool {
		if touches(b, q, code) {
			roots[b.Root] = true
		}
		return who.stays()
	})
	if err = who.err(err); err != nil || len(roots) == 0 {
		return nil, 0, err
	}
	var order []tracedAt
	of := story.FactQuery{Open: true, Roots: keysOf(roots), Without: brief, Lent: true}
	err = s.Desk.Facts(of, func(b *story.BatchFact) bool {
		order = append(order, tracedAt{b.Released, b.Root, b.Card})
		return who.stays()
	})
	if err = who.err(err); err != nil {
		return nil, 0, err
	}
	slices.SortFunc(order, tracedAt.compare)
	shown := map[traveler.Code]bool{}
	clear(roots)
	for _, t := range order[:min(mostTraced, len(order))] {
		shown[t.card], roots[t.root] = true, true
	}
	err = s.Desk.Facts(story.FactQuery{Open: true, Roots: keysOf(roots)}, func(b *story.BatchFact) bool {
		if shown[b.Card] {
			all = append(all, *b)
		}
		return true
	})
	slices.SortFunc(all, func(a, b story.BatchFact) int {
		return tracedAt{a.Released, a.Root, a.Card}.compare(tracedAt{b.Released, b.Root, b.Card})
	})
	return all, len(order), err
}

// tracedAt is the place of a batch among those that are traced.
type tracedAt struct {
	released   time.Time
	root, card traveler.Code
}

func (t tracedAt) compare(x tracedAt) int {
	return cmp.Or(x.released.Compare(t.released), cmp.Compare(t.root, x.root), cmp.Compare(t.card, x.card))
}

func keysOf(set map[traveler.Code]bool) []traveler.Code { return slices.Collect(maps.Keys(set)) }

func touches(b *story.BatchFact, q string, code traveler.Code) bool {
	if code != "" && b.Card == code || strings.EqualFold(b.Order, q) || strings.EqualFold(b.Customer, q) {
		return true
	}
	if slices.ContainsFunc(b.Lots, func(l string) bool { return strings.EqualFold(l, q) }) {
		return true
	}
	return slices.ContainsFunc(b.Deliveries, func(d story.Delivery) bool { return saysNote(d.Note, q) })
}

// saysNote reports whether a delivery's note is what is asked for, or ends in it
// as a word of its own: "10283" finds "delivery note 10283".
func saysNote(note, q string) bool {
	return note != "" && (strings.EqualFold(note, q) || strings.HasSuffix(
		strings.ToLower(note), " "+strings.ToLower(q),
	))
}

// decided adds what the story says of a batch beyond its figures: concessions, and
// what inspectors measured.
func (s *room) decided(v *traced, b *story.BatchFact, faces *door.Faces) error {
	v.Conceded, v.Measured = []conceded{}, []door.MeasuredAt{}
	if b.Concession == 0 && !b.Measured {
		return nil
	}
	f, err := s.Desk.Family(b.Card)
	if err != nil {
		return err
	}
	batch := f.Index(b.Card)
	for _, d := range f.Batches[batch].Decisions {
		if d.Concession > 0 {
			v.Conceded = append(v.Conceded, conceded{d.Operation, d.Concession, d.At, d.Reference})
		}
	}
	for j := range f.Visits {
		if f.Visits[j].Batch == batch {
			v.Measured = append(v.Measured, faces.Measured(&f.Visits[j])...)
		}
	}
	return nil
}

func tracedOf(b *story.BatchFact) traced {
	v := traced{
		Card: b.Card, Parent: b.Parent, JoinedTo: b.Joined, Root: b.Root, Part: b.Part, PartName: b.Name,
		DrawingRev: b.Drawing, RouteRev: b.Rev, WorksOrder: b.Order, OrderLine: b.Line, Customer: b.Customer,
		Lots: b.Lots, State: b.State, Released: b.Released, Ended: ask.Moment(b.Ended), Started: b.Started,
		Good: b.Good, Scrap: b.Scrap, Concession: b.Concession, Review: b.Review, Missing: b.Missing,
		Stock: b.Stock, Deliveries: []delivered{}, Operations: []tracedOp{},
	}
	if v.Lots == nil {
		v.Lots = []string{}
	}
	for _, d := range b.Deliveries {
		v.Deliveries = append(v.Deliveries, delivered{d.Pieces, d.At, d.Note})
	}
	for i := range b.Ops {
		o := &b.Ops[i]
		t := tracedOp{o.Operation, o.WorkCentre, []traveler.MachineID{}, o.Outside, o.Good, o.Concession}
		for k := range b.Visits {
			if v := &b.Visits[k]; v.Operation == o.Operation && !slices.Contains(t.Machines, v.Machine) {
				t.Machines = append(t.Machines, v.Machine)
			}
		}
		v.Operations = append(v.Operations, t)
	}
	return v
}
