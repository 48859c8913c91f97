package figures

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// pastShop has batches of ten years without a store.
type pastShop struct {
	story.Desk
	facts []story.BatchFact
}

func (d *pastShop) Shop() *traveler.Shop { return &traveler.Shop{} }

func (d *pastShop) Facts(q story.FactQuery, yield func(*story.BatchFact) bool) error {
	for i := range d.facts {
		b := &d.facts[i]
		if q.Part != "" && b.Part != q.Part || !b.Ended.IsZero() &&
			(b.Ended.Before(q.From) || !q.To.IsZero() && !b.Ended.Before(q.To)) {
			continue
		}
		if !yield(b) {
			return nil
		}
	}
	return nil
}

var historyNow = time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)

func pastServer(n int) *room {
	rng := rand.New(rand.NewPCG(4, 5))
	d := &pastShop{}
	for i := range n {
		end := historyNow.Add(-time.Duration(float64(i) / float64(n) * 3640 * 24 * float64(time.Hour)))
		lead := time.Duration((1 + 20*rng.Float64()*rng.Float64()) * 24 * float64(time.Hour)).Truncate(
			time.Second)
		d.facts = append(d.facts, story.BatchFact{
			Card: traveler.Code(fmt.Sprintf("B%07d", i)), Part: fmt.Sprintf("P%03d", i%200), Rev: "1",
			Order: fmt.Sprintf("W%d", i), State: story.StateDone, Released: end.Add(-lead),
			Begun: end.Add(-lead / 2), Ended: end, Due: end.AddDate(0, 0, i%3-1), Started: 50, Wanted: 48,
			Good: 47 + i%3, Parts: story.Parts{Run: lead / 20, Setup: lead / 50,
				Queue: lead - lead/20 - lead/50},
		})
	}
	return &room{
		Door: &door.Door{
			House: &ask.House{Desk: d, Now: func() time.Time { return historyNow }, Zone: time.UTC}},
	}
}

func historyOf(s *room, sel *selection) *historyView {
	t := s.newHistoryBuilder(sel)
	if err := s.eachFact(nil, sel, leadsOnly, t.add); err != nil {
		panic(err)
	}
	return t.view()
}

// A history of every length adds up: bins and series hold each batch once, the
// slowest are the slowest, and what is drawn is bounded. The median is worked
// out a second time by sorting.
func TestHistoryOfAnyLength(t *testing.T) {
	for _, n := range []int{0, 1, 5, 6, 19, 20, 4000} {
		s := pastServer(n)
		sel := selection{from: historyNow.AddDate(-10, -1, 0), to: historyNow.Add(time.Hour)}
		v := historyOf(s, &sel)
		binned, inSeries := 0, 0
		for _, b := range v.Bins {
			binned += b.N
		}
		for _, p := range v.Series {
			inSeries += p.Lead.N
		}
		if v.Ended != n || binned != n || inSeries != n || len(v.Points) > mostPoints ||
			len(v.Slowest) > mostSlowest || len(v.Bins) > mostBins+1 {
			t.Errorf(
				"%d batches: %d ended, %d binned, %d in the series, %d drawn", n, v.Ended, binned, inSeries,
				len(v.Points),
			)
		}
		if (v.Lead.P50 != nil) != (n > 0) || (v.Lead.P80 != nil) != (n >= 6) ||
			(v.Lead.P95 != nil) != (n >= 20) ||
			(v.Lead.In != nil) != (n >= 6) {
			t.Errorf("%d batches: %+v", n, v.Lead)
		}
		if _, err := json.Marshal(v); err != nil {
			t.Errorf("%d batches: %v", n, err)
		}
		var leads []float64
		for _, b := range s.Desk.(*pastShop).facts {
			leads = append(leads, b.Ended.Sub(b.Released).Seconds())
		}
		slices.Sort(leads)
		if n%2 == 1 && *v.Lead.P50 != leads[n/2] {
			t.Errorf("%d batches: median %v, sorted %v", n, *v.Lead.P50, leads[n/2])
		}
		for i, b := range v.Slowest {
			if b.Lead != leads[n-1-i] {
				t.Errorf("%d batches: the slowest but %d is %v, sorted %v", n, i, b.Lead, leads[n-1-i])
			}
		}
	}
}

// Adding up the whole shop's ten years, beside the reading; goal, with the
// reading (store's BenchmarkYears), under 300 ms.
func BenchmarkHistoryTenYears(b *testing.B) {
	s := pastServer(40_000)
	sel := selection{from: historyNow.AddDate(-10, -1, 0), to: historyNow.Add(time.Hour)}
	for b.Loop() {
		historyOf(s, &sel)
	}
}

// One part and one year. Goal, with the reading, under 30 ms.
func BenchmarkHistoryPartYear(b *testing.B) {
	s := pastServer(40_000)
	sel := selection{Part: "P007", from: historyNow.AddDate(-1, 0, 0), to: historyNow.Add(time.Hour)}
	for b.Loop() {
		historyOf(s, &sel)
	}
}
