package ahead

import (
	"slices"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	core "tallywalk/traveler/ahead"
	"tallywalk/traveler/board"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
)

// nextBatch is a batch that waits for a machine, in the shop's order.
type nextBatch struct {
	Place      int           `json:"place"` // 1 = next
	Card       traveler.Code `json:"card"`
	WorksOrder string        `json:"works_order,omitempty"`
	Part       string        `json:"part"`
	PartName   string        `json:"part_name,omitempty"`
	Operation  traveler.Op   `json:"operation"`
	Pieces     int           `json:"pieces"`
	Due        string        `json:"due,omitempty"`
	Hot        bool          `json:"hot,omitempty"` // goes before all that is not
	Priority   int           `json:"priority"`
	State      string        `json:"state"` // as on the waits board; what does not wait for work stands last
	// Things of the shop's list that someone said are missing; what lacks one stands last.
	NotReady []string   `json:"not_ready,omitempty"`
	Since    time.Time  `json:"since"`
	Setup    float64    `json:"setup_s"` // planned
	Run      float64    `json:"run_s"`   // planned, of its pieces
	Saves    float64    `json:"saves_s"` // of the set-up, where the same part is on for the same operation
	P50      *time.Time `json:"p50"`     // delivery
	P85      *time.Time `json:"p85"`
	OnTime   *float64   `json:"on_time"`
	Slack    *float64   `json:"slack_s"`
	Late     string     `json:"late" api:"enum=|now|likely|risk"`
	// What follows from taking it before all others; null for the first, and where that is
	// not found out yet.
	First *takenFirst `json:"first"`
	Say   string      `json:"say"` // all that in a sentence; empty where there is nothing to say
}

// takenFirst is what follows from taking a batch before all others.
type takenFirst struct {
	LateBefore int     `json:"late_before"`
	LateAfter  int     `json:"late_after"`
	DaysBefore float64 `json:"days_late_before"` // of all batches together
	DaysAfter  float64 `json:"days_late_after"`
}

// worse reports whether something turns late, or days late are added that a shop would
// notice.
func (t *takenFirst) worse() bool {
	return t.LateAfter > t.LateBefore || t.DaysAfter > t.DaysBefore+0.1
}

// onMachine is what a machine was set up for last.
type onMachine struct {
	Part      string      `json:"part"`
	Operation traveler.Op `json:"operation"`
}

// nextView is what to run next at a machine, as advice.
type nextView struct {
	Machine    traveler.MachineID  `json:"machine"`
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	Rule       core.Rule           `json:"rule"`
	State      string              `json:"state" api:"enum=ready|working|off"` // as of GET /api/v1/ahead
	AsOf       *time.Time          `json:"as_of"`                              // of the dates
	FreeAt     datesView           `json:"free_at"`                            // it may be done with what it is at
	On         *onMachine          `json:"on"`                                 // null where that is not known
	Waiting    []nextBatch         `json:"waiting"`
	Say        string              `json:"say"` // the advice in a sentence
}

// getNext answers what waits for a machine, in the shop's order.
func (s *Ahead) getNext(c *fiber.Ctx) error {
	id, ok := s.Desk.Shop().FindMachine(c.Query("machine"))
	if !ok {
		return traveler.Fail(traveler.KindNotFound, "station.unknown", c.Query("machine"))
	}
	v := s.next(id)
	s.advice.fill(id, v.Waiting, s.Real())
	say := speaker(ask.Language(c))
	for i := range v.Waiting {
		v.Waiting[i].Say = say.batch(&v, i)
	}
	v.Say = say.advice(&v)
	if s.Source != nil {
		s.advice.want(id, v.Waiting, s.Real())
	}
	return c.JSON(v)
}

