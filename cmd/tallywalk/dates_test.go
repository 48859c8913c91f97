package main

import (
	"os"
	"testing"
	"time"

	"tallywalk/cmd/tallywalk/demo"
	"tallywalk/traveler"
	"tallywalk/traveler/ahead"
	"tallywalk/traveler/story"
)

// forecastShop is a demo's history with its forecasts; trial may be none.
func forecastShop(t testing.TB, seed uint64, days int, trial demo.Trial) (*ahead.Watch, *house, time.Time) {
	t.Helper()
	sim, hs := simulatedShop(t, seed, 52, trial)
	zone, err := time.LoadLocation(demo.Zone)
	if err != nil {
		t.Fatal(err)
	}
	w := ahead.NewWatch(ahead.Settings{Desk: hs.desk, Zone: zone, Now: sim.Opens, Days: days})
	if err := w.CatchUp(t.Context()); err != nil {
		t.Fatal(err)
	}
	return w, hs, sim.Opens()
}

// The forecasts are made for so many days, and judged on the last of them: those
// before correct the first that are judged.
const (
	datesMade, datesJudged          = 180, 120
	datesMadeInBrief, judgedInBrief = 85, 50
)

// TestDatesHold forecasts the demo's shop each day from what was known then, and
// looks at what came. In the check seed 7, which was used for nothing else; with
// TALLYWALK_LONG seeds 1 and 2 as well, all pooled. Goals of the project.
func TestDatesHold(t *testing.T) {
	t.Parallel()
	seeds, made, judged := []uint64{7}, datesMadeInBrief, judgedInBrief
	slack := 0.05 // one shop's weeks are one draw
	if os.Getenv("TALLYWALK_LONG") != "" {
		seeds, made, judged, slack = []uint64{1, 2, 7}, datesMade, datesJudged, 0
	}
	var done, delivered pooled
	for _, seed := range seeds {
		w, _, _ := forecastShop(t, seed, made, demo.Trial{})
		h := w.Hits(judged)
		if h.Days < 40 {
			t.Fatalf("only %d days", h.Days)
		}
		if f := w.Forecast(); f.Method != ahead.Simulated {
			t.Errorf("seed %d: %s speaks", seed, f.Method)
		}
		done.add(&h.Done)
		delivered.add(&h.Delivered)
		t.Logf("seed %d: last operation %.1f %% by P50, %.1f by P85, off %.2f d, width %.2f d; delivery %.1f, %.1f, %.2f, %.2f", seed,
			100*h.Done.P50, 100*h.Done.P85, days(h.Done.MeanError), days(h.Done.MedianWidth),
			100*h.Delivered.P50, 100*h.Delivered.P85, days(h.Delivered.MeanError),
			days(h.Delivered.MedianWidth))
	}
	done.hold(t, "last operation", slack, 1.5, 1.7)
	delivered.hold(t, "delivery", slack, 1.7, 2.1)
}

func days(d time.Duration) float64 { return d.Hours() / 24 }

// pooled is hits of several shops together, widths and errors as means.
type pooled struct {
	n, p50, p85, off, width float64
	at                      map[float64][3]float64
}

func (p *pooled) add(h *ahead.HitShare) {
	n := float64(h.N)
	p.n, p.p50, p.p85 = p.n+n, p.p50+n*h.P50, p.p85+n*h.P85
	p.off, p.width = p.off+n*days(h.MeanError), p.width+n*days(h.MedianWidth)
	if p.at == nil {
		p.at = map[float64][3]float64{}
	}
	for _, x := range h.ByHorizon {
		a := p.at[x.FromDays]
		k := float64(x.N)
		p.at[x.FromDays] = [3]float64{a[0] + k, a[1] + k*x.P50, a[2] + k*x.P85}
	}
}

