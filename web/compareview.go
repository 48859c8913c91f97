package web

import (
	"tallywalk/traveler"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/study"
)

type stepStudy struct {
	Operation  traveler.Op         `json:"operation"`
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	Outside    bool                `json:"outside"`
	Clampings  int                 `json:"clampings"`
	SetUp      study.Value         `json:"setup_min"`
	Piece      study.Value         `json:"piece_min"`
	Load       float64             `json:"load_min"`
	Yield      study.Value         `json:"yield"`
	Stop       study.Value         `json:"stop_min"`
	Wait       study.Value         `json:"wait_min"` // likely = median, high = P85
	Away       study.Value         `json:"away_min"`
	Metres     float64             `json:"metres"`
	Rate       float64             `json:"rate_per_hour"` // 0 = not known
}

type resultView struct {
	Started     float64               `json:"started"`
	Good        float64               `json:"good"`
	Yield       float64               `json:"yield"`
	PerClamping float64               `json:"yield_per_clamping"`
	SetUps      int                   `json:"setups"`
	Clampings   int                   `json:"clampings"`
	Trips       int                   `json:"trips"`
	Metres      float64               `json:"metres"`
	SetUpMin    float64               `json:"setup_min"`
	RunMin      float64               `json:"run_min"`
	StopMin     float64               `json:"stop_min"`
	EachMin     *float64              `json:"each_min"`
	Machine     float64               `json:"machine_cost"`
	Labour      float64               `json:"labour_cost"`
	Handling    float64               `json:"handling_cost"`
	Material    float64               `json:"material_cost"`
	Outside     float64               `json:"outside_cost"`
	Cost        float64               `json:"cost"`
	EachCost    *float64              `json:"each_cost"`
	Scrap       float64               `json:"scrap_cost"`
	Unrated     []traveler.WorkCentre `json:"unrated"`
	LeadH       float64               `json:"lead_h"`
	LeadHighH   float64               `json:"lead_high_h"`  // P85
	AddedH      float64               `json:"lead_added_h"` // as work and waits add up, also where it was measured
	LeadIs      study.Source          `json:"lead_is"`      // measured, or planned: work and waits added up
	WIP         *float64              `json:"wip"`          // batches tied up, by Little's law
}

type pointView struct {
	Size     int      `json:"size"`
	EachMin  *float64 `json:"each_min"`
	EachCost *float64 `json:"each_cost"`
}

type assumptionView struct {
	Operation traveler.Op `json:"operation"`
	What      string      `json:"what"`
	Value     study.Value `json:"value"`
	Low       *float64    `json:"cost_low"` // cost of a good piece when it is low
	High      *float64    `json:"cost_high"`
}

type routeStudy struct {
	Name        string           `json:"name"`
	RouteRev    string           `json:"route_rev"`
	Batches     int              `json:"batches"`
	Sizes       []int            `json:"sizes"` // smallest and largest batch that was measured; empty = none
	OneOff      float64          `json:"one_off"`
	Steps       []stepStudy      `json:"steps"`
	Result      resultView       `json:"result"`
	Parts       measure.Spent    `json:"parts"`         // where the lead time goes: measured, or added up
	Minutes     []float64        `json:"minutes_range"` // of a good piece, if all that is uncertain went well, or badly, together
	Cost        []float64        `json:"cost_range"`
	Start       *int             `json:"start"` // pieces to start for the good ones wanted
	Curve       []pointView      `json:"curve"`
	Assumptions []assumptionView `json:"assumptions"` // what matters most first
}

type estimateView struct {
	Value *float64 `json:"value"`
	Low   *float64 `json:"low"`
	High  *float64 `json:"high"`
}

// Compared is a figure of two routes with its intervals.
type Compared struct {
	Figure     string       `json:"figure"` // minutes and cost of a good piece, yield, setup minutes
	First      estimateView `json:"first"`
	Second     estimateView `json:"second"`
	Difference estimateView `json:"difference"` // second less first
}

type centreShift struct {
	WorkCentre  traveler.WorkCentre `json:"work_centre"`
	Machines    int                 `json:"machines"`
	FirstHours  *float64            `json:"first_h"` // a year's demand by the first route
	SecondHours *float64            `json:"second_h"`
	Load        *float64            `json:"load"`      // of the last quarter, as it was
	First       *float64            `json:"first"`     // if a year's demand came by the first route
	Then        *float64            `json:"then"`      // and by the second
	QueueNow    *float64            `json:"queue_min"` // mean wait by utilisation; null = no end of it
	QueueThen   *float64            `json:"queue_then_min"`
}

type againstView struct {
	First     string           `json:"first"`
	Second    string           `json:"second"`
	Figures   []Compared       `json:"figures"`
	ByCost    []study.Crossing `json:"breaks_by_cost"`
	ByMinutes []study.Crossing `json:"breaks_by_minutes"`
	Sure      []study.Stretch  `json:"sure"` // by cost
	Centres   []centreShift    `json:"centres"`
}

