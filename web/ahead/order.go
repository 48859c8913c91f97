package ahead

import (
	"cmp"
	"slices"
	"time"

	core "tallywalk/traveler/ahead"
	"tallywalk/traveler/calendar"
)

// inOrder puts a line in the shop's order, as the floor is simulated: hot batches first,
// then by the rule, then by priority, then the one that has waited longest, then by card; what is held, or
// waits for an inspector, after all that, as what lacks something.
// It counts the places.
func (s *Ahead) inOrder(v *nextView, f *core.Forecast) {
	key := map[*nextBatch]float64{}
	line := make([]*nextBatch, len(v.Waiting))
	for i := range v.Waiting {
		b := &v.Waiting[i]
		line[i], key[b] = b, s.ruleKey(v, b, f)
	}
	slices.SortStableFunc(line, func(a, b *nextBatch) int {
		return cmp.Or(
			-compareBool(takes(a), takes(b)), -compareBool(a.Hot, b.Hot), cmp.Compare(key[a], key[b]),
			cmp.Compare(b.Priority, a.Priority), a.Since.Compare(b.Since), cmp.Compare(a.Card, b.Card),
		)
	})
	sorted := make([]nextBatch, len(line))
	for i, b := range line {
		sorted[i] = *b
		sorted[i].Place = i + 1
	}
	v.Waiting = sorted
}

// compareBool is 1 where only a holds, -1 where only b does.
func compareBool(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return 1
	}
	return -1
}

// noDue is later than any due date, and setUp than any length of time, in seconds.
const (
	noDue = 1e12
	setUp = 1e13
)

// ruleKey is what the shop's rule sorts by, in seconds; lower goes first.
func (s *Ahead) ruleKey(v *nextView, b *nextBatch, f *core.Forecast) float64 {
	due := noDue
	if day, err := time.Parse(time.DateOnly, b.Due); err == nil {
		due = float64(calendar.EndOfDay(day, s.Zone).Unix())
	}
	switch v.Rule {
	case core.BySlack:
		if x := batchIn(f, b.Card); x != nil {
			for i := range x.Steps {
				due -= x.Steps[i].Work.Seconds()
			}
		}
	case core.ByShortest:
		return b.Setup + b.Run
	case core.BySetup:
		if v.On != nil && v.On.Part == b.Part {
			return due - setUp
		}
	case core.ByWait:
		return float64(b.Since.Unix())
	}
	return due
}
