package compare

import (
	"tallywalk/traveler"
	"tallywalk/traveler/study"
)

func (st *studied) routeView(r *study.Route, ask *routeAsk) study.ComparedRoute {
	v := study.ComparedRoute{
		Sizes: st.sizes(r, ask), Name: r.Name, RouteRev: ask.RouteRev, Batches: r.Batches, OneOff: r.OneOff,
		Steps: []study.ComparedStep{}, Curve: []study.CurvePoint{}, Assumptions: []study.ComparedAssumption{},
	}
	for i := range r.Steps {
		s := &r.Steps[i]
		v.Steps = append(v.Steps, study.ComparedStep{
			Operation: s.Operation, WorkCentre: s.WorkCentre, Outside: s.Outside, Clampings: s.Clampings,
			SetUp: s.SetUp, Piece: s.Piece, Load: s.Load, Yield: s.Yield, Stop: s.Stop, Wait: s.Wait,
			Away: s.OutsideMin, Metres: s.Metres, Rate: s.Rate, SetUps: s.SetUps,
		})
	}
	res := r.Of(float64(st.in.Size), &st.in.Costs)
	v.Result, v.Parts = st.resultView(&res), r.Spent(&res)
	plain := *r
	plain.Lead = study.Value{}
	added := plain.Of(float64(st.in.Size), &st.in.Costs)
	v.Result.AddedH = added.LeadMin / 60
	if st.in.Good > 0 {
		if x, ok := r.Start(st.in.Good, st.in.Confidence, st.batches(ask.RouteRev), st.usual.spreads); ok {
			v.Start, v.Surplus, v.StartOf = &x.Pieces, &x.Surplus, x.Batches
		}
	}
	for _, p := range r.Curve(study.Sizes(curveTo), &st.in.Costs) {
		v.Curve = append(
			v.Curve, study.CurvePoint{Size: p.Size, EachMin: finite(p.EachMin), EachCost: finite(p.EachCost)},
		)
	}
	v.Minutes, v.Cost = rangeOf(
		r.Range(float64(st.in.Size), &st.in.Costs, study.EachMinutes),
	), rangeOf(r.Range(float64(st.in.Size), &st.in.Costs, study.EachCost))
	for _, a := range r.Assumptions(float64(st.in.Size), &st.in.Costs, study.EachCost) {
		v.Assumptions = append(v.Assumptions, study.ComparedAssumption{
			Operation: a.Operation, What: a.What, Value: a.Value, Low: finite(a.Low), High: finite(a.High),
		})
	}
	return v
}

// sizes are the smallest and the largest batch behind what was measured.
func (st *studied) sizes(r *study.Route, ask *routeAsk) []int {
	out := []int{}
	if r.Batches == 0 {
		return out
	}
	for _, b := range st.batches(ask.RouteRev) {
		if !b.Finished() {
			continue
		}
		if len(out) == 0 {
			out = []int{b.Started, b.Started}
		}
		out[0], out[1] = min(out[0], b.Started), max(out[1], b.Started)
	}
	return out
}

// rangeOf is a range; empty where it has no end.
func rangeOf(low, high float64) []float64 {
	if finite(low) == nil || finite(high) == nil {
		return []float64{}
	}
	return []float64{low, high}
}

func (st *studied) resultView(r *study.Result) study.ComparedResult {
	v := study.ComparedResult{
		Started: r.Started, Good: r.Good, Yield: r.Yield, PerClamping: r.PerClamping, SetUps: r.SetUps,
		Clampings: r.Clampings, Trips: r.Walks.Trips, Metres: r.Walks.Metres, Stores: r.Walks.Stores,
		Dock: r.Walks.Dock,
		Away: r.Walks.Outside, SetUpMin: r.SetUpMin, RunMin: r.RunMin,
		StopMin: r.StopMin, EachMin: finite(r.EachMin), Machine: r.Machine, Labour: r.Labour,
		Handling: r.Handling,
		Material: r.Material, Outside: r.Outside, Cost: r.Cost, EachCost: finite(r.EachCost), Scrap: r.Scrap,
		Unrated: r.Unrated, LeadH: r.LeadMin / 60, LeadHighH: r.LeadHigh / 60, LeadIs: study.Planned,
	}
	if r.LeadMeasured {
		v.LeadIs = study.Measured
	}
	if v.Unrated == nil {
		v.Unrated = []traveler.WorkCentre{}
	}
	if d := st.demand(); d > 0 && r.Good > 0 {
		wip := d / r.Good * r.LeadMin / (daysInYear * 24 * 60)
		v.WIP = finite(wip)
	}
	return v
}

func estimateOf(e study.Estimate) study.ComparedValue {
	v := study.ComparedValue{Value: finite(e.Value)}
	if low, high := finite(e.Low), finite(e.High); e.Known && low != nil && high != nil {
		v.Low, v.High = low, high
	}
	return v
}

func clampingOf(l *study.ClampingLoss) study.Clamping {
	return study.Clamping{
		Known: l.Known, Loss: l.PerClamping, Parts: l.Parts, Batches: l.Batches, Pieces: l.Pieces,
	}
}
