// Package study lays routes of one part side by side: what each costs in
// minutes and money for a batch of some size, where it loses pieces, from what
// batch size on one beats another, and how sure that is. Figures come from
// measured batches, from the plan, or from someone's assumptions; each says
// which. Batches are the unit of all intervals.
package study

import (
	"tallywalk/traveler"
	"tallywalk/traveler/measure"
)

// Source says where a figure comes from.
type Source string

// The sources of a figure.
const (
	Measured Source = "measured"
	Planned  Source = "planned"
	Assumed  Source = "assumed"
)

// Value is a figure with what it may be: Low and High are an interval of a
// measured one, or what someone thinks of an assumed one. They are the same
// as Likely where nothing is known of its spread.
type Value struct {
	Low    float64 `json:"low"`
	Likely float64 `json:"likely"`
	High   float64 `json:"high"`
	Source Source  `json:"source" api:"blank"`
	N      int     `json:"n"` // batches behind it
}

// Sure is a value of which nothing but the likely is known.
func Sure(x float64, from Source) Value { return Value{x, x, x, from, 0} }

// Spread reports whether low and high say anything.
func (v Value) Spread() bool { return v.Low != v.High }

// Step is one operation of a route as it is studied.
type Step struct {
	Operation  traveler.Op
	WorkCentre traveler.WorkCentre
	Outside    bool
	Clampings  int
	SetUp      Value // minutes of a batch
	Piece      Value // minutes of a piece, loading included
	Load       float64
	Yield      Value // good of those that come in
	Stop       Value // minutes stopped, of a batch
	Wait       Value // minutes of transport and queue before it; Likely is the median, High P85
	OutsideMin Value // minutes away, when outside
	Metres     float64
	Rate       float64 // of the machine, an hour; 0 = not known
}

// Route is a route as it is studied.
type Route struct {
	Name    string // its revision, or what a proposal is called
	Steps   []Step
	Batches int // measured ones behind it
	// Lead is the measured lead time in minutes: median and P85; N = 0 when
	// none was measured, and then waits and work are added up.
	Lead Value
	// Parts are where the time of those batches went, in seconds of a batch.
	Parts measure.Spent
	// OneOff is what it costs once: programming, fixtures, prove-out.
	OneOff float64
}

// Costs are what money is worked out with.
type Costs struct {
	Currency string  `json:"currency" api:"optional"`      // ISO 4217
	Labour   float64 `json:"labour_per_h" api:"optional"`  // an hour of a person
	Manned   float64 `json:"manned" api:"optional"`        // part of the run for which a person is there, 0 to 1; set-ups always
	Trip     float64 `json:"per_trip" api:"optional"`      // each time a batch is carried
	Metre    float64 `json:"per_metre" api:"optional"`     // and each metre of it
	Material float64 `json:"per_piece" api:"optional"`     // material of a piece started
	Outside  float64 `json:"outside_piece" api:"optional"` // a piece of an outside operation
}
