package story

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"tallywalk/traveler"
)

// What an override may be about.
const (
	OverrideAdd      = "add"      // a new operation, Operation at work centre To
	OverrideSkip     = "skip"     // Operation is not needed, or was done unseen
	OverridePieces   = "pieces"   // Pieces started
	OverrideWanted   = "wanted"   // Pieces wanted; To: the batch that makes up the rest
	OverrideDue      = "due"      // To, a date
	OverridePriority = "priority" // Pieces
	OverrideHot      = "hot"      // Pieces: 1 hot, 0 not
	OverrideCustomer = "customer" // To, empty for none
	OverrideLine     = "order_line"
	OverrideLots     = "lots" // To, material lots separated by commas
)

func checkOverride(ev *event, b *Batch) *misfit {
	s := ev.s
	switch s.For {
	case OverrideAdd:
		if s.Operation == 0 || s.To == "" || b.index(s.Operation) >= 0 {
			return no("override.add", s.Operation.String())
		}
	case OverrideSkip:
		if b.index(s.Operation) < 0 {
			return no("op.unknown", s.Operation.String(), opList(b))
		}
	case OverridePieces, OverrideWanted:
		if s.Pieces <= 0 && (s.For == OverridePieces || s.To == "") {
			return no("override.pieces")
		}
	case OverrideDue:
		if _, err := time.Parse(time.DateOnly, s.To); err != nil {
			return no("override.due", s.To)
		}
	case OverridePriority:
	case OverrideHot, OverrideCustomer, OverrideLine, OverrideLots:
		if s.Reason == "" {
			return no("override.reason")
		}
	default:
		return no("override.what", s.For)
	}
	return nil
}

func (b *Batch) override(ev *event) {
	s := ev.s
	switch s.For {
	case OverrideAdd:
		b.addOp(traveler.Operation{Number: s.Operation, WorkCentre: traveler.WorkCentre(s.To),
			Instruction: s.Note, PiecesPerCycle: 1, AddedOnFloor: true})
		return
	case OverrideSkip:
		b.skip(s.Operation)
		return
	}
	from := b.Planned(s.For)
	b.replan(s)
	b.Changes = append(slices.Clip(b.Changes), PlanChange{
		What: s.For, From: from, To: b.Planned(s.For), Reason: cmp.Or(s.Reason, s.Note), By: s.Operator,
		Name: ev.e.By.Name, At: ev.at, Scan: ev.e.Scan.ID,
	})
}

func (b *Batch) replan(s *traveler.Scan) {
	switch s.For {
	case OverridePieces:
		b.Started = s.Pieces
	case OverrideWanted:
		b.Wanted = s.Pieces
		if s.To != "" {
			b.MadeUp = append(slices.Clip(b.MadeUp), traveler.Code(s.To))
		}
	case OverrideDue:
		if t, err := time.Parse(time.DateOnly, s.To); err == nil {
			b.Due = t
		}
	case OverridePriority:
		b.Priority = s.Pieces
	case OverrideHot:
		b.Hot = s.Pieces > 0
	case OverrideCustomer:
		b.Customer = s.To
	case OverrideLine:
		b.Line = s.To
	case OverrideLots:
		b.Lots = SplitLots(s.To)
	}
}

// Planned is what an override of a kind would change, as it stands.
func (b *Batch) Planned(what string) string {
	switch what {
	case OverridePieces:
		return num(b.Started)
	case OverrideWanted:
		return num(b.Wanted)
	case OverrideDue:
		if b.Due.IsZero() {
			return ""
		}
		return b.Due.Format(time.DateOnly)
	case OverridePriority:
		return num(b.Priority)
	case OverrideHot:
		if b.Hot {
			return "1"
		}
		return "0"
	case OverrideCustomer:
		return b.Customer
	case OverrideLine:
		return b.Line
	case OverrideLots:
		return strings.Join(b.Lots, ", ")
	}
	return ""
}

// SplitLots reads material lots that are separated by commas.
func SplitLots(text string) (lots []string) {
	for _, lot := range strings.Split(text, ",") {
		if lot = strings.TrimSpace(lot); lot != "" {
			lots = append(lots, lot)
		}
	}
	return lots
}
