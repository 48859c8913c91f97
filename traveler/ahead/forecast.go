package ahead

import (
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Method is how a forecast was made.
type Method string

// The methods, the one that needs most history first.
const (
	Simulated Method = "simulated" // the floor simulated forward: calendars, machines, lines
	Waits     Method = "waits"     // the waits of this shop, work centre by work centre; wider
	TooFew    Method = "too-few"   // not enough history yet: no dates are given
)

// Rule is the order in which a free machine takes what waits for it.
type Rule string

// The rules. Hot batches go first in all of them; ties go to the one that has
// waited longest, then to the lower card.
const (
	ByDue      Rule = "due"      // due date, then priority
	BySlack    Rule = "slack"    // due date less the planned work that is left
	ByShortest Rule = "shortest" // the planned time of the operation (SPT)
	BySetup    Rule = "setup"    // the part that is set up already, then due date
	ByWait     Rule = "wait"     // as they came (FIFO)
)

// AllRules lists the rules, the shop's usual one first.
var AllRules = []Rule{ByDue, BySlack, ByShortest, BySetup, ByWait}

// Dates are what a moment is forecast to be: it comes by P50 in half of all
// cases, by P85 in 85 and by P95 in 95 of a hundred. All are zero where there is
// not enough history.
type Dates struct{ P50, P85, P95 time.Time }

// Step is an operation that is left of a batch.
type Step struct {
	Operation    traveler.Op
	WorkCentre   traveler.WorkCentre
	Outside      bool
	Pieces       int
	Begins, Ends time.Time     // medians
	Waits        time.Duration // mean time from the end of what is before to its beginning
	Work         time.Duration // planned set-up and run that are left
}

// BatchDates is what may come of one batch on the floor.
type BatchDates struct {
	Card     traveler.Code
	Order    string
	Line     string
	Part     string
	Name     string
	Customer string
	Hot      bool // goes before all that is not
	Priority int
	Due      time.Time // the end of the day before which it is on time; zero = none
	State    story.BatchState
	// Place is its place in the line of its next work centre, 1 = next, 0 where
	// it does not wait for one.
	Place      int
	Next       traveler.Op // 0: no operation is left
	WorkCentre traveler.WorkCentre
	Done       Dates // the last operation ends
	Delivered  Dates
	// OnTime is the chance that it is delivered before Due, 0 to 1; meaningless
	// without a due date.
	OnTime float64
	// Slack is Due less the median of Delivered, in clock time; meaningless
	// without a due date.
	Slack time.Duration
	// WaitsMost is the work centre that it waits for longest, and WaitsLasts how
	// long that is on average.
	WaitsMost  traveler.WorkCentre
	WaitsLasts time.Duration
	Steps      []Step
	New        bool // not on the floor: added by a scenario
}

// Week is the load of a work centre in one week: the mean over the runs. Work
// that does not fit flows into the next week, as it does on the floor.
type Week struct {
	Begins  time.Time     // Monday 00:00 in the shop's zone
	Open    time.Duration // machine hours that the calendars give; of this week, what is left
	Hours   time.Duration // machine hours that work is expected to take in it
	Carried time.Duration // work that was ready in this week and is begun in a later one
	Batches float64       // operations begun, on average
}

// Centre is what is ahead of a work centre.
type Centre struct {
	WorkCentre traveler.WorkCentre
	Machines   int
	Weeks      []Week
	Full       time.Time // the first week that is full (see FullShare); zero = none
	// Delay is the waiting that it causes: batch time from ready to begun,
	// without the delay that even a free machine would have, a run's mean.
	Delay time.Duration
}

// FullShare is the share of its open time from which a week counts as full: what
// comes on top waits without end. Common practice, no source.
const FullShare = 0.95

// Forecast is what may come of the floor, as of a moment. It is frozen.
type Forecast struct {
	AsOf    time.Time
	Method  Method
	Rule    Rule
	Runs    int
	Batches []BatchDates // those with the least chance to be on time first, without due date last
	Centres []Centre     // in the order of the shop's machines
	// Machines is when each machine that is at something may be done with it.
	Machines map[traveler.MachineID]Dates
	HoldsUp  traveler.WorkCentre // the work centre that causes most delay; empty = none
	// Added is when the last of the batches that a scenario adds is delivered, run by
	// run: later than the latest of their own dates where they are late by turns. Zero
	// without any, or where that is not worked out.
	Added Dates
}

// Late counts the batches whose median delivery is after their due date.
func (f *Forecast) Late() (n int) {
	for i := range f.Batches {
		if b := &f.Batches[i]; !b.Due.IsZero() && b.Slack < 0 && !b.Delivered.P50.IsZero() {
			n++
		}
	}
	return n
}

// Batch finds a batch by its card, or nil.
func (f *Forecast) Batch(card traveler.Code) *BatchDates {
	for i := range f.Batches {
		if f.Batches[i].Card == card {
			return &f.Batches[i]
		}
	}
	return nil
}
