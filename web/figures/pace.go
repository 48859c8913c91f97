package figures

import (
	"cmp"
	"slices"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/board"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
)

// paceBatch is one batch at one operation, behind a line of the pace board.
type paceBatch struct {
	Card       traveler.Code        `json:"card"`
	WorksOrder string               `json:"works_order,omitempty"`
	Ended      *time.Time           `json:"ended"` // of the last visit there
	Machines   []traveler.MachineID `json:"machines"`
	Visits     []traveler.ScanID    `json:"visits"`
	Setup      float64              `json:"setup_s"`
	Setups     int                  `json:"setups"`
	Run        float64              `json:"run_s"`
	Made       int                  `json:"made"`
	Piece      *float64             `json:"piece_s"` // null when none was made, or it is left out
	// Before its first visit; null when its beginning is not sure.
	Wait    *float64 `json:"wait_s"`
	Worked  *float64 `json:"worked_s"`
	LeftOut bool     `json:"left_out"`
	Why     []string `json:"why"` // start, finish, uncertain
}

// paceOperation is a line of the pace board with the batches behind it.
type paceOperation struct {
	Row     board.OpPace `json:"row"`
	Batches []paceBatch  `json:"batches"`
	Days    int          `json:"days"` // of history
}

// getPaceOp opens a line of the pace board: the batches behind it, the newest
// first.
func (s *room) getPaceOp(c *fiber.Ctx) error {
	part, rev := c.Query("part"), c.Query("route_rev")
	operation, err := ask.QueryInt(c, "operation", 0)
	if err != nil {
		return err
	}
	op := traveler.Op(operation)
	now := s.Time()
	p := board.NewPace()
	list := []paceBatch{}
	q := story.FactQuery{Part: part, From: now.AddDate(0, 0, -board.PaceDays), Open: true}
	err = s.Desk.Facts(q, func(b *story.BatchFact) bool {
		if b.Rev != rev {
			return true
		}
		for i := range b.Ops {
			if o := &b.Ops[i]; o.Operation == op && o.Closed && !o.Outside {
				one := *b
				one.Ops = b.Ops[i : i+1]
				p.Add(b.Root, &one)
				list = append(list, paceBatchOf(b, o))
			}
		}
		return true
	})
	if err != nil {
		return err
	}
	rows := p.Rows()
	if len(rows) != 1 {
		return traveler.Fail(traveler.KindNotFound, "pace.none", part, rev, op.String())
	}
	slices.SortFunc(list, func(a, b paceBatch) int {
		return cmp.Or(instant(b.Ended).Compare(instant(a.Ended)), cmp.Compare(a.Card, b.Card))
	})
	return c.JSON(paceOperation{rows[0], list, board.PaceDays})
}

func instant(t *time.Time) time.Time {
	if t == nil {
		return time.Time{}
	}
	return *t
}

func paceBatchOf(b *story.BatchFact, o *story.OpFact) paceBatch {
	v := paceBatch{
		Card: b.Card, WorksOrder: b.Order, Setup: o.Setup.Seconds(), Setups: o.Setups, Run: o.Run.Seconds(),
		Made: o.Made, LeftOut: o.Inferred, Machines: []traveler.MachineID{}, Visits: []traveler.ScanID{},
		Why: []string{},
	}
	if run, made := o.TookRun(); made > 0 {
		v.Piece = ask.Seconds(run / time.Duration(made))
	}
	begun := false
	for i := range b.Visits {
		x := &b.Visits[i]
		if x.Operation != o.Operation || x.ReworkFor != 0 {
			continue
		}
		if !begun && !x.Begun.IsZero() {
			begun = true
			if !x.NoStart && !x.Uncertain {
				v.Wait, v.Worked = ask.Seconds(x.Parts.Transport+x.Parts.Queue+x.Parts.Between), ask.Seconds(
					x.Waited)
			}
		}
		v.Visits = append(v.Visits, x.Visit)
		v.Machines = append(v.Machines, x.Machine)
		v.Ended = ask.Moment(x.Ended)
		v.Why = append(v.Why, whyLeftOut(x)...)
	}
	return v
}

func whyLeftOut(v *story.VisitFact) (out []string) {
	for _, x := range []struct {
		yes  bool
		what string
	}{{v.NoStart, story.InferredStart}, {v.NoFinish, story.InferredFinish}, {v.Uncertain, "uncertain"}} {
		if x.yes {
			out = append(out, x.what)
		}
	}
	return out
}
