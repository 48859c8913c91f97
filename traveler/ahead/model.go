package ahead

import (
	"math"
	"slices"
	"sort"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
)

// Model is what a shop's past says about how long things take: worked out once,
// then only read.
type Model struct {
	asOf   time.Time
	zone   *time.Location
	shop   *traveler.Shop
	setups ratios
	runs   ratios
	// Of operations that nobody planned times for: seconds of a set-up and of a piece.
	ownSetups, ownPieces ratios
	picks                map[pickKey]*dist // working time until a free machine takes a batch up
	waits                map[pickKey]*dist // working time until it begins, whatever the machine does
	away                 map[awayKey]*dist
	sends, delivers      departures
	scanned              float64 // share of batches whose delivery was scanned
	weeks                [][]drawn
	samples              int
	days                 float64 // that the samples lie in
	// For work centres of which too little is known.
	allPicks, allWaits *dist
	// sameSetup is the set-up of what is set up already, as a share of another one.
	sameSetup float64
	gaps      map[traveler.WorkCentre]resid // seconds between two batches while others wait
	allGaps   resid
	exact     bool // planned days outside are what they take
}

type pickKey struct {
	wc    traveler.WorkCentre
	first bool
}

// drawn is a batch that came to the floor in some week, from the beginning of that
// week on.
type drawn struct {
	at    time.Duration
	week  time.Time // that it came in
	batch traveler.Release
}

// Few and FewDays are the number of operations, and days of history, below which
// nothing is forecast; Thin and ThinDays those below which only waits are.
const (
	Few      = 100
	FewDays  = 14
	Thin     = 400
	ThinDays = 90
)

// kappa is how many batches of its own an operation needs to be believed as much
// as its work centre. From memory: variance within over variance between.
const kappa = 3

// ratios are actual over planned times: of an operation of a part, drawn towards
// its work centre, drawn towards the shop.
type ratios struct {
	op    map[opKey]float64 // mean logarithm
	wc    map[traveler.WorkCentre]float64
	shop  float64
	resid map[traveler.WorkCentre]resid
	all   resid
}

type opKey struct {
	part string
	op   traveler.Op
}

// of is the mean factor of an operation, and how single ones lie around it.
func (r *ratios) of(part string, op traveler.Op, wc traveler.WorkCentre) (factor float64, around resid) {
	around = r.resid[wc]
	if len(around) < 8 {
		around = r.all
	}
	if m, ok := r.op[opKey{part, op}]; ok {
		return math.Exp(m), around
	}
	if m, ok := r.wc[wc]; ok {
		return math.Exp(m), around
	}
	return math.Exp(r.shop), around
}

// ratioOf is one observation.
type ratioOf struct {
	key opKey
	wc  traveler.WorkCentre
	log float64
}

// fit works the means and the rest out.
func fit(all []ratioOf) (r ratios) {
	r = ratios{op: map[opKey]float64{}, wc: map[traveler.WorkCentre]float64{},
		resid: map[traveler.WorkCentre]resid{}}
	type sum struct{ n, s float64 }
	ops, wcs, shop := map[opKey]sum{}, map[traveler.WorkCentre]sum{}, sum{}
	for _, x := range all {
		o, w := ops[x.key], wcs[x.wc]
		ops[x.key], wcs[x.wc] = sum{o.n + 1, o.s + x.log}, sum{w.n + 1, w.s + x.log}
		shop.n, shop.s = shop.n+1, shop.s+x.log
	}
	if shop.n == 0 {
		return r
	}
	r.shop = shop.s / shop.n
	for wc, w := range wcs {
		r.wc[wc] = (w.s + kappa*r.shop) / (w.n + kappa)
	}
	for _, x := range all {
		o := ops[x.key]
		r.op[x.key] = (o.s + kappa*r.wc[x.wc]) / (o.n + kappa)
	}
	for _, x := range all {
		f := math.Exp(x.log - r.op[x.key])
		r.resid[x.wc], r.all = append(r.resid[x.wc], f), append(r.all, f)
	}
	for wc := range r.resid {
		slices.Sort(r.resid[wc])
	}
	slices.Sort(r.all)
	return r
}

// justBefore is how much working time may lie between two batches at a machine
// that was never free.
const justBefore = 30 * time.Minute

