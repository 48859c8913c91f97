package compare

import (
	"cmp"
	"slices"
	"strconv"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
	"tallywalk/traveler/study"
)

// studied is a part with all that is known of its routes.
type studied struct {
	s     *room
	in    *compareAsk
	now   time.Time
	shop  *traveler.Shop
	usual *usual
	from  time.Time // of the batches that are measured
	to    time.Time
	part  []story.BatchFact // of the part
}

// usual is what is usual in the whole shop: waits, and what a clamping loses. It
// is worked out again when it is old.
type usual struct {
	at      time.Time // by the real clock
	inside  map[traveler.WorkCentre]measure.WaitStats
	outside map[traveler.WorkCentre]measure.WaitStats
	loss    study.ClampingLoss
	loads   map[traveler.WorkCentre]*centreLoad
}

const (
	usualFor  = 10 * time.Minute
	waitYears = 1
	lossYears = 5
)

// usually gives what is usual.
func (s *room) usually() (*usual, error) {
	s.usualMu.Lock()
	defer s.usualMu.Unlock()
	if s.usual != nil && s.Real().Sub(s.usual.at) < usualFor {
		return s.usual, nil
	}
	now, shop := s.Time(), s.Desk.Shop()
	var waits measure.Waits
	var loss study.Clampings
	var recent []story.BatchFact
	year, quarter := now.AddDate(-waitYears, 0, 0), now.AddDate(0, 0, -loadDays)
	err := s.Desk.Facts(story.FactQuery{From: now.AddDate(-lossYears, 0, 0), To: now, Open: true}, func(b *story.BatchFact) bool {
		loss.Add(b)
		if b.Ended.IsZero() || b.Ended.After(year) {
			waits.Add(b)
		}
		if b.Ended.IsZero() || b.Ended.After(quarter) {
			recent = append(recent, *b)
		}
		return true
	})
	if err != nil {
		return nil, err
	}
	u := &usual{at: s.Real(), loss: loss.Result(), loads: loadsOf(shop, recent, quarter, now)}
	u.inside, u.outside = waits.Result()
	s.usual = u
	return u, nil
}

func (s *room) study(in *compareAsk) (*studied, error) {
	now := s.Time()
	st := &studied{s: s, now: now, shop: s.Desk.Shop(), from: now.AddDate(-10, 0, 0), to: now}
	for _, b := range []struct {
		field, date string
		to          *time.Time
		days        int
	}{{"from", in.From, &st.from, 0}, {"to", in.To, &st.to, 1}} {
		if b.date == "" {
			continue
		}
		t, err := s.Midnight(b.field, b.date, b.days)
		if err != nil {
			return nil, err
		}
		*b.to = t
	}
	var err error
	if st.usual, err = s.usually(); err != nil {
		return nil, err
	}
	return st, st.of(in)
}

// of turns to a part.
func (st *studied) of(in *compareAsk) (err error) {
	st.in, st.part = in, nil
	if in.Part != "" {
		st.part, err = st.s.partFacts(in.Part, st.from, st.to)
	}
	return err
}

// partFacts reads the batches of a part, those on the floor too where the period
// reaches up to now.
func (s *room) partFacts(part string, from, to time.Time) (out []story.BatchFact, err error) {
	q := story.FactQuery{Part: part, From: from, To: to, Open: to.Add(time.Minute).After(s.Time())}
	err = s.Desk.Facts(q, func(b *story.BatchFact) bool {
		out = append(out, *b)
		return true
	})
	return out, err
}

// batches are those of the part on one route.
func (st *studied) batches(rev string) (out []story.BatchFact) {
	for i := range st.part {
		if b := &st.part[i]; b.Rev == rev {
			out = append(out, *b)
		}
	}
	return out
}

func (st *studied) rate(wc traveler.WorkCentre) float64 {
	return measure.ShopRates{Shop: st.shop}.Centre(wc, st.now)
}