// next is the line before a machine, without what follows from another order.
func (s *Ahead) next(id traveler.MachineID) nextView {
	now := s.Time()
	m, _ := s.Desk.Shop().Machine(id, now)
	f, empty := s.forecast(), s.emptyForecast()
	v := nextView{
		Machine: id, WorkCentre: m.WorkCentre, Rule: empty.Rule, State: empty.State, On: s.isOn(id),
		Waiting: []nextBatch{},
	}
	if f != nil {
		v.State, v.AsOf = "ready", moment(f.AsOf)
		v.FreeAt = datesOf(s.Source.Busy(id))
	}
	for _, r := range s.line(&m) {
		x := s.nextOf(&r, v.On)
		if b := batchIn(f, r.Card); b != nil {
			x.P50, x.P85, x.Late = moment(b.Delivered.P50), moment(b.Delivered.P85), lateness(b, f.AsOf)
			if !b.Due.IsZero() && x.P50 != nil {
				x.OnTime, x.Slack = &b.OnTime, ask.Seconds(b.Slack)
			}
		}
		v.Waiting = append(v.Waiting, x)
	}
	s.inOrder(&v, f)
	return v
}

func batchIn(f *core.Forecast, card traveler.Code) *core.BatchDates {
	if f == nil {
		return nil
	}
	return f.Batch(card)
}

// line is what waits for a machine: before its work centre, and for itself by name.
func (s *Ahead) line(m *traveler.Machine) []board.Row {
	rows := s.Waiting(m.WorkCentre)
	if own := traveler.WorkCentre(m.ID); own != m.WorkCentre {
		rows = append(rows, s.Waiting(own)...)
		board.Sort(rows)
	}
	return slices.DeleteFunc(rows, func(r board.Row) bool {
		return r.Arrived && r.Machine != "" && r.Machine != m.ID // it lies at another one
	})
}

// takes reports whether a machine can take a batch that waits: nothing that it needs is
// said to be missing.
func takes(b *nextBatch) bool {
	return (b.State == "waiting" || b.State == string(story.WaitRework)) && len(b.NotReady) == 0
}

// nextOf is a row of the waits board with the planned times of its operation.
func (s *Ahead) nextOf(r *board.Row, on *onMachine) nextBatch {
	x := nextBatch{
		Card: r.Card, WorksOrder: r.WorksOrder, Part: r.Part, PartName: r.PartName, Operation: r.Operation,
		Pieces: r.Pieces,
		Due:    r.Due, Hot: r.Hot, Priority: r.Priority, State: r.State, NotReady: r.NotReady.List(),
		Since: r.Since,
	}
	f, err := s.Desk.Family(r.Card)
	if err != nil {
		return x // it left the floor since
	}
	k := f.Index(r.Card)
	if k < 0 {
		return x
	}
	b := &f.Batches[k]
	for i := range b.Ops {
		o := &b.Ops[i]
		if o.Number != r.Operation {
			continue
		}
		x.Setup, x.Run = 60*o.SetupMin, 60*o.MinPerPiece()*float64(r.Pieces)
		if on != nil && on.Part == b.Part && on.Operation == o.Number {
			x.Saves = x.Setup
		}
	}
	return x
}

// setUpKnown is for how long a machine counts as set up for what it did last.
const setUpKnown = 14 * 24 * time.Hour

// isOn is what a machine was set up for last, of what is on the floor or left it since;
// nil where nobody knows.
func (s *Ahead) isOn(id traveler.MachineID) *onMachine {
	var last time.Time
	var on *onMachine
	look := func(part string, v *story.VisitFact) {
		if v.Machine == id && v.Begun.After(last) {
			last, on = v.Begun, &onMachine{part, v.Operation}
		}
	}
	s.Desk.Open(func(f *story.Family) bool {
		for i := range f.Visits {
			v := &f.Visits[i]
			if v.Machine != id {
				continue
			}
			for _, span := range f.SpansOf(i) {
				look(f.Batches[v.Batch].Part,
					&story.VisitFact{Machine: id, Operation: v.Operation, Begun: span.From})
			}
		}
		return true
	})
	if on == nil || s.Time().Sub(last) > setUpKnown {
		return nil
	}
	q := story.FactQuery{From: last, To: s.Time().Add(time.Second), Lent: true,
		Without: story.FactTrip | story.FactIDs | story.FactLosses}
	if err := s.Desk.Facts(q, func(b *story.BatchFact) bool {
		for i := range b.Visits {
			look(b.Part, &b.Visits[i])
		}
		return true
	}); err != nil {
		return nil // then nothing is said of set-ups
	}
	return on
}
