package kiosk

import (
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Known is what a device needs to know of a batch to judge by itself what is
// said of it: what Look looks at, without the machine. The page carries it on by
// what it says (kiosk/page/apply.js), until it hears of the batch again.
type Known struct {
	Card traveler.Code `json:"card"`
	// Seq is the last sequence of the batch's family: a device adds what it said
	// since.
	Seq        traveler.Seq       `json:"seq"`
	Part       string             `json:"part"`
	PartName   string             `json:"part_name,omitempty"`
	DrawingRev string             `json:"drawing_rev,omitempty"`
	WorksOrder string             `json:"works_order,omitempty"`
	Due        string             `json:"due,omitempty"` // a date
	Released   time.Time          `json:"released"`
	Started    int                `json:"started"`
	Wanted     int                `json:"wanted"`
	Hot        bool               `json:"hot,omitempty"` // goes before all that is not
	Delivered  int                `json:"delivered,omitempty"`
	Place      traveler.MachineID `json:"place,omitempty"`
	WaitReason string             `json:"wait_reason,omitempty"`
	Held       bool               `json:"held,omitempty"`
	HeldReason string             `json:"held_reason,omitempty"`
	Cancelled  bool               `json:"cancelled,omitempty"`
	Joined     traveler.Code      `json:"joined,omitempty"`
	// Superseded is the drawing in force, where it is another and nobody has
	// decided to go on.
	Superseded string       `json:"superseded,omitempty"`
	OnFloor    bool         `json:"on_floor,omitempty"`
	First      traveler.Op  `json:"first,omitempty"`     // operations before this one its parent did
	EndMoved   int          `json:"end_moved,omitempty"` // pieces that joined after the last operation, less those that left
	Questions  int          `json:"questions,omitempty"` // open ones
	Siblings   []Sibling    `json:"siblings,omitempty"`  // batches that can be joined to it
	Inherited  []KnownVisit `json:"inherited,omitempty"` // first-offs decided on before it was split off, oldest first
	Route      []KnownOp    `json:"route"`
	Visits     []KnownVisit `json:"visits"`
}

// KnownOp is an operation of a batch's route, with what was said of the pieces
// there (story.Outcomes). Planned times are in minutes.
type KnownOp struct {
	Operation   traveler.Op         `json:"operation"`
	WorkCentre  traveler.WorkCentre `json:"work_centre"`
	Instruction string              `json:"instruction,omitempty"`
	SetupMin    float64             `json:"setup_min,omitempty"`
	CycleMin    float64             `json:"cycle_min,omitempty"`
	PerCycle    int                 `json:"pieces_per_cycle"`
	OutsideDays float64             `json:"outside_days,omitempty"`
	FirstOff    bool                `json:"first_off,omitempty"`
	Outside     bool                `json:"outside,omitempty"`
	Skipped     bool                `json:"skipped,omitempty"`
	Moved       int                 `json:"moved,omitempty"` // pieces that joined before it, less those that left
	Good        int                 `json:"good,omitempty"`
	Scrap       int                 `json:"scrap,omitempty"`
	ReworkOpen  int                 `json:"rework_open,omitempty"`
	ReviewOpen  int                 `json:"review_open,omitempty"`
	Missing     int                 `json:"missing,omitempty"`
	Assumed     int                 `json:"assumed,omitempty"`
	Counted     int                 `json:"counted,omitempty"`
	Said        bool                `json:"said,omitempty"`
	Things      []Thing             `json:"things,omitempty"` // what it needs, while it has not begun
}

// KnownVisit is a visit of a batch. Spent has the seconds of its stretches that
// are over, by their kind; Since is when its state began.
type KnownVisit struct {
	ID         traveler.ScanID            `json:"id"`
	Operation  traveler.Op                `json:"operation"`
	Machine    traveler.MachineID         `json:"machine"`
	ReworkFor  traveler.Op                `json:"rework_for,omitempty"`
	State      story.VisitState           `json:"state"`
	Passed     bool                       `json:"passed,omitempty"`
	Good       int                        `json:"good,omitempty"`
	Scrap      int                        `json:"scrap,omitempty"`
	Rework     int                        `json:"rework,omitempty"`
	Review     int                        `json:"review,omitempty"`
	Missing    int                        `json:"missing,omitempty"`
	Reads      *int                       `json:"reads,omitempty"`
	Wanted     int                        `json:"wanted,omitempty"` // pieces sent outside
	FirstOff   string                     `json:"first_off,omitempty"`
	Rejected   *Rejected                  `json:"rejected,omitempty"`
	Since      time.Time                  `json:"since"`
	Spent      map[story.SpanKind]float64 `json:"spent,omitempty"`
	StopReason string                     `json:"stop_reason,omitempty"`
	// How the run goes, for what is likely next: seconds of it in open time that are
	// over, and up to the last count; pieces counted but for those made while setting.
	RanS      float64    `json:"ran_s,omitempty"`
	CountedS  float64    `json:"counted_s,omitempty"`
	CountedAt *time.Time `json:"counted_at,omitempty"`
	Made      int        `json:"made,omitempty"`
	NearlyAt  *time.Time `json:"nearly_at,omitempty"` // what is left is most likely made by then
	QuitsAt   *time.Time `json:"quits_at,omitempty"`  // the shift ends then, and nobody follows
}

// Rejected is the rejection of a first-off that no pass has followed.
type Rejected struct {
	By       traveler.PersonID `json:"by,omitempty"`
	At       time.Time         `json:"at"`
	Kind     string            `json:"kind,omitempty"` // scrap, rework or review
	Reason   string            `json:"reason,omitempty"`
	Overrule bool              `json:"overrule,omitempty"`
}

// Know says what a device needs to know of a batch.
func Know(shop *traveler.Shop, f *story.Family, batch int, now time.Time) Known {
	b := &f.Batches[batch]
	k := Known{
		Card: b.Card, Part: b.Part, PartName: b.Name, DrawingRev: b.Drawing, WorksOrder: b.Order,
		Released: b.Released,
		Started:  b.Started, Wanted: b.Wanted, Hot: b.Hot, Delivered: b.Delivered(), Place: b.Place,
		WaitReason: b.WaitReason,
		Held:       b.Held, HeldReason: b.HeldReason, Cancelled: !b.Cancelled.IsZero(), Joined: b.Joined,
		OnFloor: b.OnFloor,
		First:   b.First, EndMoved: b.Moved(0), Siblings: siblings(f, batch),
		Questions: openQuestions(f, b.Card),
	}
	if record := f.Record(); len(record) > 0 {
		k.Seq = record[len(record)-1].Seq
	}
	if !b.Due.IsZero() {
		k.Due = b.Due.Format(time.DateOnly)
	}
	if by, yes := shop.Superseded(b.Part, b.Drawing, now); yes && !b.DrawingOK {
		k.Superseded = by
	}
	ts := f.Outcomes(batch)
	for i := range b.Ops {
		o := knownOp(b, &b.Ops[i], &ts[i])
		o.Things = thingsOf(f.Needs(shop, batch, b.Ops[i].Number, now))
		k.Route = append(k.Route, o)
	}
	k.Visits = knownVisits(f, batch, func(*story.Visit) bool { return true })
	k.pace(shop, f, batch, now)
	for up := f.Index(b.Parent); up >= 0; up = f.Index(f.Batches[up].Parent) {
		decided := func(v *story.Visit) bool { return v.FirstOff == story.FirstAccepted || v.Rejected != nil }
		k.Inherited = append(knownVisits(f, up, decided), k.Inherited...)
	}
	return k
}

// pace notes how runs go that are not over.
func (k *Known) pace(shop *traveler.Shop, f *story.Family, batch int, now time.Time) {
	ts := f.Tallies(batch)
	moment := func(t time.Time) *time.Time {
		if t.IsZero() {
			return nil
		}
		return &t
	}
	for i := range k.Visits {
		v := &k.Visits[i]
		at := slices.IndexFunc(f.Visits, func(x story.Visit) bool { return x.ID == v.ID })
		op := slices.IndexFunc(k.Route, func(o KnownOp) bool { return o.Operation == v.Operation })
		if !f.Visits[at].Open() || v.State == story.VisitWaiting || op < 0 {
			continue
		}
		p := paceOf(shop, f, at, now)
		v.RanS, v.CountedS, v.Made, v.CountedAt = p.ran.Seconds(), p.counted.Seconds(), p.made, moment(
			p.countedAt)
		v.QuitsAt = moment(p.quits(now))
		if v.ReworkFor == 0 {
			v.NearlyAt = moment(p.nearly(ts[op].Left(), k.Route[op].CycleMin/float64(k.Route[op].PerCycle)))
		}
	}
}

func knownOp(b *story.Batch, o *traveler.Operation, t *story.Tally) KnownOp {
	return KnownOp{
		Operation: o.Number, WorkCentre: o.WorkCentre, Instruction: o.Instruction, SetupMin: o.SetupMin,
		CycleMin: o.CycleMin, PerCycle: max(1, o.PiecesPerCycle), OutsideDays: o.OutsideDays,
		FirstOff: o.FirstOff,
		Outside:  o.Outside(), Skipped: b.IsSkipped(o.Number), Moved: b.Moved(o.Number), Good: t.Good,
		Scrap:      t.Scrap,
		ReworkOpen: t.ReworkOpen, ReviewOpen: t.ReviewOpen, Missing: t.Missing, Assumed: t.Assumed,
		Counted: t.Counted,
		Said:    t.Said,
	}
}

func knownVisits(f *story.Family, batch int, which func(*story.Visit) bool) []KnownVisit {
	out := []KnownVisit{}
	for i := range f.Visits {
		if v := &f.Visits[i]; v.Batch == batch && which(v) {
			out = append(out, knownVisit(f, i))
		}
	}
	return out
}

func knownVisit(f *story.Family, i int) KnownVisit {
	v := &f.Visits[i]
	k := KnownVisit{
		ID: v.ID, Operation: v.Operation, Machine: v.Machine, ReworkFor: v.ReworkFor, State: v.State,
		Passed: !v.PassedBy.IsZero(), Good: v.Good, Scrap: v.Scrap, Rework: v.Rework, Review: v.Review,
		Missing: v.Missing, Reads: v.Reads, Wanted: v.Wanted, FirstOff: v.FirstOff, Since: v.Arrived,
		Spent: map[story.SpanKind]float64{},
	}
	if r := v.Rejected; r != nil {
		k.Rejected = &Rejected{r.By, r.At, r.Kind, r.Reason, r.Overrule}
	}
	for _, s := range f.SpansOf(i) {
		switch {
		case !s.To.IsZero():
			k.Spent[s.Kind] += s.To.Sub(s.From).Seconds()
		case s.Kind == spanOf[v.State]:
			k.Since, k.StopReason = s.From, s.Reason
		}
	}
	return k
}

// openQuestions is how many questions about a batch wait for a supervisor.
func openQuestions(f *story.Family, card traveler.Code) int {
	n := 0
	for _, q := range f.Questions() {
		if q.Card == card && q.Settled == nil {
			n++
		}
	}
	return n
}
