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
	batches, err := s.facts(&sel, false, false)
	if err != nil {
		return err
	}
	bars := []lossBar{}
	for _, l := range measure.LossesOf(batches, kind, by, measure.ShopRates{Shop: s.cfg.Desk.Shop()}) {
		v := lossBar{Key: l.Key, Events: l.Events, Pieces: l.Pieces, Minutes: l.Minutes, Batches: l.Batches}
		if l.Rated {
			v.Cost = &l.Cost
		}
		bars = append(bars, v)
	}
	return c.JSON(fiber.Map{
		"selection": sel, "kind": kind, "by": by, "bars": bars, "batches": len(batches),
		"routes": routeYields(batches), "chart": scrapChart(batches),
	})
}

// mostRoutes is how many routes are shown when no part is chosen: those with
// the most pieces.
const mostRoutes = 40

func routeYields(batches []traveler.BatchFact) []routeYieldView {
	groups := map[traveler.RouteKey][]traveler.BatchFact{}
	for i := range batches {
		k := traveler.RouteKey{Part: batches[i].Part, Rev: batches[i].Rev}
		groups[k] = append(groups[k], batches[i])
	}
	out := []routeYieldView{}
	for k, list := range groups {
		y := measure.YieldOf(list)
		if y.Batches == 0 {
			continue
		}
		v := routeYieldView{
			Part: k.Part, PartName: list[0].Name, RouteRev: k.Rev, Steps: []stepView{}, Rolled: yieldOf(&y.Rolled, y.RolledOK),
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

// scrapChart follows the share of pieces scrapped, batch by batch.
func scrapChart(batches []traveler.BatchFact) *chartView {
	var done []*traveler.BatchFact
	for i := range batches {
		if b := &batches[i]; b.State == traveler.StateDone && b.Joined == "" && b.Started > 0 {
			done = append(done, b)
		}
	}
	slices.SortFunc(done, func(a, b *traveler.BatchFact) int {
		return cmp.Or(a.Ended.Compare(b.Ended), cmp.Compare(a.Card, b.Card))
	})
	done = done[max(0, len(done)-mostCharted):]
	samples := make([]stat.Share, len(done))
	for i, b := range done {
		samples[i] = stat.Share{Count: min(b.Scrap, b.Started), Of: b.Started}
	}
	ch, ok := stat.PChartBetween(samples)
	if !ok {
		return nil
	}
	v := &chartView{Centre: ch.Centre, Spread: ch.Spread, Points: []chartPoint{}, Signals: []chartSignal{}}
	for i, b := range done {
		v.Points = append(v.Points, chartPoint{b.Card, b.Ended.Unix(), samples[i].Count, samples[i].Of, ch.Values[i], ch.Low[i], ch.High[i]})
	}
	for _, x := range ch.Signals(stat.NelsonRun) {
		v.Signals = append(v.Signals, chartSignal{x.Point, string(x.Rule), x.Above})
	}
	return v
}
