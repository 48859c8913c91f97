package compare

import (
	"math"
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
	"tallywalk/traveler/study"
)

// centres says what a year's demand takes on each work centre by either route,
// and what that does to the queue there.
func (st *studied) centres(a, b *study.Route, demand float64) []study.CentreShift {
	x, y := a.Of(float64(st.in.Size), &st.in.Costs), b.Of(float64(st.in.Size), &st.in.Costs)
	out := []study.CentreShift{}
	if x.Good <= 0 || y.Good <= 0 {
		return out
	}
	loads, own := st.usual.loads, st.ownHours()
	for _, wc := range st.centreNames(&x, &y) {
		one, two := demand/x.Good*x.Centre[wc]/60, demand/y.Good*y.Centre[wc]/60
		k := study.CentreShift{WorkCentre: wc, FirstHours: finite(one), SecondHours: finite(two)}
		l := loads[wc]
		if l == nil {
			l = &centreLoad{}
		}
		k.Machines, k.Load = l.machines, finite(l.load())
		if l.open > 0 && l.visits > 0 {
			// What others took, and what either route would take on top of it.
			others, year := math.Max(0, l.busy-own[wc])/l.open, l.open*float64(daysInYear)/loadDays
			first, then := others+one/year, others+two/year
			k.First, k.Then = finite(first), finite(then)
			te := l.busy * 60 / float64(l.visits)
			k.QueueNow = finite(study.QueueTime(1, 1, first, te, max(1, l.machines)))
			k.QueueThen = finite(study.QueueTime(1, 1, then, te, max(1, l.machines)))
		}
		out = append(out, k)
	}
	return out
}

// ownHours are those that this part took on each work centre in the last
// quarter, by whatever route.
func (st *studied) ownHours() map[traveler.WorkCentre]float64 {
	out := map[traveler.WorkCentre]float64{}
	quarter := st.now.AddDate(0, 0, -loadDays)
	var recent []story.BatchFact
	for i := range st.part {
		if b := &st.part[i]; b.Ended.IsZero() || b.Ended.After(quarter) {
			recent = append(recent, *b)
		}
	}
	for wc, l := range loadsOf(st.shop, recent, quarter, st.now) {
		out[wc] = l.busy
	}
	return out
}

func (st *studied) centreNames(x, y *study.Result) (out []traveler.WorkCentre) {
	for wc := range x.Centre {
		out = append(out, wc)
	}
	for wc := range y.Centre {
		if !slices.Contains(out, wc) {
			out = append(out, wc)
		}
	}
	slices.Sort(out)
	return out
}

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
func loadsOf(shop *traveler.Shop, recent []story.BatchFact, from, now time.Time) map[traveler.WorkCentre]*centreLoad {
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
