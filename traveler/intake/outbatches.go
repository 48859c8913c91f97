package intake

import (
	"io"
	"strconv"
	"strings"
	"time"

	"tallywalk/traveler/story"
)

// batchFields are the columns of batches. The first ones are those of a release,
// so that what is written can be released again; the others are worked out.
var batchFields = []field[story.BatchFact]{
	{"card", func(s sheet, b *story.BatchFact) { s.text(string(b.Card)) }},
	{"part", func(s sheet, b *story.BatchFact) { s.text(b.Part) }},
	{"route_rev", func(s sheet, b *story.BatchFact) { s.text(b.Rev) }},
	{"pieces", func(s sheet, b *story.BatchFact) { s.whole(int64(released(b.As.Pieces, b.Started))) }},
	{"wanted", func(s sheet, b *story.BatchFact) { s.whole(int64(released(b.As.Wanted, b.Wanted))) }},
	{"due", func(s sheet, b *story.BatchFact) {
		if b.As.Pieces > 0 {
			s.date(b.As.Due)
			return
		}
		s.date(b.Due)
	}},
	{"works_order", func(s sheet, b *story.BatchFact) { s.text(b.Order) }},
	{"customer", func(s sheet, b *story.BatchFact) { s.text(b.Customer) }},
	{"order_line", func(s sheet, b *story.BatchFact) { s.text(b.Line) }},
	{"material_lot", func(s sheet, b *story.BatchFact) { s.text(strings.Join(b.Lots, " + ")) }},
	{"priority", func(s sheet, b *story.BatchFact) {
		if b.As.Pieces > 0 {
			s.whole(int64(b.As.Priority))
			return
		}
		s.whole(int64(b.Priority))
	}},
	{"hot", func(s sheet, b *story.BatchFact) { s.yes(b.As.Hot || b.As.Pieces == 0 && b.Hot) }},
	{"released", func(s sheet, b *story.BatchFact) { s.moment(b.Released) }},

	{"parent", func(s sheet, b *story.BatchFact) { s.text(string(b.Parent)) }},
	{"joined", func(s sheet, b *story.BatchFact) { s.text(string(b.Joined)) }},
	{"part_name", func(s sheet, b *story.BatchFact) { s.text(b.Name) }},
	{"drawing_rev", func(s sheet, b *story.BatchFact) { s.text(b.Drawing) }},
	{"state", func(s sheet, b *story.BatchFact) { s.text(string(b.State)) }},
	{"begun", func(s sheet, b *story.BatchFact) { s.moment(b.Begun) }},
	{"ended", func(s sheet, b *story.BatchFact) { s.moment(b.Ended) }},
	{"lead_s", func(s sheet, b *story.BatchFact) {
		if b.Ended.IsZero() {
			s.none()
			return
		}
		s.seconds(b.Lead(b.Ended))
	}},
	{"run_s", func(s sheet, b *story.BatchFact) { s.seconds(b.Parts.Run) }},
	{"setup_s", func(s sheet, b *story.BatchFact) { s.seconds(b.Parts.Setup) }},
	{"firstoff_s", func(s sheet, b *story.BatchFact) { s.seconds(b.Parts.FirstOff) }},
	{"stop_s", func(s sheet, b *story.BatchFact) { s.seconds(b.Parts.Stop) }},
	{"outside_s", func(s sheet, b *story.BatchFact) { s.seconds(b.Parts.Outside) }},
	{"transport_s", func(s sheet, b *story.BatchFact) { s.seconds(b.Parts.Transport) }},
	{"queue_s", func(s sheet, b *story.BatchFact) { s.seconds(b.Parts.Queue) }},
	{"between_s", func(s sheet, b *story.BatchFact) { s.seconds(b.Parts.Between) }},
	{"started", func(s sheet, b *story.BatchFact) { s.whole(int64(b.Started)) }},
	{"wanted_now", func(s sheet, b *story.BatchFact) { s.whole(int64(b.Wanted)) }},
	{"due_now", func(s sheet, b *story.BatchFact) { s.date(b.Due) }},
	{"priority_now", func(s sheet, b *story.BatchFact) { s.whole(int64(b.Priority)) }},
	{"hot_now", func(s sheet, b *story.BatchFact) { s.yes(b.Hot) }},
	{"good", func(s sheet, b *story.BatchFact) { s.whole(int64(b.Good)) }},
	{"scrap", func(s sheet, b *story.BatchFact) { s.whole(int64(b.Scrap)) }},
	{"rework", func(s sheet, b *story.BatchFact) { s.whole(int64(b.Rework)) }},
	{"review", func(s sheet, b *story.BatchFact) { s.whole(int64(b.Review)) }},
	{"missing", func(s sheet, b *story.BatchFact) { s.whole(int64(b.Missing)) }},
	{"rework_open", func(s sheet, b *story.BatchFact) { s.whole(int64(b.ReworkOpen)) }},
	{"to_do", func(s sheet, b *story.BatchFact) { s.whole(int64(b.ToDo)) }},
	{"joined_in", func(s sheet, b *story.BatchFact) { s.whole(int64(b.JoinedIn)) }},
	{"split_off", func(s sheet, b *story.BatchFact) { s.whole(int64(b.SplitOff)) }},
	{"over", func(s sheet, b *story.BatchFact) { s.whole(int64(b.Over)) }},
	{"concession", func(s sheet, b *story.BatchFact) { s.whole(int64(b.Concession)) }},
	{"delivered", func(s sheet, b *story.BatchFact) { s.whole(int64(b.Delivered)) }},
	{"deliveries", func(s sheet, b *story.BatchFact) { s.text(deliveries(b)) }},
	{"stock", func(s sheet, b *story.BatchFact) { s.whole(int64(b.Stock)) }},
	{"walk_m", func(s sheet, b *story.BatchFact) { s.metres(b.Metres) }},
	{"trips", func(s sheet, b *story.BatchFact) { s.whole(int64(len(b.Trip))) }},
	{"walk_stores_m", func(s sheet, b *story.BatchFact) { s.metres(b.Walked(story.LegStores)) }},
	{"walk_dock_m", func(s sheet, b *story.BatchFact) { s.metres(b.Walked(story.LegDock)) }},
	{"walk_outside_m", func(s sheet, b *story.BatchFact) { s.metres(b.Walked(story.LegOutside)) }},
	{"walk_rectangular", func(s sheet, b *story.BatchFact) { s.yes(b.Rectangular) }},
	{"inferred_visits", func(s sheet, b *story.BatchFact) { s.whole(int64(b.Inferred)) }},
	{"questions", func(s sheet, b *story.BatchFact) { s.whole(int64(b.Asked)) }},
	{"imported", func(s sheet, b *story.BatchFact) { s.yes(b.Imported) }},
}

// firstDerived is the first column of batches that no release has.
const firstDerived = "parent"

func released(as, now int) int {
	if as > 0 {
		return as
	}
	return now
}

// deliveries lists what left the shop: pieces and when, one after the other.
func deliveries(b *story.BatchFact) string {
	parts := make([]string, len(b.Deliveries))
	for i, d := range b.Deliveries {
		parts[i] = strconv.Itoa(d.Pieces) + " " + d.At.UTC().Format(time.RFC3339)
	}
	return strings.Join(parts, "; ")
}

// NewBatches begins a list of batches. It fails as w does, and for a format that is
// none.
func NewBatches(w io.Writer, f Format, zone *time.Location) (*List[story.BatchFact], error) {
	return newList(w, f, "batches", zone, batchFields)
}

// derivedOfBatches are the columns of batches that an import knows and passes
// over.
func derivedOfBatches() (out []column) {
	for i := range batchFields {
		if batchFields[i].name == firstDerived || len(out) > 0 {
			out = append(out, column{name: batchFields[i].name, optional: true, derived: true})
		}
	}
	return out
}