// newModel learns from samples as of a moment.
func newModel(shop *traveler.Shop, zone *time.Location, all []sample, came []release, now time.Time) *Model {
	m := &Model{
		asOf: now, zone: zone, shop: shop, picks: map[pickKey]*dist{}, waits: map[pickKey]*dist{},
	}
	from := now.Add(-learnFrom)
	all = slices.DeleteFunc(all, func(s sample) bool { return s.begun.Before(from) || s.begun.After(now) })
	sort.Slice(all, func(i, j int) bool {
		if c := all[i].begun.Compare(all[j].begun); c != 0 {
			return c < 0
		}
		return all[i].card < all[j].card
	})
	m.samples = len(all)
	if len(all) > 0 {
		m.days = now.Sub(all[0].begun).Hours() / 24
	}
	m.sameSetup = 1
	m.learnTimes(all)
	m.learnPicks(all)
	m.learnOutside(all)
	m.learnDeliveries(all)
	m.learnWeeks(came)
	return m
}

func (m *Model) learnTimes(all []sample) {
	var setups, runs, ownSetups, ownPieces []ratioOf
	for i := range all {
		s := &all[i]
		if !s.sure || s.outside || s.ended.IsZero() {
			continue
		}
		k := opKey{s.part, s.op}
		if s.planSetup > 0 && s.setup > 0 {
			setups = append(setups, ratioOf{k, s.wc, clampLog(s.setup / s.planSetup)})
		}
		if s.planRun > 0 && s.run > 0 {
			runs = append(runs, ratioOf{k, s.wc, clampLog(s.run / s.planRun)})
		}
		if s.planRun == 0 && s.run > 0 && s.made > 0 {
			ownPieces = append(ownPieces, ratioOf{k, s.wc, math.Log(s.run / float64(s.made))})
		}
		if s.planRun == 0 && s.setup > 0 {
			ownSetups = append(ownSetups, ratioOf{k, s.wc, math.Log(s.setup)})
		}
	}
	m.setups, m.runs = fit(setups), fit(runs)
	m.ownSetups, m.ownPieces = fit(ownSetups), fit(ownPieces)
	m.learnSame(all)
}

// learnSame learns what a set-up takes where the same operation of the same part
// was on before: its share of what is expected otherwise; 1 where there are few.
func (m *Model) learnSame(all []sample) {
	last := map[traveler.MachineID]*sample{}
	n, sum := 0.0, 0.0
	for i := range all {
		s := &all[i]
		before := last[s.machine]
		last[s.machine] = s
		if before == nil || before.part != s.part || before.op != s.op || !s.sure || s.planSetup == 0 ||
			s.ended.IsZero() {
			continue
		}
		f, _ := m.setups.of(s.part, s.op, s.wc)
		n, sum = n+1, sum+s.setup/s.planSetup/f
	}
	if n >= 10 {
		m.sameSetup = min(1, sum/n)
	}
}

// clampLog is a logarithm of a factor, none beyond thirty times or a thirtieth:
// those are slips of scanning.
func clampLog(f float64) float64 { return math.Log(min(30, max(1./30, f))) }

// dockHours are the hours in which things are sent and come back: those of the
// docks, else of everything.
func dockHours(shop *traveler.Shop, now time.Time) *calendar.Hours {
	for _, x := range shop.Machines(now) {
		if x.Kind == "dock" {
			return shop.Hours(x.ID, now)
		}
	}
	return nil
}

// learnWeeks keeps what came to the floor in the last whole weeks.
func (m *Model) learnWeeks(came []release) {
	const weeks = 26
	this := calendar.WeekBegan(m.asOf.In(m.zone))
	m.weeks = make([][]drawn, 0, weeks)
	if len(came) == 0 {
		return
	}
	for w := weeks; w >= 1; w-- {
		from, to := this.AddDate(0, 0, -7*w), this.AddDate(0, 0, -7*w+7)
		if from.Before(came[0].at) {
			continue
		}
		var week []drawn
		for i := range came {
			if r := &came[i]; !r.at.Before(from) && r.at.Before(to) {
				week = append(week, drawn{r.at.Sub(from), from, r.batch})
			}
		}
		m.weeks = append(m.weeks, week)
	}
}

// method is which way of forecasting this history can carry.
func (m *Model) method() Method {
	switch {
	case m.samples < Few || m.days < FewDays:
		return TooFew
	case m.samples < Thin || m.days < ThinDays:
		return Waits
	}
	return Simulated
}

// hold is for how long a batch that is held may stay so: nobody says until when.
// An exponential time of a working day and a half; no source.
func (m *Model) hold(u float64) float64 { return -math.Log(1-u) * 12 * 3600 }