func (p *pooled) hold(t *testing.T, what string, slack, off, width float64) {
	t.Helper()
	in := func(name string, v, from, to float64) {
		if v < from-slack || v > to+slack {
			t.Errorf("%s: %s %.3f, wanted from %.3f to %.3f", what, name, v, from, to)
		}
	}
	in("share by P50", p.p50/p.n, .45, .55)
	in("share by P85", p.p85/p.n, .80, .90)
	for d, a := range p.at {
		if a[0] >= 200 {
			t.Logf("%s from %g d on: %.0f, %.3f, %.3f", what, d, a[0], a[1]/a[0], a[2]/a[0])
			in("share by P50 at its horizon", a[1]/a[0], .40, .60)
			in("share by P85 at its horizon", a[2]/a[0], .75, .95)
		}
	}
	if v := p.off / p.n; v > off*(1+4*slack) {
		t.Errorf("%s: off by %.2f days on average, at most %.1f wanted", what, v, off)
	}
	if v := p.width / p.n; v > width*(1+8*slack) {
		t.Errorf("%s: %.2f days from P50 to P85, at most %.1f wanted", what, v, width)
	}
}

// With a quarter more ordered in the last two months the same shares hold; where
// the only grinder is lost for eleven days and someone says when it is back, at
// least three in four of its batches come by the date called 85 %.
func TestDatesHoldInTrouble(t *testing.T) {
	if os.Getenv("TALLYWALK_LONG") == "" {
		t.Log("only with TALLYWALK_LONG")
		return
	}
	t.Parallel()
	day := 24 * time.Hour
	w, _, _ := forecastShop(t, 7, 150, demo.Trial{Since: 90 * day, Demand: 1.25})
	h := w.Hits(80)
	t.Logf("a quarter more: %.3f by P50, %.3f by P85 of %d", h.Done.P50, h.Done.P85, h.Done.N)
	if h.Done.P50 < .42 || h.Done.P50 > .58 || h.Done.P85 < .77 || h.Done.P85 > .93 {
		t.Errorf("a quarter more: %+v", h.Done)
	}
	hits, n := 0, 0
	for _, seed := range []uint64{1, 2, 7} {
		_, hs, open := forecastShop(t, seed, 1, demo.Trial{Since: 43 * day, Lost: "G1", LostDays: 11})
		k, of := grinderHits(t, hs, open.Add(-43*day))
		t.Logf("grinder lost, seed %d: %d of %d by P85", seed, k, of)
		hits, n = hits+k, n+of
	}
	if n < 100 || float64(hits) < .75*float64(n) {
		t.Errorf("grinder lost: %d of %d came by the date called 85 %%", hits, n)
	}
}

// grinderHits forecasts on some of the days in which the grinder is lost, and counts
// the batches that are to be ground and came by P85.
func grinderHits(t *testing.T, hs *house, from time.Time) (hits, n int) {
	t.Helper()
	zone, err := time.LoadLocation(demo.Zone)
	if err != nil {
		t.Fatal(err)
	}
	ended := map[traveler.Code]time.Time{}
	if err := hs.desk.Facts(story.FactQuery{Open: true}, func(b *story.BatchFact) bool {
		if b.State == story.StateDone {
			for i := range b.Visits {
				if v := &b.Visits[i]; v.ReworkFor == 0 && v.Ended.After(ended[b.Card]) {
					ended[b.Card] = v.Ended
				}
			}
		}
		return true
	}); err != nil {
		t.Fatal(err)
	}
	for _, d := range []int{2, 5, 8} {
		at := from.AddDate(0, 0, d)
		w := ahead.NewWatch(
			ahead.Settings{Desk: hs.desk, Zone: zone, Now: func() time.Time { return at }, Until: at,
				Days: 120})
		if err := w.CatchUp(t.Context()); err != nil {
			t.Fatal(err)
		}
		f := w.Forecast()
		for i := range f.Batches {
			b := &f.Batches[i]
			grinds := false
			for k := range b.Steps {
				grinds = grinds || b.Steps[k].WorkCentre == "GRIND"
			}
			end, there := ended[b.Card]
			if !grinds || !there {
				continue
			}
			n++
			if !end.After(b.Done.P85) {
				hits++
			}
		}
	}
	return hits, n
}

// BenchmarkForecast is one forecast of the demo's floor; the project's goal is half a
// second.
func BenchmarkForecast(b *testing.B) {
	w, _, _ := forecastShop(b, 1, 1, demo.Trial{})
	for b.Loop() {
		if _, _, err := w.WhatIf(b.Context(), &ahead.Scenario{}, nil); err != nil {
			b.Fatal(err)
		}
	}
}
