// Package study lays routes of one part side by side: what each costs in
// minutes and money for a batch of some size, where it loses pieces, from what
// batch size on one beats another, and how sure that is. Figures come from
// measured batches, from the plan, or from someone's assumptions; each says
// which. Batches are the unit of all intervals.
//
// # Decisions, with their reasons
//
//   - The loss of a clamping is a slope within parts, batches as units: what differs
//     between parts stays out of it. It is called an association everywhere.
//   - Looks are paid for. The k-th look at a before-and-after may spend 6/(pi^2 k^2) of
//     the 5 %, so that looking until it is significant does not work.
//   - A comparison with something planned or assumed has no interval, only its
//     assumptions, ranked.
//   - What to start allows for batches that differ (stat.NextYield): beta-binomial over
//     the mean and the spread. Few batches often show no spread, so its prior is learnt
//     from all routes of the shop, and four tenths of it stay open.
//   - Below eight batches there is no interval of a loss, a yield or a comparison. From
//     there on they hold what they say on seeded histories (study/proof_test.go; 1,000
//     of each setting with --long): HC3 and Satterthwaite for the slope, the studentised
//     bootstrap no narrower than t for differences, Scheffé's band along batch sizes.
//   - Before and after compares times as of batches of one size, set-up and run apart:
//     larger batches are no better route.
package study

import (
	"tallywalk/traveler"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
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
	SetUp      Value   // minutes of a batch: of all its set-ups there
	SetUps     float64 // set-ups of a batch, where they were measured; else 0
	Piece      Value   // minutes of a piece, loading included
	Load       float64
	Yield      Value   // good of those that come in
	Stop       Value   // minutes stopped in open time, of a batch
	Stood      float64 // the same in clock time
	Wait       Value   // minutes of transport and queue before it; Likely is the median, High P85
	OutsideMin Value   // minutes away, when outside
	Metres     float64 // carried to it, a batch: measured, or as the plan says
	Rate       float64 // of the machine, an hour; 0 = not known
}

// Walks is how often and how far a batch is carried: the mean of those that are
// done, all their trips counted; or, with N = 0, as the plan says.
type Walks struct {
	Trips, Metres float64
	// Of the metres, what joins stores, dock and outside work.
	Stores, Dock, Outside float64
	N                     int
}

// Add adds a trip.
func (w *Walks) Add(leg story.Leg, metres float64) {
	w.Trips++
	w.Metres += metres
	switch leg {
	case story.LegStores:
		w.Stores += metres
	case story.LegDock:
		w.Dock += metres
	case story.LegOutside:
		w.Outside += metres
	}
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
	Walks Walks
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
