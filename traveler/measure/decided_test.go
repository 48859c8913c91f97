package measure_test

import (
	"testing"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Six pieces are set aside at two machines and two more when reworked ones come
// back; of the eight, three pass, one goes with a concession, two are scrap, one
// is to be reworked and one stays. Worked by hand: decisions are spent on the
// visits in the order in which these were begun.
func TestDecisionsBelongToTheVisits(t *testing.T) {
	lost := func(outcome, reason string, n int) story.LossAt {
		return story.LossAt{Loss: traveler.Loss{Reason: reason, N: n}, Outcome: outcome}
	}
	aside := func(n int) []story.LossAt {
		l := lost("review", "burr", n)
		l.CausedAt = 10
		return []story.LossAt{l}
	}
	decided := eight.Add(48 * 60)
	f := &story.Family{
		Batches: []story.Batch{{Ops: []traveler.Operation{{Number: 10}, {Number: 20}},
			Decisions: []story.Decision{
				{Operation: 20, Good: 3, FromReview: true},
				{Operation: 20, Scrap: 2, Concession: 1, FromReview: true, At: decided,
					Losses: []story.LossAt{lost("scrap", "burr", 2)}},
				{Operation: 20, Rework: 1, FromReview: true,
					Losses: []story.LossAt{lost("rework", "size", 1)}},
				{Operation: 20, Good: -1},
			}}},
		Visits: []story.Visit{
			{Operation: 20, Machine: "A", Good: 10, Review: 4, Losses: aside(4), Finished: eight,
				State: story.VisitFinished},
			{Operation: 10, Machine: "B", Good: 5, Review: 1, Finished: eight, State: story.VisitFinished},
			{Operation: 20, Machine: "C", Good: 7, Review: 2, Losses: aside(2), Finished: eight,
				State: story.VisitFinished},
			{Operation: 20, Machine: "A", ReworkFor: 20, Good: 1, Review: 2, Losses: aside(2),
				Finished: eight, State: story.VisitFinished},
		},
	}
	type row struct{ good, scrap, rework, review, aside, conceded int }
	want := []row{{13, 1, 0, 0, 4, 0}, {5, 0, 0, 1, 1, 0}, {8, 1, 0, 0, 2, 1}, {1, 0, 1, 1, 2, 0}}
	for i, w := range want {
		v := meter(eight).Visit(f, i)
		if got := (row{v.Good, v.Scrap, v.Rework, v.Review, v.Aside, v.Conceded}); got != w {
			t.Errorf("visit %d: %+v, by hand %+v", i, got, w)
		}
		scrap := 0
		for _, l := range v.Losses {
			if l.Outcome == "scrap" {
				scrap += l.N
				if l.Caused != 10 || !l.Decided.Equal(decided) {
					t.Errorf("visit %d: %+v is not caused where it was said when it was set aside", i, l)
				}
			}
		}
		if scrap != w.scrap {
			t.Errorf("visit %d: %d scrap by reason, %d counted", i, scrap, w.scrap)
		}
	}
}
