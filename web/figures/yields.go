package figures

import (
	"cmp"
	"math"
	"slices"

	"tallywalk/traveler"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/stat"
)

// yieldView is a yield with its 95 % interval between batches; null where
// there is nothing, or for the interval one batch only, to work it out from.
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
	if math.IsNaN(y.Yield) {
		return v
	}
	v.Yield = &y.Yield
	if known {
		v.Low, v.High, v.Deff = &y.In.Low, &y.In.High, y.Deff
	}
	if !known || math.IsNaN(v.Deff) || math.IsInf(v.Deff, 0) {
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
	Aside      bool                `json:"aside"` // added on the floor for some: not in the rolled yield
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

type routeSum struct {
	name   string
	yields measure.Yields
}

// mostRoutes is how many routes are shown when no part is chosen: those with
// the most pieces.
const mostRoutes = 40

// routeYields works out the yields of the routes that are shown.
func routeYields(sums map[traveler.RouteKey]*routeSum) []routeYieldView {
	var keys []traveler.RouteKey
	for k, sum := range sums {
		if batches, _ := sum.yields.Size(); batches > 0 {
			keys = append(keys, k)
		}
	}
	slices.SortFunc(keys, func(a, b traveler.RouteKey) int {
		_, m := sums[a].yields.Size()
		_, n := sums[b].yields.Size()
		return cmp.Or(cmp.Compare(n, m), cmp.Compare(a.Part, b.Part), cmp.Compare(a.Rev, b.Rev))
	})
	out := []routeYieldView{}
	for _, k := range keys[:min(mostRoutes, len(keys))] {
		out = append(out, routeYieldOf(k, sums[k]))
	}
	return out
}

func routeYieldOf(k traveler.RouteKey, sum *routeSum) routeYieldView {
	y := sum.yields.Result()
	v := routeYieldView{
		Part: k.Part, PartName: sum.name, RouteRev: k.Rev, Steps: []stepView{},
		Rolled: yieldOf(&y.Rolled, y.RolledOK), Final: yieldOf(&y.Final, y.FinalOK), Started: y.Started,
		Good: y.Good, Batches: y.Batches,
	}
	if y.RolledOK && !math.IsNaN(y.Normalised) {
		v.Normalised = &y.Normalised
	}
	for i := range y.Steps {
		t := &y.Steps[i]
		v.Steps = append(v.Steps, stepView{
			t.Operation, t.WorkCentre, t.Clampings, yieldOf(&t.First, t.Known), t.Presented, t.FirstGood,
			t.Undecided,
			t.Scrap, t.Rework, t.Concession, t.Assumed, t.Aside,
		})
	}
	return v
}
