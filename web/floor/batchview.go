package floor

import (
	"cmp"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/ground"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// batchView is a batch as the API answers it. Durations are seconds, distances
// metres, times RFC 3339.
type batchView struct {
	Card       traveler.Code   `json:"card"`
	Parent     traveler.Code   `json:"parent,omitempty"`
	Family     []traveler.Code `json:"family,omitempty"`
	Part       string          `json:"part"`
	PartName   string          `json:"part_name,omitempty"`
	DrawingRev string          `json:"drawing_rev,omitempty"`
	RouteRev   string          `json:"route_rev"`
	WorksOrder string          `json:"works_order,omitempty"`
	Customer   string          `json:"customer,omitempty"`
	OrderLine  string          `json:"order_line,omitempty"`
	Lots       []string        `json:"material_lots,omitempty"`
	Due        string          `json:"due,omitempty" api:"format=date"`
	Priority   int             `json:"priority"`
	Hot        bool            `json:"hot,omitempty"`      // goes before all that is not
	Short      int             `json:"short,omitempty"`    // pieces wanted that can't come any more
	MakesUp    traveler.Code   `json:"makes_up,omitempty"` // the batch that falls short, whose pieces this one makes up
	MadeUp     []traveler.Code `json:"made_up,omitempty"`  // batches that make up what this one lacks
	Changes    []planChange    `json:"changes,omitempty"`  // of what it was released with, oldest first
	Released   time.Time       `json:"released"`
	Started    int             `json:"started"`
	Wanted     int             `json:"wanted"`
	// Pieces good at the last operation: started + joined - split_off + over = good +
	// scrap + rework_open + review + missing + to_do.
	Good       int `json:"good"`
	Scrap      int `json:"scrap"`
	Rework     int `json:"rework"` // ever sent to rework
	ReworkOpen int `json:"rework_open"`
	Review     int `json:"review"` // set aside now
	Missing    int `json:"missing"`
	ToDo       int `json:"to_do"` // still along the route
	// Counted somewhere beyond what the operation before let go; a question asks about it.
	Over      int              `json:"over"`
	SplitOff  int              `json:"split_off"`
	Joined    int              `json:"joined"`
	Delivered int              `json:"delivered"`
	Stock     int              `json:"stock,omitempty"`
	State     story.BatchState `json:"state"`
	Reason    string           `json:"reason,omitempty"`
	JoinedTo  traveler.Code    `json:"joined_to,omitempty"`
	WalkM     float64          `json:"walk_m"` // metres carried
	// Aisles, or rectangular where some walk has none.
	WalkKind   string         `json:"walk_kind" api:"enum=aisles|rectangular"`
	Trips      int            `json:"trips"`
	Next       traveler.Op    `json:"next_operation,omitempty"`
	Operations []opView       `json:"operations"`
	Lead       measure.Spent  `json:"lead"` // where its time went; adds up to its lead time
	Ended      *time.Time     `json:"ended"`
	Visits     []visitView    `json:"visits"`
	Questions  []questionView `json:"questions"`
	// Stations that may hold scans of this batch: at a machine where it is, and not
	// heard of for five minutes. What is shown is provisional then.
	Provisional []door.Silent `json:"provisional,omitempty"`
}

// opView is what became of the pieces at one operation.
type opView struct {
	Operation   traveler.Op         `json:"operation"`
	WorkCentre  traveler.WorkCentre `json:"work_centre"`
	Instruction string              `json:"instruction,omitempty"`
	SetupMin    float64             `json:"setup_min"`
	CycleMin    float64             `json:"cycle_min"`
	FirstOff    bool                `json:"first_off,omitempty"`
	Added       bool                `json:"added_on_floor,omitempty"`
	// Pieces known to have come in: in = good + scrap + rework_open + review + missing +
	// to_do.
	In         int  `json:"in"`
	Good       int  `json:"good"`
	Scrap      int  `json:"scrap"`
	Rework     int  `json:"rework"` // ever sent to rework
	ReworkOpen int  `json:"rework_open"`
	Review     int  `json:"review"` // set aside now
	Missing    int  `json:"missing"`
	ToDo       int  `json:"to_do"`
	Concession int  `json:"concession"` // of good
	Assumed    int  `json:"assumed"`    // of good: inferred, not counted
	Over       int  `json:"over"`       // counted beyond what the operation before let go
	Left       int  `json:"left"`       // can still be counted
	Closed     bool `json:"closed"`
	// What it needs, by the shop's list, while it has not begun; nothing where the shop has
	// no such list.
	Things []thingView `json:"things,omitempty"`
}

// thingView is something that an operation needs, and what was last said of it.
type thingView struct {
	Thing string     `json:"thing"`
	Text  string     `json:"text"`
	State string     `json:"state" api:"enum=there|missing|open"` // open = nobody knows
	Note  string     `json:"note,omitempty"`
	By    string     `json:"by,omitempty"`  // account or station that said it
	Who   string     `json:"who,omitempty"` // the name on the badge, for those who may settle
	At    *time.Time `json:"at,omitempty"`
}

func thingViews(faces *door.Faces, needs []story.Needed) (out []thingView) {
	for i := range needs {
		t := &needs[i].Tick
		out = append(out, thingView{
			needs[i].Thing.Code, needs[i].Thing.Text, cmp.Or(t.State, story.ReadyOpen), faces.Text(t.Note),
			t.Name,
			faces.Name(t.By), ask.Moment(t.At),
		})
	}
	return out
}

// spanView is a stretch of a visit.
type spanView struct {
	Kind     story.SpanKind `json:"kind" api:"enum=setup|firstoff|run|stop|outside|closed"`
	From     time.Time      `json:"from"`
	To       *time.Time     `json:"to"`
	Inferred bool           `json:"inferred,omitempty"`
	Reason   string         `json:"reason,omitempty"`
}

// lostPieces is pieces that were lost at a visit.
type lostPieces struct {
	Outcome  string      `json:"outcome"`
	Reason   string      `json:"reason"`
	N        int         `json:"n"`
	CausedAt traveler.Op `json:"caused_at,omitempty"`
	Decided  *time.Time  `json:"decided,omitempty"` // of pieces set aside: when it was decided so
}

// rejectedView is who rejected a first-off, when and why.
type rejectedView struct {
	By       traveler.PersonID `json:"by,omitempty"`
	Who      string            `json:"who,omitempty"` // the name on the badge, for those who may settle
	At       time.Time         `json:"at"`
	Kind     string            `json:"kind,omitempty" api:"enum=scrap|rework|review"`
	Reason   string            `json:"reason,omitempty"`
	Overrule bool              `json:"overruled,omitempty"` // someone who may pass it ran all the same
}

// visitView is one stay of a batch at one machine for one operation.
type visitView struct {
	visitNow
	ReworkFor traveler.Op         `json:"rework_for,omitempty"`
	Outside   float64             `json:"outside_s"`
	Closed    float64             `json:"closed_s"`   // cut out of run and set-up: the machine was closed
	Waited    float64             `json:"waited_s"`   // of the wait: working time of the work centre
	Aside     int                 `json:"set_aside"`  // ever; review is what of it is open
	Conceded  int                 `json:"concession"` // of good
	Setting   int                 `json:"setup_pieces"`
	Verdict   string              `json:"first_off,omitempty" api:"enum=waiting|accepted|refused"`
	Rejected  *rejectedView       `json:"rejected,omitempty"` // the rejection of the first-off that no pass has followed
	Measured  []door.MeasuredAt   `json:"measured,omitempty"`
	People    []traveler.PersonID `json:"people,omitempty"`
	Spans     []spanView          `json:"spans"`
	Losses    []lostPieces        `json:"losses,omitempty"`
	Scans     []traveler.ScanID   `json:"scans,omitempty"`
	Uncertain bool                `json:"time_uncertain,omitempty"`
}

func (s *room) batchView(faces *door.Faces, f *story.Family, i int) batchView {
	m := s.Meter()
	b, sum, fact := &f.Batches[i], f.Sum(i), m.Batch(f, i)
	v := batchView{
		Card: b.Card, Parent: b.Parent, Part: b.Part, PartName: b.Name, DrawingRev: b.Drawing,
		RouteRev:   b.Rev,
		WorksOrder: b.Order, Customer: b.Customer, OrderLine: b.Line, Lots: b.Lots, Due: ask.Date(b.Due),
		Priority: b.Priority, Hot: b.Hot, Short: f.Short(i), MakesUp: b.MakesUp, MadeUp: b.MadeUp,
		Changes: planChanges(faces, b), Released: b.Released, Started: sum.Started, Wanted: b.Wanted,
		Good:  sum.Good,
		Scrap: sum.Scrap, Rework: sum.Rework, ReworkOpen: sum.ReworkOpen, Review: sum.ReviewOpen,
		Missing: sum.Missing, ToDo: sum.ToDo, Over: sum.Over, SplitOff: sum.Out, Joined: sum.In,
		Delivered: b.Delivered(), Stock: b.Stock, State: f.State(i), Reason: b.WaitReason, JoinedTo: b.Joined,
		WalkM: fact.Metres, WalkKind: walkKind(&fact), Trips: len(fact.Trip), Next: f.NextOp(i),
		Lead: measure.SpentOf(&fact.Parts), Ended: ask.Moment(fact.Ended), Operations: s.opViews(faces, f, i),
		Visits: []visitView{}, Questions: []questionView{},
	}
	if b.Held {
		v.Reason = b.HeldReason
	}
	v.Reason = faces.Text(v.Reason)
	if len(f.Batches) > 1 {
		v.Family = f.Cards()
	}
	for j := range f.Visits {
		if f.Visits[j].Batch == i {
			v.Visits = append(v.Visits, visitViewOf(m, faces, f, j))
		}
	}
	for _, q := range f.Questions() {
		if q.Card == b.Card {
			v.Questions = append(v.Questions, questionViewOf(faces, f, &q))
		}
	}
	return v
}

// planChange is one thing of a batch's plan that someone changed.
type planChange struct {
	What   string          `json:"what" api:"enum=pieces|wanted|due|priority|hot|customer|order_line|lots"`
	From   string          `json:"from,omitempty"`
	To     string          `json:"to,omitempty"`
	Reason string          `json:"reason,omitempty"`
	By     string          `json:"by"`            // account or station that said it
	Who    string          `json:"who,omitempty"` // the name on the badge, for those who may settle
	At     time.Time       `json:"at"`
	Scan   traveler.ScanID `json:"scan"`
}

func planChanges(faces *door.Faces, b *story.Batch) (out []planChange) {
	for i := range b.Changes {
		c := &b.Changes[i]
		out = append(out,
			planChange{c.What, c.From, c.To, faces.Text(c.Reason), c.Name, faces.Name(c.By), c.At, c.Scan})
	}
	return out
}

func walkKind(b *story.BatchFact) string {
	if b.Rectangular {
		return string(ground.Rectangular)
	}
	return string(ground.Aisles)
}

func (s *room) opViews(faces *door.Faces, f *story.Family, i int) []opView {
	b, shop, now := &f.Batches[i], s.Desk.Shop(), s.Time()
	ts := f.Tallies(i)
	out := make([]opView, len(ts))
	for k := range ts {
		t, o := &ts[k], &b.Ops[k]
		out[k] = opView{
			Operation: t.Operation, WorkCentre: o.WorkCentre, Instruction: o.Instruction,
			SetupMin: o.SetupMin,
			CycleMin: o.CycleMin, FirstOff: o.FirstOff, Added: o.AddedOnFloor, In: t.In, Good: t.Good,
			Scrap:  t.Scrap,
			Rework: t.Rework, ReworkOpen: t.ReworkOpen, Review: t.ReviewOpen, Missing: t.Missing,
			ToDo:       t.ToDo,
			Concession: t.Concession, Assumed: t.Assumed, Over: t.Over, Left: t.Left(), Closed: t.Closed,
		}
		if !t.Closed {
			out[k].Things = thingViews(faces, f.Needs(shop, i, t.Operation, now))
		}
	}
	return out
}

func visitViewOf(m *measure.Meter, faces *door.Faces, f *story.Family, j int) visitView {
	v, fact := &f.Visits[j], m.Visit(f, j)
	out := visitView{
		visitNow: visitNowOf(v, &fact), ReworkFor: v.ReworkFor, Outside: fact.Parts.Outside.Seconds(),
		Closed: fact.Closed.Seconds(), Waited: fact.Waited.Seconds(), Aside: fact.Aside,
		Conceded: fact.Conceded, Setting: v.SetupPieces, Verdict: v.FirstOff,
		People: faces.Numbers(v.People), Scans: v.Scans, Uncertain: v.TimeUncertain, Spans: []spanView{},
	}
	out.Measured = faces.Measured(v)
	if r := v.Rejected; r != nil {
		out.Rejected = &rejectedView{faces.Number(r.By), faces.Name(r.By), r.At, r.Kind, faces.Text(r.Reason),
			r.Overrule}
	}
	closed := m.Closed(f, j)
	for _, s := range f.SpansOf(j) {
		s.Reason = faces.Text(s.Reason)
		out.Spans = append(out.Spans, spanViews(&s, v.Ended(), closed)...)
	}
	for _, l := range fact.Losses {
		x := lostPieces{l.Outcome, faces.Text(l.Reason), l.N, 0, ask.Moment(l.Decided)}
		if l.Caused != l.FoundAt {
			x.CausedAt = l.Caused
		}
		out.Losses = append(out.Losses, x)
	}
	return out
}

// spanClosed is what a page shows of a stretch cut out of a run or a set-up.
const spanClosed story.SpanKind = "closed"

// spanViews shows a span, with the closed time cut out of it.
func spanViews(s *story.Span, ended time.Time, closed []story.Span) (out []spanView) {
	to := s.To
	if to.IsZero() {
		to = ended
	}
	inferred := s.Inferred || (s.To.IsZero() && !to.IsZero())
	from := s.From
	for _, c := range closed {
		if c.Kind != s.Kind || c.From.Before(s.From) || !to.IsZero() && c.To.After(to) {
			continue
		}
		if c.From.After(from) {
			out = append(out, spanView{s.Kind, from, ask.Moment(c.From), true, s.Reason})
		}
		out = append(out, spanView{spanClosed, c.From, ask.Moment(c.To), true, ""})
		from = c.To
	}
	if to.IsZero() || to.After(from) || len(out) == 0 {
		out = append(out, spanView{s.Kind, from, ask.Moment(to), inferred, s.Reason})
	}
	return out
}
