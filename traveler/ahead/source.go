package ahead

import (
	"context"

	"tallywalk/traveler"
)

// Source is where the rest of the program asks what is ahead. There is one in a
// running server; what it returns is frozen.
type Source interface {
	// Forecast is the newest one, at most a minute old while the shop works; nil
	// until the first is worked out.
	Forecast() *Forecast
	// WhatIf forecasts the floor as it is now, as it stands and with a scenario, by
	// the same draws. progress is called now and then with the share that is done, 0
	// to 1; nil where nobody wants to know. It fails with KindInvalid where the
	// scenario names what is not there, with KindBusy where another is worked
	// out already, and with the context's error.
	WhatIf(ctx context.Context, sc *Scenario, progress func(share float64)) (before, after *Forecast,
		err error)
	// Hits is how the forecasts of the last days came out; nil while that is not
	// known yet.
	Hits(days int) *Hits
	// Rules is how the rules would have done on the shop's last quarter; nil while
	// that is not known yet.
	Rules() []RuleResult
	// Busy is when a machine may be done with what it is at; zero dates where it is at
	// nothing, or nobody knows.
	Busy(machine traveler.MachineID) Dates
}

// RuleResult is what came of running the shop's last quarter by one rule: the
// same batches, times and hours, only the order is another.
type RuleResult struct {
	Rule     Rule
	Late     float64 // share of the batches with a due date, 0 to 1
	DaysLate float64 // mean days late of all of them, early ones as nothing
	LeadDays float64 // mean days from release to the last operation's end
	SetupH   float64 // hours of set-up
	Batches  int
}
