package study

import (
	"tallywalk/traveler"
	"tallywalk/traveler/measure"
)

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
}

type ComparedResult struct {
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
	LeadIs      Source                `json:"lead_is"`      // measured, or planned: work and waits added up
	WIP         *float64              `json:"wip"`          // batches tied up, by Little's law
}

type CurvePoint struct {
	Size     int      `json:"size"`
	EachMin  *float64 `json:"each_min"`
	EachCost *float64 `json:"each_cost"`
}

type ComparedAssumption struct {
	Operation traveler.Op `json:"operation"`
	What      string      `json:"what"`
	Value     Value       `json:"value"`
	Low       *float64    `json:"cost_low"` // cost of a good piece when it is low
	High      *float64    `json:"cost_high"`
}

type ComparedRoute struct {
	Name        string               `json:"name"`
	RouteRev    string               `json:"route_rev"`
	Batches     int                  `json:"batches"`
	Sizes       []int                `json:"sizes"` // smallest and largest batch that was measured; empty = none
	OneOff      float64              `json:"one_off"`
	Steps       []ComparedStep       `json:"steps"`
	Result      ComparedResult       `json:"result"`
	Parts       measure.Spent        `json:"parts"`         // where the lead time goes: measured, or added up
	Minutes     []float64            `json:"minutes_range"` // of a good piece, if all that is uncertain went well, or badly, together
	Cost        []float64            `json:"cost_range"`
	Start       *int                 `json:"start"` // pieces to start for the good ones wanted
	Curve       []CurvePoint         `json:"curve"`
	Assumptions []ComparedAssumption `json:"assumptions"` // what matters most first
}

type ComparedValue struct {
	Value *float64 `json:"value"`
	Low   *float64 `json:"low"`
	High  *float64 `json:"high"`
}

// ComparedFigure is a figure of two routes with its intervals.
type ComparedFigure struct {
	Figure     string        `json:"figure"` // minutes and cost of a good piece, yield, setup minutes
	First      ComparedValue `json:"first"`
	Second     ComparedValue `json:"second"`
	Difference ComparedValue `json:"difference"` // second less first
}

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
	Part       string          `json:"part"`
	Size       int             `json:"size"`
	Good       int             `json:"good"`
	Confidence float64         `json:"confidence"`
	Demand     float64         `json:"demand"`
	Costs      Costs           `json:"costs"`
	Few        int             `json:"few"`
	Routes     []ComparedRoute `json:"routes"`
	Against    []Against       `json:"against"`
	Clamping   Clamping        `json:"clamping"`
	Answer     []Sentence      `json:"answer"` // what it comes to, in sentences
	Notes      []Sentence      `json:"notes"`  // what that rests on
}

// Sentence is a sentence of a comparison, and what it is about.
type Sentence struct {
	About   string `json:"about"`             // minutes, cost, breaks; or the note's name
	Route   int    `json:"route"`             // place of the route it is about, from 0; -1 = all
	Verdict string `json:"verdict,omitempty"` // better, worse, same, either (cannot be told), unsure (rests on assumptions)
	Warn    bool   `json:"warn,omitempty"`    // someone should look at it
	Say     string `json:"say"`
}
