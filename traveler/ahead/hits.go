package ahead

import "time"

// Hits is how the forecasts of past days came out: of each batch that was on the
// floor on a day, the last operation and the delivery against what was said of
// them then. Batches that are open past their date count as late; cancelled ones
// are left out and counted.
type Hits struct {
	Days      int // forecasts were made on
	From, To  time.Time
	Done      HitShare
	Delivered HitShare
	Cancelled int
	Open      int // too early to know: not ended, and their dates are ahead
	// Shock is when a day's forecasts were so far off that their dates are not to
	// be trusted for a while; zero = none in the period.
	Shock time.Time
}

// HitShare is how often the dates of one kind held. Shares are 0 to 1.
type HitShare struct {
	N             int // forecasts that have come out
	P50, P85, P95 float64
	MedianWidth   time.Duration // median of P85 - P50
	MeanError     time.Duration // mean absolute distance of the median from what came
	ByHorizon     []HorizonHits
}

// HorizonHits are the forecasts whose median was so many days ahead.
type HorizonHits struct {
	FromDays, ToDays float64 // from inclusive to exclusive; ToDays 0 = no end
	N                int
	P50, P85         float64
	MeanError        time.Duration
}
