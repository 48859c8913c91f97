package floor

import (
	"bytes"
	"slices"
	"sort"
	"strings"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/paper"
	"tallywalk/traveler/people"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// releaseBody is a batch to release. Dates are 2026-11-25.
type releaseBody struct {
	ID         traveler.ScanID `json:"id" api:"format=uuid"`
	Part       string          `json:"part"`
	RouteRev   string          `json:"route_rev"`
	Pieces     int             `json:"pieces" api:"min=1"`
	Wanted     int             `json:"wanted,omitempty" api:"min=0"`
	Due        string          `json:"due,omitempty" api:"format=date"`
	WorksOrder string          `json:"works_order,omitempty"`
	Customer   string          `json:"customer,omitempty"`
	OrderLine  string          `json:"order_line,omitempty"`
	Lots       []string        `json:"material_lots,omitempty"`
	Priority   int             `json:"priority,omitempty"`
	Hot        bool            `json:"hot,omitempty"`      // goes before all that is not
	Released   *time.Time      `json:"released,omitempty"` // may be earlier than now
	// The batch that falls short, whose pieces this one makes up: so many are wanted of
	// it no more. Part, works order and order line are those of that batch.
	MakesUp traveler.Code `json:"makes_up,omitempty"`
}

// release checks what can be checked of a batch without knowing the shop.
func (in *releaseBody) release() (traveler.Release, error) {
	r := traveler.Release{
		ID: in.ID, Part: in.Part, RouteRev: in.RouteRev, Pieces: in.Pieces, Wanted: in.Wanted,
		WorksOrder: in.WorksOrder, Customer: in.Customer, OrderLine: in.OrderLine, MaterialLots: in.Lots,
		Priority: in.Priority, Hot: in.Hot, MakesUp: in.MakesUp,
	}
	if in.Due != "" {
		due, err := time.Parse(time.DateOnly, in.Due)
		if err != nil {
			return r, traveler.Invalid("due", "web.date", in.Due)
		}
		r.Due = due
	}
	if in.Released != nil {
		r.Released = in.Released.UTC().Truncate(time.Millisecond)
	}
	return r, r.WellFormed()
}

// postBatch releases a batch; sent again it answers the same.
func (s *room) postBatch(c *fiber.Ctx) error {
	var in releaseBody
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	r, err := in.release()
	if err != nil {
		return err
	}
	p := door.Who(c)
	by := traveler.Actor{Name: p.Name, Role: p.Role}
	if err := s.sameLine(&r); err != nil {
		return err
	}
	answers, err := s.Desk.Release(c.Context(), by, []traveler.Release{r}, nil)
	if err != nil {
		return err
	}
	a := &answers[0]
	if a.Err != nil {
		return a.Err
	}
	if err := s.makeUp(c.Context(), by, &r, a.Card); err != nil {
		return err
	}
	f, i, err := s.FamilyOf(string(a.Card))
	if err != nil {
		return err
	}
	return c.Status(fiber.StatusCreated).JSON(s.batchView(s.Faces(c), f, i))
}

// getBatch answers one batch.
func (s *room) getBatch(c *fiber.Ctx) error {
	f, i, err := s.FamilyOf(ask.PathParam(c, "code"))
	if err != nil {
		return err
	}
	v := s.batchView(s.Faces(c), f, i)
	if v.Provisional, err = s.SilentAt(openAt(f, i)); err != nil {
		return err
	}
	return c.JSON(v)
}

// openAt are the machines at which a batch is.
func openAt(f *story.Family, i int) (out []traveler.MachineID) {
	for j := range f.Visits {
		if v := &f.Visits[j]; v.Batch == i && v.Open() && !slices.Contains(out, v.Machine) {
			out = append(out, v.Machine)
		}
	}
	return out
}

// shortBatch is a batch in a list.
type shortBatch struct {
	Card       traveler.Code    `json:"card"`
	Part       string           `json:"part"`
	PartName   string           `json:"part_name,omitempty"`
	RouteRev   string           `json:"route_rev"`
	WorksOrder string           `json:"works_order,omitempty"`
	Customer   string           `json:"customer,omitempty"`
	Due        string           `json:"due,omitempty"`
	Priority   int              `json:"priority"`
	Hot        bool             `json:"hot,omitempty"`
	Short      int              `json:"short,omitempty"` // pieces wanted that can't come any more
	Started    int              `json:"started"`
	Wanted     int              `json:"wanted"`
	Good       int              `json:"good"`
	Scrap      int              `json:"scrap"`
	State      story.BatchState `json:"state"`
	Next       traveler.Op      `json:"next_operation,omitempty"`
	Released   time.Time        `json:"released"`
}

func (b *shortBatch) matches(q string) bool {
	if q == "" {
		return true
	}
	for _, s := range []string{string(b.Card), b.Part, b.PartName, b.WorksOrder, b.Customer} {
		if strings.Contains(strings.ToLower(s), q) {
			return true
		}
	}
	return false
}

const mostListed = 500

// batchesView is batches in a list.
type batchesView struct {
	Batches []shortBatch `json:"batches"`
	More    bool         `json:"more"` // than the limit
}

// getBatches lists the batches on the floor, newest release first.
func (s *room) getBatches(c *fiber.Ctx) error {
	q := strings.ToLower(strings.TrimSpace(c.Query("q")))
	limit, err := ask.QueryInt(c, "limit", 200)
	if err != nil {
		return err
	}
	limit = min(max(1, limit), mostListed)
	out := []shortBatch{}
	s.Desk.Open(func(f *story.Family) bool {
		for i := range f.Batches {
			v := shortOf(f, i)
			if c.Query("state") == "open" && (v.State == story.StateDone || v.State == story.StateCancelled) {
				continue
			}
			if v.matches(q) {
				out = append(out, v)
			}
		}
		return true
	})
	sort.Slice(out, func(i, j int) bool {
		if !out[i].Released.Equal(out[j].Released) {
			return out[i].Released.After(out[j].Released)
		}
		return out[i].Card < out[j].Card
	})
	more := len(out) > limit
	if more {
		out = out[:limit]
	}
	return c.JSON(batchesView{out, more})
}

func shortOf(f *story.Family, i int) shortBatch {
	b, sum := &f.Batches[i], f.Sum(i)
	return shortBatch{
		Card: b.Card, Part: b.Part, PartName: b.Name, RouteRev: b.Rev, WorksOrder: b.Order,
		Customer: b.Customer,
		Due:      ask.Date(b.Due), Priority: b.Priority, Hot: b.Hot, Short: f.Short(i), Started: sum.Started,
		Wanted: b.Wanted, Good: sum.Good,
		Scrap: sum.Scrap, State: f.State(i), Next: f.NextOp(i), Released: b.Released,
	}
}

// getCard prints the job card of a batch.
func (s *room) getCard(c *fiber.Ctx) error {
	f, i, err := s.FamilyOf(strings.TrimSuffix(ask.PathParam(c, "code"), "/"))
	if err != nil {
		return err
	}
	size := c.Query("paper", "A5")
	if !slices.Contains(cardSizes, size) {
		return traveler.Invalid("paper", "web.paper")
	}
	var w bytes.Buffer
	if err := s.Print(&w, []paper.Printed{s.Printed(f, i)}, size, ask.Language(c)); err != nil {
		return err
	}
	return sendPDF(c, &w, string(f.Batches[i].Card))
}

// Printed is a batch as it is printed now.
func (s *room) Printed(f *story.Family, i int) paper.Printed {
	return paper.PrintedOf(s.Desk, f, i, s.PublicURL, s.Time().In(s.Zone))
}

func sendPDF(c *fiber.Ctx, w *bytes.Buffer, name string) error {
	c.Set(fiber.HeaderContentType, "application/pdf")
	c.Set(fiber.HeaderContentDisposition, `inline; filename="`+name+`.pdf"`)
	return c.Send(w.Bytes())
}

// getSheet prints the scanner test card, badges, machine plates, a machine's action
// sheet, the labels of devices, or the sheet from which they come to trust the server.
func (s *room) getSheet(c *fiber.Ctx) error {
	kind, ok := strings.CutSuffix(ask.PathParam(c, "kind"), ".pdf")
	now := s.Time()
	shop := s.Desk.Shop()
	sheet := paper.Sheet{Kind: kind, Machines: shop.Machines(now), Printed: now.In(s.Zone)}
	switch kind {
	case "scanner", "plates":
	case "trust":
		sheet.URL, sheet.Fingerprint = s.EntryURL+"/trust", s.Fingerprint()
	case "devices":
		if !traveler.May(door.Who(c).Role, traveler.DeedEnrol) {
			return traveler.Fail(traveler.KindForbidden, "web.role", string(door.Who(c).Role))
		}
		devices, err := s.Devices()
		if err != nil {
			return err
		}
		sheet.URL, sheet.Devices = s.EntryURL+"/station", devices
	case "badges":
		if !traveler.May(door.Who(c).Role, traveler.DeedAccounts) { // a badge is as good as a password
			return traveler.Fail(traveler.KindForbidden, "web.role", string(door.Who(c).Role))
		}
		people, err := people.All(s.Tables)
		if err != nil {
			return err
		}
		sheet.People = people
	case "actions":
		id, found := shop.FindMachine(c.Query("machine"))
		if !found {
			return traveler.Fail(traveler.KindNotFound, "station.unknown", c.Query("machine"))
		}
		sheet.Machine, _ = shop.Machine(id, now)
		for _, kind := range traveler.ReasonKinds {
			sheet.Reasons = append(sheet.Reasons, shop.Reasons(kind, now)...)
		}
	default:
		ok = false
	}
	if !ok {
		return traveler.Fail(traveler.KindNotFound, "web.nothing", c.Path())
	}
	var w bytes.Buffer
	if err := s.PrintSheet(&w, sheet, ask.Language(c)); err != nil {
		return err
	}
	return sendPDF(c, &w, kind)
}
