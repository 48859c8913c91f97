package study

import (
	"math"
	"tallywalk/traveler"
	"tallywalk/traveler/measure"
)

// ComparedStep is an operation of a route, with what it rests on.
type ComparedStep struct {
	Operation  traveler.Op         `json:"operation"`
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	Outside    bool                `json:"outside"`
	Clampings  int                 `json:"clampings"`
	SetUp      Value               `json:"setup_min"`
	Piece      Value               `json:"piece_min"`
	Load       float64             `json:"load_min"`
	Yield      Value               `json:"yield"`
	Stop       Value               `json:"stop_min"`
	Wait       Value               `json:"wait_min"` // likely = median, high = P85
	Away       Value               `json:"away_min"`
	Metres     float64             `json:"metres"`
	Rate       float64             `json:"rate_per_hour"` // 0 = not known
	SetUps     float64             `json:"setups"`        // of a batch, where measured; else 0
}

// ComparedResult is what a batch comes to on a route. Money is in the currency of the costs.
type ComparedResult struct {
	Started     float64               `json:"started"`
	Good        float64               `json:"good"`
	Yield       float64               `json:"yield"`
	PerClamping float64               `json:"yield_per_clamping"`
	SetUps      int                   `json:"setups"`
	Clampings   int                   `json:"clampings"`
	Trips       float64               `json:"trips"` // of a batch: the mean of those measured, else by the plan
	Metres      float64               `json:"metres"`
	Stores      float64               `json:"stores_m"` // of metres: to and from the stores, the dock, where work is sent out
	Dock        float64               `json:"dock_m"`
	Away        float64               `json:"outside_m"`
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
	LeadHighH   float64               `json:"lead_high_h"` // P85
	// As work and waits add up, also where it was measured.
	AddedH float64  `json:"lead_added_h"`
	LeadIs Source   `json:"lead_is"` // measured, or planned: work and waits added up
	WIP    *float64 `json:"wip"`     // batches tied up, by Little's law
}

// CurvePoint is a good piece in a batch of a size; null where none comes out good.
type CurvePoint struct {
	Size     int      `json:"size"`
	EachMin  *float64 `json:"each_min"`
	EachCost *float64 `json:"each_cost"`
}

// ComparedAssumption is a value that someone assumed, and what the cost of a good piece does when it is off.
type ComparedAssumption struct {
	Operation traveler.Op `json:"operation"`
	What      string      `json:"what"`
	Value     Value       `json:"value"`
	Low       *float64    `json:"cost_low"` // cost of a good piece when it is low
	High      *float64    `json:"cost_high"`
}

// ComparedRoute is one of the routes of a comparison.
type ComparedRoute struct {
	Name     string         `json:"name"`
	RouteRev string         `json:"route_rev"`
	Batches  int            `json:"batches"`
	Sizes    []int          `json:"sizes"` // smallest and largest batch that was measured; empty = none
	OneOff   float64        `json:"one_off"`
	Steps    []ComparedStep `json:"steps"`
	Result   ComparedResult `json:"result"`
	Parts    measure.Spent  `json:"parts"` // where the lead time goes: measured, or added up
	// Of a good piece, if all that is uncertain went well, or badly, together.
	Minutes     []float64            `json:"minutes_range"`
	Cost        []float64            `json:"cost_range"`
	Start       *int                 `json:"start"`         // pieces to start for the good ones wanted
	Surplus     *float64             `json:"start_surplus"` // good ones above those wanted, in the mean
	StartOf     int                  `json:"start_batches"` // behind the yield; 0 = planned or assumed
	Curve       []CurvePoint         `json:"curve"`
	Assumptions []ComparedAssumption `json:"assumptions"` // what matters most first
}

// ComparedValue is a figure with its 95 % interval; null what is not known.
type ComparedValue struct {
	Value *float64 `json:"value"`
	Low   *float64 `json:"low"`
	High  *float64 `json:"high"`
}

// Within cuts the interval to what is possible at all.
func (v *ComparedValue) Within(low, high float64) {
	if v.Low != nil && v.High != nil {
		a, b := math.Max(*v.Low, low), math.Min(*v.High, high)
		v.Low, v.High = &a, &b
	}
}

// ComparedFigure is a figure of two routes with its intervals.
type ComparedFigure struct {
	Figure     string        `json:"figure"` // minutes and cost of a good piece, yield, setup minutes
	First      ComparedValue `json:"first"`
	Second     ComparedValue `json:"second"`
	Difference ComparedValue `json:"difference"` // second less first
}

// CentreShift is what a route does to the load of a work centre.
type CentreShift struct {
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

// Against is how a route stands to the first one.
type Against struct {
	First     string           `json:"first"`
	Second    string           `json:"second"`
	Figures   []ComparedFigure `json:"figures"`
	ByCost    []Crossing       `json:"breaks_by_cost"`
	ByMinutes []Crossing       `json:"breaks_by_minutes"`
	Sure      []Stretch        `json:"sure"` // by cost
	Centres   []CentreShift    `json:"centres"`
}

// Clamping is what a clamping loses in this shop: an association.
type Clamping struct {
	Known   bool  `json:"known"`
	Loss    Value `json:"loss"`
	Parts   int   `json:"parts"`
	Batches int   `json:"batches"`
	Pieces  int   `json:"pieces"`
}

// Comparison is routes of a part side by side, as the API answers it and as it is
// printed.
type Comparison struct {
	// Language is that of its sentences, one of Languages; empty is English.
	Language string `json:"-"`

	Part       string  `json:"part"`
	Size       int     `json:"size"`
	Good       int     `json:"good"`
	Confidence float64 `json:"confidence"`
	Demand     float64 `json:"demand"`
	Costs      Costs   `json:"costs"`
	Few        int     `json:"few"`
	// FewInterval is the number of batches of a route below which there is no interval.
	FewInterval int             `json:"few_for_interval"`
	Routes      []ComparedRoute `json:"routes"`
	Against     []Against       `json:"against"`
	Clamping    Clamping        `json:"clamping"`
	Answer      []Sentence      `json:"answer"` // what it comes to, in sentences
	Notes       []Sentence      `json:"notes"`  // what that rests on
}

// Sentence is a sentence of a comparison, and what it is about.
type Sentence struct {
	About string `json:"about"` // minutes, cost, breaks; or the note's name
	Route int    `json:"route"` // place of the route it is about, from 0; -1 = all
	// Better, worse, same, either (not sure), unsure (rests on assumptions).
	Verdict string `json:"verdict,omitempty"`
	Warn    bool   `json:"warn,omitempty"` // someone should look at it
	Say     string `json:"say"`
}
