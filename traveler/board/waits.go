// Package board says what the live boards show: pure functions from a family to
// the rows it puts on a board.
//
// # Decisions, with their reasons
//
//   - What a row says of time is moments (from when on it is late, past its plan, waits
//     long; until when a machine is busy, when it opens): they stay true while no scan
//     comes, so that no timer is needed and all pages turn amber together.
//   - Several machines of a work centre share one line: whichever is free takes the first.
//     What is held or waits for an inspector stands in none; what waits for something that
//     someone named does, for that may come at any time.
//   - A machine is busy for what was planned, times how its operation has kept to its plan
//     over the last year. What has run longer says so, and no time that has gone by.
//   - Pieces sent ahead while the operation before goes on are no long wait.
//   - A wait is long when 19 of 20 at that work centre were shorter, in working time: a
//     median would call half of all waits long.
package board

import (
	"slices"
	"strings"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Row is one line of the waits board: pieces that wait, or a machine at work.
type Row struct {
	Key        string              `json:"key"`
	Kind       string              `json:"kind" api:"enum=wait|work"`
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	Machine    traveler.MachineID  `json:"machine,omitempty"`
	Place      traveler.MachineID  `json:"place,omitempty"` // where it lies, as last scanned
	Card       traveler.Code       `json:"card"`
	Part       string              `json:"part"`
	PartName   string              `json:"part_name,omitempty"`
	WorksOrder string              `json:"works_order,omitempty"`
	Operation  traveler.Op         `json:"operation"`
	State      string              `json:"state"` // waiting, rework, review, held, or the state of the visit
	Pieces     int                 `json:"pieces"`
	Since      time.Time           `json:"since"`           // waiting, or in this state, since then
	Arrived    bool                `json:"arrived"`         // an arrival was scanned
	Due        string              `json:"due,omitempty"`   // a date
	Priority   int                 `json:"priority"`        // higher first
	Hot        bool                `json:"hot,omitempty"`   // goes before all that is not
	Late       bool                `json:"late"`            // the due date has passed
	Short      int                 `json:"short,omitempty"` // pieces wanted of the batch that can't come any more
	Customer   string              `json:"customer,omitempty"`
	Reason     string              `json:"reason,omitempty"` // why it waits or stopped
	// Things of the shop's list of which someone said that they are missing for what waits;
	// nobody having looked is not that.
	NotReady Things      `json:"not_ready,omitempty" api:"array"`
	PlannedS float64     `json:"planned_s,omitempty"`
	Good     int         `json:"good"`
	Of       int         `json:"of"` // pieces to make here
	Inferred bool        `json:"inferred,omitempty"`
	Before   traveler.Op `json:"before,omitempty"`   // the operation before, where that goes on
	LetGo    int         `json:"let_go,omitempty"`   // pieces that it has let go
	LetOf    int         `json:"let_of,omitempty"`   // of those that come from it
	LateFrom time.Time   `json:"late_from,omitzero"` // from then on it will be late; see tight
	OverFrom time.Time   `json:"over_from,omitzero"` // from then on it is past its planned time
	LongFrom time.Time   `json:"long_from,omitzero"` // from then on it waits longer than 19 of 20 did
}

// Outside reports whether the pieces are sent out: they neither wait nor are at
// work here.
func (r *Row) Outside() bool { return r.Kind == "work" && r.State == string(story.VisitOutside) }

// Rule says in which order the waiting batches stand.
const Rule = "hot first, then due date, then priority, then the longest wait; what lacks something last"

// Rows gives the rows of a family. today is the shop's date, as 2026-11-25; now is in
// the shop's zone.
func Rows(shop *traveler.Shop, f *story.Family, today string, now time.Time) []Row {
	var out []Row
	for i := range f.Batches {
		waits := f.Waits(i)
		if len(waits) == 0 {
			continue
		}
		ts := f.Tallies(i)
		for _, w := range waits {
			r := waitRow(shop, f, i, w, today, now)
			if w.Kind == story.WaitWork {
				r.NotReady = thingsOf(f.Missing(shop, i, w.Operation, now))
				r.before(ts)
			}
			r.tight(shop, &f.Batches[i], ts, now)
			out = append(out, r)
		}
	}
	for j := range f.Visits {
		if v := &f.Visits[j]; v.Open() && v.State != story.VisitWaiting &&
			f.Batches[v.Batch].Cancelled.IsZero() {
			r := workRow(shop, f, j, today, now)
			r.tight(shop, &f.Batches[v.Batch], f.Tallies(v.Batch), now)
			out = append(out, r)
		}
	}
	return out
}

func base(f *story.Family, batch int, op traveler.Op, today string) Row {
	b := &f.Batches[batch]
	r := Row{
		Card: b.Card, Place: b.Place, Part: b.Part, PartName: b.Name, WorksOrder: b.Order, Operation: op,
		Priority: b.Priority, Hot: b.Hot, Short: f.Short(batch), Customer: b.Customer, Reason: b.WaitReason,
	}
	if !b.Due.IsZero() {
		r.Due = b.Due.Format(time.DateOnly)
		r.Late = r.Due < today
	}
	for i := range b.Ops {
		if b.Ops[i].Number == op {
			r.WorkCentre = b.Ops[i].WorkCentre
		}
	}
	return r
}

func waitRow(shop *traveler.Shop, f *story.Family, batch int, w story.Wait, today string, now time.Time) Row {
	r := base(f, batch, w.Operation, today)
	r.Kind, r.State = "wait", "waiting"
	if w.Kind != story.WaitWork {
		r.State = string(w.Kind)
	}
	if b := &f.Batches[batch]; b.Held {
		r.State, r.Reason = "held", b.HeldReason
	}
	r.Key = strings.Join([]string{string(r.Card), w.Operation.String(), string(w.Kind)}, "/")
	r.Machine, r.Pieces, r.Of, r.Since, r.Arrived = w.Machine, w.Pieces, w.Pieces, w.Since, w.Arrived
	if m, ok := shop.Machine(w.Machine, now); ok {
		r.WorkCentre = m.WorkCentre
	}
	return r
}

func workRow(shop *traveler.Shop, f *story.Family, visit int, today string, now time.Time) Row {
	v := &f.Visits[visit]
	r := base(f, v.Batch, v.Operation, today)
	r.Kind, r.State, r.Machine = "work", string(v.State), v.Machine
	r.Key = "visit/" + string(v.ID)
	if m, ok := shop.Machine(v.Machine, now); ok {
		r.WorkCentre = m.WorkCentre
	}
	r.Good, r.Reason, r.Inferred = v.Good, "", v.StartInferred
	r.Since = v.Arrived
	for _, s := range f.SpansOf(visit) {
		if s.To.IsZero() {
			r.Since, r.Reason = s.From, s.Reason
		}
	}
	for _, t := range f.Tallies(v.Batch) {
		if t.Operation == v.Operation {
			r.Of = t.Could
			r.Pieces = t.Left()
		}
	}
	r.PlannedS = planned(f, v, r.Of)
	if r.Outside() && r.PlannedS > 0 {
		r.OverFrom = r.Since.Add(time.Duration(r.PlannedS * float64(time.Second)))
	}
	return r
}

// planned is the planned length, in seconds, of what a visit is at: the
// set-up, or the run of all pieces of the operation.
func planned(f *story.Family, v *story.Visit, pieces int) float64 {
	b := &f.Batches[v.Batch]
	for i := range b.Ops {
		o := &b.Ops[i]
		if o.Number != v.Operation {
			continue
		}
		switch v.State {
		case story.VisitSetting:
			return o.SetupMin * 60
		case story.VisitRunning:
			return o.MinPerPiece() * 60 * float64(pieces)
		case story.VisitOutside:
			return o.OutsideDays * 86400
		}
	}
	return 0
}

// Sort puts rows in the order of Rule, as ByDue says.
func Sort(rows []Row) { slices.SortFunc(rows, func(a, b Row) int { return ByDue(&a, &b) }) }
