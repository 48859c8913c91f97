package study

import (
	"math/rand/v2"
	"os"
	"slices"
	"testing"
)

// setting is a truth from which histories are drawn: batches on the old and the
// new route, the loss of a clamping and of other things, and how alike the
// pieces of a batch are.
type setting struct {
	old, new           int
	loss, other, alike float64
}

// held counts how often intervals held the truth.
type held struct{ known, hits int }

func (h *held) note(known bool, low, truth, high float64) {
	if known {
		h.known++
		if low <= truth && truth <= high {
			h.hits++
		}
	}
}

func (h *held) part() float64 { return float64(h.hits) / float64(max(1, h.known)) }

// proof draws histories and counts: the loss of a clamping, the difference of the
// rolled yields, and named winners between two routes that are the same.
func (x *setting) proof(histories, resamples int) (clamping, yield held, winners int) {
	for seed := range histories {
		h := &history{rng: rand.New(rand.NewPCG(uint64(seed), 99)), loss: x.loss, other: x.other, cycle: 10,
			ratio: .7, worse: x.alike}
		before, after := h.routes(x.old, x.new)
		var sum Clampings
		for _, b := range append(before[:len(before):len(before)], after...) {
			sum.Add(&b)
		}
		c := sum.Result()
		clamping.note(c.Known, c.PerClamping.Low, h.loss, c.PerClamping.High)
		a, b := planOf("1", oldOps), planOf("2", 1)
		d := Compare(a.Measure(before), b.Measure(after), []Figure{Rolled}, 50, &Costs{}, resamples,
			h.rng)[0].Difference
		old := 1.0
		for k := range oldOps {
			p := h.loss
			if k == oldOps-1 {
				p += h.other
			}
			old *= 1 - p
		}
		yield.note(d.Known, d.Low, 1-h.loss-h.other-old, d.High)
		one, _ := h.routes(x.old, 0)
		two, _ := h.routes(x.new, 0)
		a, b = planOf("1", oldOps), planOf("2", oldOps)
		for _, s := range Along(a.Measure(one), b.Measure(two),
			[]int{1, 2, 5, 10, 20, 50, 100, 300, 1000, 5000}, &Costs{Labour: 30, Manned: 1}, EachCost) {
			if s.Sure {
				winners++
				break
			}
		}
	}
	return clamping, yield, winners
}

// Stated 95 % intervals hold the truth about as often as they say, from the
// number of batches on from which they are given; and of two routes that are the
// same, one is seldom named the better one anywhere along the curve. Proved on
// seeded histories with a known truth: 200 of a setting, with TALLYWALK_LONG 1,000
// of six.
func TestIntervalsSayWhatTheyHold(t *testing.T) {
	t.Parallel()
	settings, histories, resamples, least, most := []setting{{8, 8, .025, .01, .05}}, 200, 199, .91, .99
	if os.Getenv("TALLYWALK_LONG") != "" {
		histories, resamples, least, most = 1000, 399, .93, .97
		settings = append(settings, setting{20, 12, .12, .05, .02}, setting{8, 8, .025, .01, .02},
			setting{12, 10, .025, .01, .1}, setting{30, 20, .05, .01, .02}, setting{20, 20, .02, .02, .05})
	}
	for _, x := range settings {
		clamping, yield, winners := x.proof(histories, resamples)
		t.Logf("%+v: loss of a clamping %.3f of %d, difference of yields %.3f of %d, winners %d of %d", x,
			clamping.part(), clamping.known, yield.part(), yield.known, winners, histories)
		for what, h := range map[string]held{"loss of a clamping": clamping, "difference of yields": yield} {
			if p := h.part(); p < least || p > most || h.known < histories/2 {
				t.Errorf("%+v: the 95 %% interval of the %s holds the truth in %.3f of %d", x, what, p,
					h.known)
			}
		}
		if 100*winners > 7*histories {
			t.Errorf("%+v: a winner is named in %d of %d", x, winners, histories)
		}
	}
}

// Below the number of batches from which they hold, no interval is given.
func TestTooFewBatches(t *testing.T) {
	h := &history{rng: rand.New(rand.NewPCG(1, 2)), loss: .1, cycle: 10, ratio: .7}
	for _, n := range []int{FewForInterval - 1, FewForInterval} {
		before, after := h.routes(n, 20)
		var sum Clampings
		for _, b := range append(before[:len(before):len(before)], after...) {
			sum.Add(&b)
		}
		a, b := planOf("1", oldOps), planOf("2", 1)
		c := Compare(a.Measure(before), b.Measure(after), []Figure{Rolled}, 50, &Costs{}, 399, h.rng)[0]
		known := []bool{c.First.Known, c.Difference.Known, sum.Result().Known}
		if want := n >= FewForInterval; slices.Contains(known, !want) || !c.Second.Known {
			t.Errorf("%d batches: first yield, difference, clampings: %v, want all %v; second yield: %v", n,
				known, want, c.Second.Known)
		}
	}
}
