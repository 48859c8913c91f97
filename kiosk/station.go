package kiosk

import (
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Station is what an operator at a machine sees of a batch. Durations are in
// seconds, planned times of an operation in minutes.
type Station struct {
	Card       traveler.Code      `json:"card"`
	Part       string             `json:"part"`
	PartName   string             `json:"part_name"`
	DrawingRev string             `json:"drawing_rev"`
	WorksOrder string             `json:"works_order"`
	Due        string             `json:"due"` // a date, or empty
	Started    int                `json:"started"`
	Wanted     int                `json:"wanted"`
	Hot        bool               `json:"hot,omitempty"`   // goes before all that is not
	Short      int                `json:"short,omitempty"` // pieces wanted that can't come any more
	State      story.BatchState   `json:"state"`
	Place      traveler.MachineID `json:"place"`                 // where it was last known to be
	WaitReason string             `json:"wait_reason,omitempty"` // why it waits, as someone said

	// Blocked says why no work may begin: held, cancelled, joined or drawing;
	// Why is the sentence for it.
	Blocked string `json:"blocked,omitempty"`
	Why     string `json:"why,omitempty"`

	Machine     traveler.MachineID  `json:"machine"`
	MachineName string              `json:"machine_name"`
	Operation   traveler.Op         `json:"operation"` // at this machine; 0 = none left
	WorkCentre  traveler.WorkCentre `json:"work_centre"`
	Instruction string              `json:"instruction"`
	SetupMin    float64             `json:"setup_min"`
	CycleMin    float64             `json:"cycle_min"`
	PerCycle    int                 `json:"pieces_per_cycle"`
	Outside     bool                `json:"outside"`
	ReworkFor   traveler.Op         `json:"rework_for,omitempty"` // the open visit is rework of this operation

	Visit      traveler.ScanID  `json:"visit,omitempty"` // the visit that is open here
	VisitState story.VisitState `json:"visit_state,omitempty"`
	Passed     bool             `json:"passed,omitempty"` // the batch was seen further on since
	Since      *time.Time       `json:"since,omitempty"`  // the visit is in this state since
	StopReason string           `json:"stop_reason,omitempty"`
	SpentS     float64          `json:"spent_s"` // in this state, all spans of it together
	PlanS      float64          `json:"plan_s"`  // planned for it; 0 = no plan

	Good    int  `json:"good"` // counted at this visit
	Scrap   int  `json:"scrap"`
	Rework  int  `json:"rework"`
	Review  int  `json:"review"`
	Missing int  `json:"missing"`
	Reads   *int `json:"reads,omitempty"` // what the machine's counter last showed
	Left    int  `json:"left"`            // pieces that can still be counted here
	Of      int  `json:"of"`              // pieces that can come here in all

	Before   *Before  `json:"before,omitempty"`
	FirstOff FirstOff `json:"first_off"`

	ReworkWaiting int `json:"rework_waiting"` // pieces of this batch, anywhere on the route
	ReviewWaiting int `json:"review_waiting"`

	WrongMachine string `json:"wrong_machine,omitempty"` // sentences, where one holds
	WrongOrder   string `json:"wrong_order,omitempty"`

	Undo      *Undo     `json:"undo,omitempty"`
	Questions int       `json:"questions"` // open questions about this batch
	Siblings  []Sibling `json:"siblings,omitempty"`
	// What the operation here needs, by the shop's list, while it has not begun.
	Things []Thing `json:"things,omitempty"`
	Route  []Stop  `json:"route"`
	Steps  []Step  `json:"steps"` // the likely one first
	// Others says what waits for someone else, since the one who asks may not
	// do it.
	Others []Notice `json:"others,omitempty"`

	said struct{ why, machine, order traveler.Msg }
}

// Notice is a sentence for the one at the machine. Key names it in the
// catalogue, Word says it in English.
type Notice struct {
	Key  string   `json:"key"`
	Args []string `json:"args,omitempty"`
	Word string   `json:"word"`
}

// Before is what the operation before this one has let go.
type Before struct {
	Operation  traveler.Op         `json:"operation"`
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	Good       int                 `json:"good"`
	Closed     bool                `json:"closed"`
	Seen       bool                `json:"seen"`
}

// FirstOff says whether a first piece is inspected here, and how that stands:
// empty, waiting, accepted or refused; a refusal with its time and reason.
type FirstOff struct {
	Wanted bool              `json:"wanted"`
	State  string            `json:"state"`
	At     *time.Time        `json:"at,omitempty"`
	Kind   string            `json:"kind,omitempty"` // scrap, rework or review
	Reason string            `json:"reason,omitempty"`
	By     traveler.PersonID `json:"by,omitempty"` // who refused it
}

// Undo is the latest scan made here that can still be taken back by the one who
// made it, until a moment.
type Undo struct {
	ID       traveler.ScanID   `json:"id"`
	Action   traveler.Action   `json:"action"`
	At       time.Time         `json:"at"`
	Until    time.Time         `json:"until"`
	Device   traveler.DeviceID `json:"device,omitempty"`
	Operator traveler.PersonID `json:"operator,omitempty"`
}

// Sibling is another batch of the family, which can be joined to this one.
type Sibling struct {
	Card   traveler.Code `json:"card"`
	Pieces int           `json:"pieces"`
}

// Thing is something that an operation needs, and what was last said of it: State is
// there, missing, or empty where nobody knows.
type Thing struct {
	Thing string            `json:"thing"`
	Text  string            `json:"text"`
	State string            `json:"state,omitempty"`
	Note  string            `json:"note,omitempty"`
	By    traveler.PersonID `json:"by,omitempty"`
	At    *time.Time        `json:"at,omitempty"`
}

func thingsOf(needs []story.Needed) (out []Thing) {
	for i := range needs {
		t := &needs[i].Tick
		x := Thing{Thing: needs[i].Thing.Code, Text: needs[i].Thing.Text, State: t.State, Note: t.Note,
			By: t.By}
		if !t.At.IsZero() {
			x.At = &t.At
		}
		out = append(out, x)
	}
	return out
}

// things are those that the operation meant here needs.
func (l *look) things() []Thing {
	o := l.op()
	if o == nil || l.v != nil && l.v.ReworkFor != 0 || l.over(l.k) {
		return nil
	}
	return thingsOf(l.f.Needs(l.shop, l.batch, o.Number, l.now))
}

// Stop is an operation of the route, in its order.
type Stop struct {
	Operation  traveler.Op         `json:"operation"`
	WorkCentre traveler.WorkCentre `json:"work_centre"`
}

// Look says what someone in a role sees of a batch at a machine; only what that
// role may do is offered. Arrives says that it is usual there to say when a batch
// comes. It never fails: what is not known stays empty.
func Look(
	shop *traveler.Shop, f *story.Family, batch int, machine traveler.MachineID, role traveler.Role,
	arrives bool, now time.Time,
) Station {
	l := newLook(shop, f, batch, machine, role, now)
	l.arrives = arrives
	s := l.head()
	l.work(&s)
	l.visiting(&s)
	l.waiting(&s)
	l.hints(&s)
	s.Blocked, s.said.why = l.blocked()
	s.Undo = l.undo()
	s.Steps, s.Others = l.steps()
	l.verdictOn(&s.FirstOff)
	return s.In(traveler.English)
}

// In is the same with its sentences in a language. The words of steps stay English:
// a page says them by their keys.
func (s Station) In(language string) Station {
	s.Why = s.said.why.Text(language)
	s.WrongMachine, s.WrongOrder = s.said.machine.Text(language), s.said.order.Text(language)
	return s
}

// head is what the card itself says.
func (l *look) head() Station {
	b := l.b
	s := Station{
		Card: b.Card, Part: b.Part, PartName: b.Name, DrawingRev: b.Drawing, WorksOrder: b.Order,
		Started: l.f.Sum(l.batch).Started, Wanted: b.Wanted, Hot: b.Hot, Short: l.f.Short(l.batch),
		State: l.f.State(l.batch), Place: b.Place, WaitReason: b.WaitReason,
		Machine: l.machine.ID, MachineName: l.machine.Name, Route: []Stop{},
	}
	if !b.Due.IsZero() {
		s.Due = b.Due.Format(time.DateOnly)
	}
	for i := range b.Ops {
		s.Route = append(s.Route, Stop{b.Ops[i].Number, b.Ops[i].WorkCentre})
	}
	return s
}

// work is what is to be done here.
func (l *look) work(s *Station) {
	o := l.op()
	if o == nil {
		return
	}
	s.Operation, s.WorkCentre, s.Instruction = o.Number, o.WorkCentre, o.Instruction
	s.SetupMin, s.CycleMin, s.PerCycle, s.Outside = o.SetupMin, o.CycleMin, max(1,
		o.PiecesPerCycle), o.Outside()
	s.FirstOff.Wanted = o.FirstOff
	s.Left, s.Of = l.left, l.ts[l.k].Could
	if l.k > l.first() {
		prev, t := &l.b.Ops[l.k-1], &l.ts[l.k-1]
		s.Before = &Before{prev.Number, prev.WorkCentre, t.Good, t.Closed, t.Seen}
	}
}

// visiting is how the open visit stands.
func (l *look) visiting(s *Station) {
	v := l.v
	if v == nil {
		return
	}
	s.Visit, s.VisitState, s.ReworkFor, s.Passed = v.ID, v.State, v.ReworkFor, !v.PassedBy.IsZero()
	s.FirstOff.State = v.FirstOff
	s.Good, s.Scrap, s.Rework = v.Good, v.Scrap, v.Rework
	s.Review, s.Missing, s.Reads = v.Review, v.Missing, v.Reads
	if v.ReworkFor != 0 {
		s.Of = l.left + v.Good + v.Scrap + v.Review + v.Missing
	}
	since := v.Arrived
	kind := spanOf[v.State]
	for _, span := range l.f.SpansOf(l.visit) {
		if span.Kind != kind {
			continue
		}
		to := span.To
		if to.IsZero() {
			to, since, s.StopReason = l.now, span.From, span.Reason
		}
		s.SpentS += max(0, to.Sub(span.From).Seconds())
	}
	s.Since = &since
	s.PlanS = l.plan(s)
}

var spanOf = map[story.VisitState]story.SpanKind{
	story.VisitSetting:  story.SpanSetup,
	story.VisitFirstOff: story.SpanFirstOff,
	story.VisitRunning:  story.SpanRun,
	story.VisitStopped:  story.SpanStop,
	story.VisitOutside:  story.SpanOutside,
}

// plan is the planned seconds of the state the visit is in.
func (l *look) plan(s *Station) float64 {
	o := l.op()
	switch l.v.State {
	case story.VisitSetting:
		return o.SetupMin * 60
	case story.VisitRunning:
		return o.MinPerPiece() * 60 * float64(s.Good+s.Scrap+s.Rework+s.Review+s.Missing+s.Left)
	case story.VisitOutside:
		return o.OutsideDays * 24 * 3600
	}
	return 0
}

// waiting is what of the batch waits for someone.
func (l *look) waiting(s *Station) {
	for k := range l.ts {
		s.ReworkWaiting += l.ts[k].ReworkOpen
		s.ReviewWaiting += l.ts[k].ReviewOpen
	}
	s.Questions = openQuestions(l.f, l.b.Card)
	s.Siblings = siblings(l.f, l.batch)
	s.Things = l.things()
}

// siblings are the batches of a family that can be joined to one of it.
func siblings(f *story.Family, batch int) []Sibling {
	var out []Sibling
	for i := range f.Batches {
		b := &f.Batches[i]
		if i == batch || b.Joined != "" || !b.Cancelled.IsZero() {
			continue
		}
		sum := f.Sum(i)
		if n := sum.ToDo + sum.Good - b.Delivered(); n > 0 {
			out = append(out, Sibling{b.Card, n})
		}
	}
	return out
}