// route makes one of the routes that are asked for, and its samples.
func (st *studied) route(ask *routeAsk) (*study.Route, *study.Samples, error) {
	plan, ok := st.shop.Route(st.in.Part, ask.RouteRev)
	if !ok {
		return nil, nil, traveler.Invalid("route_rev", "release.part", st.in.Part, ask.RouteRev)
	}
	if !traveler.CleanText(ask.Name, mostName) || !(ask.OneOff >= 0 && ask.OneOff <= mostMoney) {
		return nil, nil, traveler.Invalid("routes", "compare.name", strconv.Itoa(mostName))
	}
	r := study.FromPlan(&plan, st.rate, st.usual.inside, st.usual.outside)
	r.Name, r.OneOff = cmp.Or(ask.Name, ask.RouteRev), ask.OneOff
	st.metres(&r)
	var list []story.BatchFact
	switch ask.Use {
	case "", "mixed", "measured":
		list = st.batches(ask.RouteRev)
	case "planned":
	default:
		return nil, nil, traveler.Invalid("use", "select.choice", ask.Use, "mixed, measured, planned")
	}
	planned := slices.Clone(r.Steps)
	samples := r.Measure(list)
	for k := range r.Steps {
		if s := &r.Steps[k]; slices.Contains(ask.Planned, s.Operation) {
			s.SetUp, s.Piece, s.Yield = planned[k].SetUp, planned[k].Piece, planned[k].Yield
		}
	}
	if err := overridden(&r, ask.Overrides); err != nil {
		return nil, nil, err
	}
	if ask.Combine == nil {
		return &r, samples, nil
	}
	one, err := st.combined(&r, ask)
	if err != nil {
		return nil, nil, err
	}
	// What is proposed has not been run: it has no samples of its own.
	return one, one.Measure(nil), nil
}

func (st *studied) combined(r *study.Route, ask *routeAsk) (*study.Route, error) {
	c := ask.Combine
	if c.WorkCentre == "" {
		return nil, traveler.Invalid("work_centre", "form.missing")
	}
	k := study.Combination{
		Operations: c.Operations, Second: c.Second, WorkCentre: c.WorkCentre, Rate: cmp.Or(c.Rate, st.rate(c.WorkCentre)),
		SetUp: c.SetUp.value(), Faster: c.Faster.value(), OneOff: c.OneOff,
	}
	if st.usual.loss.Known {
		k.PerClamp = st.usual.loss.PerClamping
	}
	if err := c.fits(); err != nil {
		return nil, err
	}
	one, ok := study.Combined(r, &k)
	if !ok {
		return nil, traveler.Invalid("operations", "compare.combine")
	}
	st.predicted(&one, c)
	if ask.Name == "" {
		one.Name = r.Name + " combined"
	}
	one.Lead = study.Value{}
	st.metres(&one)
	return &one, nil
}

// fits reports what is wrong with the values that are given for a combination.
func (c *combineAsk) fits() error {
	for _, x := range []struct {
		what string
		v    *threeValues
		most float64
	}{{"setup", c.SetUp, study.MostMinutes}, {"piece", c.Piece, study.MostMinutes}, {"yield", c.Yield, 1}, {"faster", c.Faster, 100}} {
		if x.v == nil {
			continue
		}
		if v := x.v; !(v.Low >= 0 && v.Low <= v.Likely && v.Likely <= v.High && v.High <= x.most) || x.what == "yield" && v.Low < leastYield {
			return traveler.Invalid("combine", "compare.three", x.what)
		}
	}
	if !(c.OneOff >= 0 && c.OneOff <= mostMoney && c.Rate >= 0 && c.Rate <= mostMoney) {
		return traveler.Invalid("combine", "form.number")
	}
	for _, op := range c.Second {
		if !slices.Contains(c.Operations, op) {
			return traveler.Invalid("second", "compare.second", op.String())
		}
	}
	return nil
}

