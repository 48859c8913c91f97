package figures

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
)

// lossyBatches are batches with losses and stops at random, of the same seed the
// same. Their ends come in no order, some at the same second.
func lossyBatches(n int, seed uint64) []story.BatchFact {
	rng := rand.New(rand.NewPCG(seed, 29))
	out := make([]story.BatchFact, n)
	for i := range out {
		b := &out[i]
		b.Card, b.Part, b.Rev = traveler.Code(fmt.Sprintf("B%05d", i)), fmt.Sprint("P", rng.IntN(60)), "1"
		b.Order, b.Started, b.Scrap = fmt.Sprint("W", i), 10+rng.IntN(50), rng.IntN(5)
		b.Good = b.Started - b.Scrap
		b.State = []story.BatchState{
			story.StateDone, story.StateDone, story.StateDone, story.StateCancelled,
		}[rng.IntN(4)]
		b.Ended = historyNow.Add(-time.Duration(rng.IntN(n)) * time.Minute)
		b.Released = b.Ended.AddDate(0, 0, -9)
		for k := range 3 {
			op := traveler.Op(10 * (k + 1))
			b.Ops = append(b.Ops, story.OpFact{
				Operation: op, WorkCentre: traveler.WorkCentre(fmt.Sprint("C", k)),
				PlanPiece: time.Duration(rng.IntN(900)) * time.Second, Clampings: 1 + k, Presented: b.Started,
				FirstGood: b.Started - rng.IntN(4), Good: b.Good,
			})
			v := story.VisitFact{
				Operation: op, Machine: traveler.MachineID(fmt.Sprint("M", k, rng.IntN(2))),
				Arrived: b.Released.Add(time.Duration(rng.IntN(200)) * time.Hour),
			}
			for range rng.IntN(3) {
				v.Losses = append(v.Losses, story.LossFact{
					Outcome: []string{"scrap", "rework"}[rng.IntN(2)], Reason: fmt.Sprint("r", rng.IntN(7)),
					N: 1 + rng.IntN(3), FoundAt: op, Caused: traveler.Op(10 * (1 + rng.IntN(k+1))),
				})
			}
			if rng.IntN(3) == 0 {
				v.Stops = append(
					v.Stops, story.StopFact{Reason: "tool",
						Open: time.Duration(rng.IntN(9000)) * time.Second},
				)
			}
			b.Visits = append(b.Visits, v)
		}
	}
	return out
}

// lossyShop has rates that change while the batches are there, and a work centre
// of which one machine has none.
func lossyShop() *traveler.Shop {
	shop := &traveler.Shop{}
	for i := range 5 {
		c := &traveler.Change{From: historyNow.AddDate(0, 0, -30+6*i)}
		for k := range 6 {
			c.Machines = append(c.Machines, traveler.Machine{
				ID:          traveler.MachineID(fmt.Sprint("M", k/2, k%2)),
				WorkCentre:  traveler.WorkCentre(fmt.Sprint("C", (k/2+i)%3)),
				RatePerHour: float64((7*k+3*i)%11) + 0.1,
			})
		}
		shop = shop.With(c)
	}
	return shop
}

// Losses that are added up with little kept of each batch are those that are
// added up with all of it: bars to the last digit, the batches that lost most,
// and the chart of the newest. The plain way sorts them all, and works every rate
// out where it is asked for.
func TestLossesAddUpPlainly(t *testing.T) {
	shop := lossyShop()
	for _, n := range []int{0, 3, 31, 400, 1300} {
		batches := lossyBatches(n, uint64(n))
		for _, ask := range []lossSums{
			{kind: measure.LossScrap, by: measure.LossByReason},
			{kind: measure.LossScrap, by: measure.LossByFound, key: "P3/1/20"},
			{kind: measure.LossRework, by: measure.LossByCaused, op: 10},
			{kind: measure.LossStop, by: measure.LossByMachine},
			{kind: measure.LossStop, by: measure.LossByReason, op: 20},
			{kind: measure.LossScrap, by: measure.LossByClampings, at: "M10"},
		} {
			fast, plain := ask, ask
			fast.rates, plain.rates = measure.KeepRates(shop), measure.ShopRates{Shop: shop}
			fast.yields, plain.yields = map[traveler.RouteKey]*routeSum{}, map[traveler.RouteKey]*routeSum{}
			fast.all, fast.own, plain.all = fast.losses(), fast.losses(), plain.losses()
			for i := range batches {
				fast.add(&batches[i])
			}
			what := fmt.Sprintf("%d batches, %s by %s", n, ask.kind, ask.by)
			worst, chart := addPlainly(&plain, batches)
			sameAs(t, what+": bars", fast.all.Result(), plain.all.Result())
			sameAs(t, what+": worst", fast.mostLost(), worst)
			sameAs(t, what+": chart", lossChart(fast.chart.list), lossChart(chart))
			sameAs(t, what+": routes", routeYields(fast.yields), yieldsPlainly(plain.yields))
		}
	}
}

func sameAs[T any](t *testing.T, what string, got, want T) {
	t.Helper()
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%s:\n%.900s\nplainly\n%.900s", what, fmt.Sprintf("%+v", got), fmt.Sprintf("%+v", want))
	}
}

func addPlainly(p *lossSums, batches []story.BatchFact) (worst []lossBatch, chart []charted) {
	worst = []lossBatch{}
	for i := range batches {
		b := &batches[i]
		own := p.losses()
		own.Add(b)
		bars := own.Result()
		p.all.Merge(bars)
		sum := measure.Loss{Rated: true, Batches: 1}
		for _, l := range bars {
			if p.key == "" || p.key == l.Key {
				sum.Events, sum.Pieces, sum.Minutes, sum.Cost = sum.Events+l.Events, sum.Pieces+
					l.Pieces, sum.Minutes+l.Minutes, sum.Cost+l.Cost
				sum.Rated = sum.Rated && l.Rated
			}
		}
		if sum.Events > 0 {
			worst = append(worst, lossBatch{b.Card, b.Order, b.Part, b.Rev, ask.Moment(b.Ended), barOf(&sum)})
		}
		k := traveler.RouteKey{Part: b.Part, Rev: b.Rev}
		if p.yields[k] == nil {
			p.yields[k] = &routeSum{name: b.Name}
		}
		if p.yields[k].yields.Add(b) && b.Started > 0 {
			chart = append(chart, p.charted(b, bars))
		}
	}
	cost := func(b *lossBatch) float64 {
		if b.Cost == nil {
			return 0
		}
		return *b.Cost
	}
	slices.SortFunc(worst, func(a, b lossBatch) int {
		return cmp.Or(
			cmp.Compare(cost(&b), cost(&a)), cmp.Compare(b.Minutes, a.Minutes),
			cmp.Compare(b.Pieces, a.Pieces),
			cmp.Compare(a.Card, b.Card),
		)
	})
	return worst[:min(mostLossBatches, len(worst))], chart
}

// yieldsPlainly works out the yields of all routes, and only then looks which
// are shown.
func yieldsPlainly(sums map[traveler.RouteKey]*routeSum) []routeYieldView {
	out := []routeYieldView{}
	for k, sum := range sums {
		if v := routeYieldOf(k, sum); v.Batches > 0 {
			out = append(out, v)
		}
	}
	slices.SortFunc(out, func(a, b routeYieldView) int {
		return cmp.Or(
			cmp.Compare(b.Started, a.Started), cmp.Compare(a.Part, b.Part),
			cmp.Compare(a.RouteRev, b.RouteRev),
		)
	})
	return out[:min(mostRoutes, len(out))]
}
