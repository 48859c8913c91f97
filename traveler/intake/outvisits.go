package intake

import (
	"io"
	"strings"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// VisitOf is a visit with its batch.
type VisitOf struct {
	Batch *story.BatchFact
	Visit *story.VisitFact
}

var visitFields = []field[VisitOf]{
	{"visit", func(s sheet, x *VisitOf) { s.text(string(x.Visit.Visit)) }},
	{"card", func(s sheet, x *VisitOf) { s.text(string(x.Batch.Card)) }},
	{"part", func(s sheet, x *VisitOf) { s.text(x.Batch.Part) }},
	{"route_rev", func(s sheet, x *VisitOf) { s.text(x.Batch.Rev) }},
	{"works_order", func(s sheet, x *VisitOf) { s.text(x.Batch.Order) }},
	{"customer", func(s sheet, x *VisitOf) { s.text(x.Batch.Customer) }},
	{"operation", func(s sheet, x *VisitOf) { s.whole(int64(x.Visit.Operation)) }},
	{"work_centre", func(s sheet, x *VisitOf) { s.text(x.centre()) }},
	{"machine", func(s sheet, x *VisitOf) { s.text(string(x.Visit.Machine)) }},
	{"came_from", func(s sheet, x *VisitOf) { s.text(string(x.Visit.CameFrom)) }},
	{"walk_m", func(s sheet, x *VisitOf) { s.metres(x.Visit.Metres) }},
	{"rework_for", func(s sheet, x *VisitOf) {
		if x.Visit.ReworkFor == 0 {
			s.none()
			return
		}
		s.whole(int64(x.Visit.ReworkFor))
	}},
	{"arrived", func(s sheet, x *VisitOf) { s.moment(x.Visit.Arrived) }},
	{"begun", func(s sheet, x *VisitOf) { s.moment(x.Visit.Begun) }},
	{"ended", func(s sheet, x *VisitOf) { s.moment(x.Visit.Ended) }},
	{"run_s", func(s sheet, x *VisitOf) { s.seconds(x.Visit.Parts.Run) }},
	{"setup_s", func(s sheet, x *VisitOf) { s.seconds(x.Visit.Parts.Setup) }},
	{"firstoff_s", func(s sheet, x *VisitOf) { s.seconds(x.Visit.Parts.FirstOff) }},
	{"stop_s", func(s sheet, x *VisitOf) { s.seconds(x.Visit.Parts.Stop) }},
	{"outside_s", func(s sheet, x *VisitOf) { s.seconds(x.Visit.Parts.Outside) }},
	{"transport_s", func(s sheet, x *VisitOf) { s.seconds(x.Visit.Parts.Transport) }},
	{"queue_s", func(s sheet, x *VisitOf) { s.seconds(x.Visit.Parts.Queue) }},
	{"between_s", func(s sheet, x *VisitOf) { s.seconds(x.Visit.Parts.Between) }},
	{"waited_s", func(s sheet, x *VisitOf) { s.seconds(x.Visit.Waited) }},
	{"closed_s", func(s sheet, x *VisitOf) { s.seconds(x.Visit.Closed) }},
	{"good", func(s sheet, x *VisitOf) { s.whole(int64(x.Visit.Good)) }},
	{"scrap", func(s sheet, x *VisitOf) { s.whole(int64(x.Visit.Scrap)) }},
	{"rework", func(s sheet, x *VisitOf) { s.whole(int64(x.Visit.Rework)) }},
	{"review", func(s sheet, x *VisitOf) { s.whole(int64(x.Visit.Review)) }},
	{"missing", func(s sheet, x *VisitOf) { s.whole(int64(x.Visit.Missing)) }},
	{"set_aside", func(s sheet, x *VisitOf) { s.whole(int64(x.Visit.Aside)) }},
	{"concession", func(s sheet, x *VisitOf) { s.whole(int64(x.Visit.Conceded)) }},
	{"setup_pieces", func(s sheet, x *VisitOf) { s.whole(int64(x.Visit.SetupN)) }},
	{"scrap_reasons", func(s sheet, x *VisitOf) { s.text(x.losses("scrap")) }},
	{"rework_reasons", func(s sheet, x *VisitOf) { s.text(x.losses("rework")) }},
	{"review_reasons", func(s sheet, x *VisitOf) { s.text(x.losses("review")) }},
	{"stops", func(s sheet, x *VisitOf) { s.text(x.stops()) }},
	{"no_arrival", func(s sheet, x *VisitOf) { s.yes(x.Visit.NoArrival) }},
	{"no_start", func(s sheet, x *VisitOf) { s.yes(x.Visit.NoStart) }},
	{"no_finish", func(s sheet, x *VisitOf) { s.yes(x.Visit.NoFinish) }},
	{"no_count", func(s sheet, x *VisitOf) { s.yes(x.Visit.NoCount) }},
	{"uncertain", func(s sheet, x *VisitOf) { s.yes(x.Visit.Uncertain) }},
	{"imported", func(s sheet, x *VisitOf) { s.yes(x.Batch.Imported) }},
}

func (x *VisitOf) centre() string {
	for i := range x.Batch.Ops {
		if o := &x.Batch.Ops[i]; o.Operation == x.Visit.Operation {
			return string(o.WorkCentre)
		}
	}
	return ""
}

func (x *VisitOf) losses(outcome string) string {
	var out []traveler.Loss
	for _, l := range x.Visit.Losses {
		if l.Outcome != outcome {
			continue
		}
		loss := traveler.Loss{Reason: l.Reason, N: l.N}
		if l.Caused != l.FoundAt {
			loss.CausedAt = l.Caused
		}
		out = append(out, loss)
	}
	return lossText(out)
}

// stops writes each stop's seconds and reason.
func (x *VisitOf) stops() string {
	parts := make([]string, len(x.Visit.Stops))
	for i, stop := range x.Visit.Stops {
		parts[i] = string(appendSeconds(nil, stop.Lasted)) + " " + quoted(stop.Reason)
	}
	return strings.Join(parts, "; ")
}

// NewVisits begins a list of visits. It fails as w does, and for a format that is none.
func NewVisits(w io.Writer, f Format, zone *time.Location) (*List[VisitOf], error) {
	return newList(w, f, "visits", zone, visitFields)
}
