package compare

import (
	"math"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/stat"
	"tallywalk/traveler/story"
	"tallywalk/traveler/study"
)

func finite(x float64) *float64 {
	if math.IsInf(x, 0) || math.IsNaN(x) {
		return nil
	}
	return &x
}

// centreLoad is what a work centre did in the last weeks.
type centreLoad struct {
	open, busy float64 // hours, all machines
	visits     int
	machines   int
}

func (l *centreLoad) load() float64 {
	if l.open <= 0 {
		return math.NaN()
	}
	return l.busy / l.open
}

const (
	loadDays   = 91
	daysInYear = 365
)

// loadsOf looks at the last quarter of a year: run and set-up against open hours.
func loadsOf(
	shop *traveler.Shop, recent []story.BatchFact, from, now time.Time,
) map[traveler.WorkCentre]*centreLoad {
	out := map[traveler.WorkCentre]*centreLoad{}
	for _, h := range measure.MachinesOf(shop, recent, from, now) {
		m, _ := shop.Machine(h.Machine, now)
		l := out[m.WorkCentre]
		if l == nil {
			l = &centreLoad{}
			out[m.WorkCentre] = l
		}
		l.machines++
		l.open += h.Open.Hours()
		l.busy += (h.Run + h.Setup + h.FirstOff).Hours()
		l.visits += h.Visits
	}
	return out
}

// usual is what is usual in the whole shop: waits, and what a clamping loses. It
// is worked out again when it is old.
type usual struct {
	at      time.Time // by the real clock
	inside  map[traveler.WorkCentre]measure.WaitStats
	outside map[traveler.WorkCentre]measure.WaitStats
	loss    study.ClampingLoss
	spreads stat.SpreadPrior // of yields between batches
	loads   map[traveler.WorkCentre]*centreLoad
}

const (
	usualFor  = 10 * time.Minute
	waitYears = 1
	lossYears = 5
)
