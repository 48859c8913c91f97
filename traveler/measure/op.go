package measure

import (
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// ops gives what became of a batch at each of its operations that it has been
// at, or passed.
func (m *Meter) ops(f *story.Family, batch int, visits []story.VisitFact) []story.OpFact {
	b := &f.Batches[batch]
	ts := f.Tallies(batch)
	out := make([]story.OpFact, 0, len(ts))
	for k := range ts {
		t, o := &ts[k], &b.Ops[k]
		if o.Number < b.First || t.In == 0 && t.Counted == 0 && !t.Seen {
			continue
		}
		x := story.OpFact{
			Operation: o.Number, WorkCentre: o.WorkCentre, PlanSetup: minutes(o.SetupMin),
			PlanPiece: minutes(o.MinPerPiece()),
			Clampings: o.Clampings, Outside: o.Outside(), FirstOff: o.FirstOff,
			In: t.In, Undecided: t.ReviewOpen, Good: t.Good, Scrap: t.Scrap, Rework: t.Rework,
			Missing:    t.Missing,
			Concession: t.Concession, Assumed: t.Assumed, Closed: t.Closed,
		}
		addFirstPass(&x, visits)
		out = append(out, x)
	}
	return out
}

func minutes(m float64) time.Duration { return time.Duration(m * float64(time.Minute)) }

// addFirstPass adds up the first-pass visits of an operation.
func addFirstPass(x *story.OpFact, visits []story.VisitFact) {
	var machines []traveler.MachineID
	for i := range visits {
		v := &visits[i]
		if v.Operation != x.Operation || v.ReworkFor != 0 {
			continue
		}
		n := v.Good + v.Scrap + v.Rework + v.Review
		x.Presented += n
		x.FirstGood += v.Good - v.Conceded
		x.Made += n + v.Missing - v.SetupN
		x.Setup += v.Parts.Setup
		x.Run += v.Parts.Run
		x.Inferred = x.Inferred || v.Inferred()
		if v.Parts.Setup > 0 {
			x.Setups++
		}
		if !slices.Contains(machines, v.Machine) {
			machines = append(machines, v.Machine)
		}
	}
	x.Machines = len(machines)
}
