package web

import (
	"cmp"
	"math"
	"slices"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/stat"
)

// lossBar is a bar of a Pareto chart. Cost is null where a rate is missing.
type lossBar struct {
	Key     string   `json:"key"`
	Events  int      `json:"events"`
	Pieces  int      `json:"pieces"`
	Minutes float64  `json:"minutes"`
	Cost    *float64 `json:"cost"`
	Batches int      `json:"batches"`
}

// yieldView is a yield with its 95 % interval between batches; null when there
// is nothing to tell it from.
type yieldView struct {
	Yield   *float64 `json:"yield"`
	Low     *float64 `json:"low"`
	High    *float64 `json:"high"`
	Batches int      `json:"batches"`
	Pieces  int      `json:"pieces"`
	Deff    float64  `json:"deff"` // how much wider the spread between batches makes it
}

func yieldOf(y *stat.Yield, known bool) yieldView {
	v := yieldView{Batches: y.Batches, Pieces: y.Pieces}
	if !known || math.IsNaN(y.Yield) {
		return v
	}
	v.Yield, v.Low, v.High, v.Deff = &y.Yield, &y.In.Low, &y.In.High, y.Deff
	if math.IsNaN(v.Deff) || math.IsInf(v.Deff, 0) {
		v.Deff = 1
	}
	return v
}

type stepView struct {
	Operation  traveler.Op         `json:"operation"`
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	Clampings  int                 `json:"clampings"`
	First      yieldView           `json:"first"`
	Presented  int                 `json:"presented"`
	FirstGood  int                 `json:"first_good"`
	Undecided  int                 `json:"undecided"`
	Scrap      int                 `json:"scrap"`
	Rework     int                 `json:"rework"`
	Concession int                 `json:"concession"`
	Assumed    int                 `json:"assumed"`
}

// routeYieldView is the yield along one route of a part.
type routeYieldView struct {
	Part       string     `json:"part"`
	PartName   string     `json:"part_name,omitempty"`
	RouteRev   string     `json:"route_rev"`
	Steps      []stepView `json:"steps"`
	Rolled     yieldView  `json:"rolled"`
	Normalised *float64   `json:"normalised"`
	Final      yieldView  `json:"final"`
	Started    int        `json:"started"`
	Good       int        `json:"good"`
	Batches    int        `json:"batches"`
}

// chartView is a control chart of scrap by batch: shares with limits that are
// widened by the spread between batches.
type chartView struct {
	Centre  float64       `json:"centre"`
	Spread  float64       `json:"spread"` // 1 = as if pieces were independent
	Points  []chartPoint  `json:"points"`
	Signals []chartSignal `json:"signals"`
}

type chartPoint struct {
	Card  traveler.Code `json:"card"`
	Ended int64         `json:"ended"`
	Lost  int           `json:"lost"`
	Of    int           `json:"of"`
	Value float64       `json:"value"`
	Low   float64       `json:"low"`
	High  float64       `json:"high"`
}

type chartSignal struct {
	Point int    `json:"point"`
	Rule  string `json:"rule"`
	Above bool   `json:"above"`
}

var lossKinds = []measure.LossKind{measure.LossScrap, measure.LossRework, measure.LossReview, measure.LossStop}

var lossBys = []measure.LossBy{
	measure.LossByReason, measure.LossByFound, measure.LossByCaused, measure.LossByPart, measure.LossByMachine, measure.LossByClampings,
}