// clampingView is what a clamping loses in this shop: an association.
type clampingView struct {
	Known   bool        `json:"known"`
	Loss    study.Value `json:"loss"`
	Parts   int         `json:"parts"`
	Batches int         `json:"batches"`
	Pieces  int         `json:"pieces"`
}

// Comparison is routes of a part side by side, as the API answers it and as it is
// printed.
type Comparison struct {
	Part       string        `json:"part"`
	Size       int           `json:"size"`
	Good       int           `json:"good"`
	Confidence float64       `json:"confidence"`
	Demand     float64       `json:"demand"`
	Costs      study.Costs   `json:"costs"`
	Few        int           `json:"few"`
	Routes     []routeStudy  `json:"routes"`
	Against    []againstView `json:"against"`
	Clamping   clampingView  `json:"clamping"`
	Answer     []Said        `json:"answer"` // what it comes to, in sentences
	Notes      []Said        `json:"notes"`  // what that rests on
}

// Said is a sentence of a comparison, and what it is about.
type Said struct {
	About   string `json:"about"`             // minutes, cost, breaks; or the note's name
	Route   int    `json:"route"`             // place of the route it is about, from 0; -1 = all
	Verdict string `json:"verdict,omitempty"` // better, worse, same, either (cannot be told), unsure (rests on assumptions)
	Warn    bool   `json:"warn,omitempty"`    // someone should look at it
	Say     string `json:"say"`
}

func (st *studied) routeView(r *study.Route, ask *routeAsk) routeStudy {
	v := routeStudy{Sizes: st.sizes(r, ask), Name: r.Name, RouteRev: ask.RouteRev, Batches: r.Batches, OneOff: r.OneOff, Steps: []stepStudy{}, Curve: []pointView{}, Assumptions: []assumptionView{}}
	for i := range r.Steps {
		s := &r.Steps[i]
		v.Steps = append(v.Steps, stepStudy{
			s.Operation, s.WorkCentre, s.Outside, s.Clampings, s.SetUp, s.Piece, s.Load, s.Yield, s.Stop,
			s.Wait, s.OutsideMin, s.Metres, s.Rate,
		})
	}
	res := r.Of(float64(st.in.Size), &st.in.Costs)
	v.Result, v.Parts = st.resultView(&res), r.Spent(&res)
	plain := *r
	plain.Lead = study.Value{}
	added := plain.Of(float64(st.in.Size), &st.in.Costs)
	v.Result.AddedH = added.LeadMin / 60
	if n, ok := r.Start(st.in.Good, st.in.Confidence); ok && st.in.Good > 0 {
		v.Start = &n
	}
	for _, p := range r.Curve(study.Sizes(curveTo), &st.in.Costs) {
		v.Curve = append(v.Curve, pointView{p.Size, finite(p.EachMin), finite(p.EachCost)})
	}
	v.Minutes, v.Cost = rangeOf(r.Range(float64(st.in.Size), &st.in.Costs, study.EachMinutes)), rangeOf(r.Range(float64(st.in.Size), &st.in.Costs, study.EachCost))
	for _, a := range r.Assumptions(float64(st.in.Size), &st.in.Costs, study.EachCost) {
		v.Assumptions = append(v.Assumptions, assumptionView{a.Operation, a.What, a.Value, finite(a.Low), finite(a.High)})
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
		if b.State != traveler.StateDone || b.Joined != "" {
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

func (st *studied) resultView(r *study.Result) resultView {
	v := resultView{
		Started: r.Started, Good: r.Good, Yield: r.Yield, PerClamping: r.PerClamping, SetUps: r.SetUps, Clampings: r.Clampings, Trips: r.Trips,
		Metres: r.Metres, SetUpMin: r.SetUpMin, RunMin: r.RunMin, StopMin: r.StopMin, EachMin: finite(r.EachMin), Machine: r.Machine, Labour: r.Labour,
		Handling: r.Handling, Material: r.Material, Outside: r.Outside, Cost: r.Cost, EachCost: finite(r.EachCost), Scrap: r.Scrap, Unrated: r.Unrated,
		LeadH: r.LeadMin / 60, LeadHighH: r.LeadHigh / 60, LeadIs: study.Planned,
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

func estimateOf(e study.Estimate) estimateView {
	v := estimateView{Value: finite(e.Value)}
	if low, high := finite(e.Low), finite(e.High); e.Known && low != nil && high != nil {
		v.Low, v.High = low, high
	}
	return v
}

func clampingOf(l *study.ClampingLoss) clampingView {
	return clampingView{l.Known, l.PerClamping, l.Parts, l.Batches, l.Pieces}
}
