package measure

import (
	"math"
	"testing"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// line makes a batch that goes through steps of pieces in, scrapped and sent to
// rework (which comes back good).
func line(steps ...[3]int) story.BatchFact {
	b := story.BatchFact{State: story.StateDone, Started: steps[0][0], Ended: monday}
	for k, s := range steps {
		in, scrap, rework := s[0], s[1], s[2]
		b.Good = in - scrap
		b.Scrap += scrap
		b.Ops = append(b.Ops, story.OpFact{
			Operation: traveler.Op(10 * (k + 1)), In: in, Presented: in, FirstGood: in - scrap - rework,
			Good: in - scrap, Scrap: scrap, Rework: rework, Closed: true,
		})
	}
	return b
}

func yieldOf(batches []story.BatchFact) RouteYield {
	var y Yields
	for i := range batches {
		y.Add(&batches[i])
	}
	return y.Result()
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s = %v, want %v", what, got, want)
	}
}

// Worked examples of rolled throughput yield: the four-step line from memory;
// scrap and rework in one step, and three steps, as public Six Sigma texts show
// them.
func TestYieldsOfALine(t *testing.T) {
	four := yieldOf(
		[]story.BatchFact{line([3]int{100, 10, 5}, [3]int{90, 10, 7}, [3]int{80, 5, 3}, [3]int{75, 5, 10})})
	near(t, "final of four steps", four.Final.Yield, 0.70, 1e-9)
	near(t, "rolled of four steps", four.Rolled.Yield, 0.4964, 5e-4)
	one := yieldOf([]story.BatchFact{line([3]int{100, 10, 5})})
	near(t, "first pass", one.Steps[0].First.Yield, 0.85, 1e-9)
	near(t, "final", one.Final.Yield, 0.90, 1e-9)
	three := yieldOf([]story.BatchFact{line([3]int{100, 0, 5}, [3]int{100, 0, 16}, [3]int{100, 0, 12})})
	near(t, "rolled of .95 .84 .88", three.Rolled.Yield, 0.7022, 5e-5)
	near(t, "normalised", three.Normalised, 0.88885, 5e-5)
	passes := yieldOf([]story.BatchFact{line([3]int{100, 0, 13}, [3]int{100, 0, 7}, [3]int{100, 0, 5})})
	near(t, "rolled of 13, 7 and 5 defects in 100", passes.Rolled.Yield, 0.7686, 5e-5)
}

// What is still in review is neither good nor bad; a batch that is not done, was
// cancelled or joined to another says nothing.
func TestYieldLeavesOutWhatIsNotDecided(t *testing.T) {
	b := line([3]int{50, 2, 0})
	b.Ops[0].Undecided, b.Ops[0].FirstGood = 8, 40
	open, gone := line([3]int{50, 50, 0}), line([3]int{50, 50, 0})
	open.State, gone.State = story.StateRunning, story.StateCancelled
	joined := line([3]int{50, 50, 0})
	joined.Joined = "B00000019"
	y := yieldOf([]story.BatchFact{b, open, gone, joined})
	near(t, "first pass", y.Steps[0].First.Yield, 40.0/42, 1e-9)
	if y.Batches != 1 || y.Steps[0].Undecided != 8 || y.Steps[0].First.Pieces != 42 {
		t.Errorf("%+v", y)
	}
	if none := yieldOf(nil); none.RolledOK || none.FinalOK || none.Batches != 0 {
		t.Errorf("of nothing: %+v", none)
	}
}

// An operation that one batch in three got on the floor is shown, but is no step
// of the route: .9 x .8 = .72, of two steps.
func TestYieldSetsAsideWhatWasAdded(t *testing.T) {
	plain := line([3]int{100, 10, 0}, [3]int{100, 20, 0})
	added := line([3]int{100, 10, 0}, [3]int{100, 20, 0})
	added.Ops = append(added.Ops,
		story.OpFact{Operation: 15, In: 10, Presented: 10, FirstGood: 5, Good: 5, Scrap: 5, Closed: true})
	y := yieldOf([]story.BatchFact{plain, added, plain})
	near(t, "rolled", y.Rolled.Yield, 0.72, 1e-9)
	near(t, "normalised", y.Normalised, math.Sqrt(0.72), 1e-9)
	if s := y.Steps[1]; s.Operation != 15 || !s.Aside || s.Scrap != 5 || y.Steps[0].Aside {
		t.Errorf("%+v", y.Steps)
	}
}