// getLosses answers where pieces and minutes were lost.
func (s *Server) getLosses(c *fiber.Ctx) error {
	sel, err := s.selected(c)
	if err != nil {
		return err
	}
	kind, by := measure.LossKind(c.Query("kind", string(measure.LossScrap))), measure.LossBy(c.Query("by", string(measure.LossByReason)))
	if !slices.Contains(lossKinds, kind) {
		return traveler.Invalid("kind", "select.choice", string(kind), "scrap, rework, review, stop")
	}
	if !slices.Contains(lossBys, by) {
		return traveler.Invalid("by", "select.choice", string(by), "reason, found, caused, part, machine, clampings")
	}
	losses := measure.Losses{Kind: kind, By: by, Rates: measure.ShopRates{Shop: s.cfg.Desk.Shop()}}
	yields := map[traveler.RouteKey]*routeSum{}
	var chart []charted
	n := 0
	err = s.eachFact(&sel, false, false, func(b *traveler.BatchFact) {
		n++
		losses.Add(b)
		k := traveler.RouteKey{Part: b.Part, Rev: b.Rev}
		if yields[k] == nil {
			yields[k] = &routeSum{name: b.Name}
		}
		if yields[k].yields.Add(b) && b.Started > 0 {
			chart = append(chart, charted{b.Card, b.Ended.Unix(), stat.Share{Count: min(b.Scrap, b.Started), Of: b.Started}})
		}
	})
	if err != nil {
		return err
	}
	bars := []lossBar{}
	for _, l := range losses.Result() {
		v := lossBar{Key: l.Key, Events: l.Events, Pieces: l.Pieces, Minutes: l.Minutes, Batches: l.Batches}
		if l.Rated {
			v.Cost = &l.Cost
		}
		bars = append(bars, v)
	}
	return c.JSON(fiber.Map{
		"selection": sel, "kind": kind, "by": by, "bars": bars, "batches": n, "routes": routeYields(yields), "chart": scrapChart(chart),
	})
}

type routeSum struct {
	name   string
	yields measure.Yields
}

// mostRoutes is how many routes are shown when no part is chosen: those with
// the most pieces.
const mostRoutes = 40

func routeYields(sums map[traveler.RouteKey]*routeSum) []routeYieldView {
	out := []routeYieldView{}
	for k, sum := range sums {
		y := sum.yields.Result()
		if y.Batches == 0 {
			continue
		}
		v := routeYieldView{
			Part: k.Part, PartName: sum.name, RouteRev: k.Rev, Steps: []stepView{}, Rolled: yieldOf(&y.Rolled, y.RolledOK),
			Final: yieldOf(&y.Final, y.FinalOK), Started: y.Started, Good: y.Good, Batches: y.Batches,
		}
		if y.RolledOK && !math.IsNaN(y.Normalised) {
			v.Normalised = &y.Normalised
		}
		for i := range y.Steps {
			t := &y.Steps[i]
			v.Steps = append(v.Steps, stepView{
				t.Operation, t.WorkCentre, t.Clampings, yieldOf(&t.First, t.Known), t.Presented, t.FirstGood, t.Undecided,
				t.Scrap, t.Rework, t.Concession, t.Assumed,
			})
		}
		out = append(out, v)
	}
	slices.SortFunc(out, func(a, b routeYieldView) int {
		return cmp.Or(cmp.Compare(b.Started, a.Started), cmp.Compare(a.Part, b.Part), cmp.Compare(a.RouteRev, b.RouteRev))
	})
	return out[:min(mostRoutes, len(out))]
}

// mostCharted is how many batches a control chart shows, the newest.
const mostCharted = 100

// charted is a batch on a control chart.
type charted struct {
	card  traveler.Code
	ended int64
	lost  stat.Share
}

// scrapChart follows the share of pieces scrapped, batch by batch.
func scrapChart(done []charted) *chartView {
	slices.SortFunc(done, func(a, b charted) int { return cmp.Or(cmp.Compare(a.ended, b.ended), cmp.Compare(a.card, b.card)) })
	done = done[max(0, len(done)-mostCharted):]
	samples := make([]stat.Share, len(done))
	for i := range done {
		samples[i] = done[i].lost
	}
	ch, ok := stat.PChartBetween(samples)
	if !ok {
		return nil
	}
	v := &chartView{Centre: ch.Centre, Spread: ch.Spread, Points: []chartPoint{}, Signals: []chartSignal{}}
	for i, b := range done {
		v.Points = append(v.Points, chartPoint{b.card, b.ended, b.lost.Count, b.lost.Of, ch.Values[i], ch.Low[i], ch.High[i]})
	}
	for _, x := range ch.Signals(stat.NelsonRun) {
		v.Signals = append(v.Signals, chartSignal{x.Point, string(x.Rule), x.Above})
	}
	return v
}