// predicted puts what someone knows better in place of what is predicted for
// the combined operation; batches wait for the new machine as they usually do.
func (st *studied) predicted(r *study.Route, c *combineAsk) {
	k := slices.IndexFunc(r.Steps, func(s study.Step) bool {
		return slices.Contains(c.Operations, s.Operation) && s.WorkCentre == c.WorkCentre
	})
	if k < 0 {
		return
	}
	s := &r.Steps[k]
	if c.Piece != nil {
		s.Piece = c.Piece.value()
	}
	if c.Yield != nil {
		s.Yield = c.Yield.value()
	}
	if w := st.usual.inside[c.WorkCentre]; w.N > 0 {
		s.Wait = study.Value{Low: w.P50.Minutes(), Likely: w.P50.Minutes(), High: w.P85.Minutes(), Source: study.Measured, N: w.N}
	}
}

// metres fills in the walks of steps that were not measured: the mean over the
// machines of the work centres; to the first one from where the part's batches
// have come.
func (st *studied) metres(r *study.Route) {
	plan := st.s.Floors.At(st.shop, st.now)
	from := st.origin()
	for k := range r.Steps {
		to := st.machinesOf(r.Steps[k].WorkCentre)
		sum := 0.0
		for _, a := range from {
			for _, b := range to {
				m, _ := plan.Metres(a, b)
				sum += m
			}
		}
		if n := len(from) * len(to); n > 0 {
			r.Steps[k].Metres = sum / float64(n)
		}
		from = to
	}
}

func (st *studied) machinesOf(wc traveler.WorkCentre) (out []traveler.MachineID) {
	for _, m := range st.shop.Machines(st.now) {
		if st.shop.CanWork(m.ID, wc, st.now) {
			out = append(out, m.ID)
		}
	}
	return out
}

// origin is the place from which most of the part's batches were carried first,
// such as the stores; none when nothing is known of it.
func (st *studied) origin() []traveler.MachineID {
	count := map[traveler.MachineID]int{}
	best := traveler.MachineID("")
	for i := range st.part {
		b := &st.part[i]
		if len(b.Trip) == 0 || len(b.Visits) == 0 || b.Visits[0].CameFrom == "" || b.Visits[0].CameFrom != b.Trip[0].From {
			continue
		}
		from := b.Trip[0].From
		count[from]++
		if count[from] > count[best] || count[from] == count[best] && from < best {
			best = from
		}
	}
	if best == "" {
		return nil
	}
	return []traveler.MachineID{best}
}

// leastYield is the lowest yield that can be assumed: a route that loses more
// makes nothing that could be compared.
const leastYield = 0.001

// overridden puts what someone assumes in place of what is known.
func overridden(r *study.Route, list []override) error {
	for _, o := range list {
		k := slices.IndexFunc(r.Steps, func(s study.Step) bool { return s.Operation == o.Operation })
		if k < 0 {
			return traveler.Invalid("operation", "op.unknown", o.Operation.String(), r.Name)
		}
		v := study.Value{Low: o.Low, Likely: o.Likely, High: o.High, Source: study.Assumed}
		if v.Low == 0 && v.High == 0 {
			v.Low, v.High = v.Likely, v.Likely
		}
		if v.Low < 0 || v.Low > v.Likely || v.Likely > v.High || v.High > study.MostMinutes || o.What == "yield" && (v.High > 1 || v.Low < leastYield) {
			return traveler.Invalid("overrides", "compare.order", o.Operation.String(), o.What)
		}
		s := &r.Steps[k]
		switch o.What {
		case "setup":
			s.SetUp = v
		case "piece":
			s.Piece = v
		case "yield":
			s.Yield = v
		case "wait":
			s.Wait = v
			r.Lead = study.Value{}
		case "rate":
			s.Rate = v.Likely
		default:
			return traveler.Invalid("what", "select.choice", o.What, "setup, piece, yield, wait, rate")
		}
	}
	return nil
}
