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
	var spreads study.Spreads
	var recent []story.BatchFact
	year, quarter := now.AddDate(-waitYears, 0, 0), now.AddDate(0, 0, -loadDays)
	q := story.FactQuery{From: now.AddDate(-lossYears, 0, 0), To: now, Open: true}
	err := s.Desk.Facts(q, func(b *story.BatchFact) bool {
		loss.Add(b)
		spreads.Add(b)
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
	u := &usual{at: s.Real(), loss: loss.Result(), spreads: spreads.Result(),
		loads: loadsOf(shop, recent, quarter, now)}
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
		Operations: c.Operations, Second: c.Second, WorkCentre: c.WorkCentre,
		Rate: cmp.Or(c.Rate, st.rate(c.WorkCentre)), SetUp: c.SetUp.value(), Faster: c.Faster.value(),
		OneOff: c.OneOff,
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
		s.Wait = study.Value{
			Low: w.P50.Minutes(), Likely: w.P50.Minutes(), High: w.P85.Minutes(), Source: study.Measured,
			N: w.N,
		}
	}
}

// metres fills in the walks of a route as the plan says: the mean over the
// machines of the work centres; to the first one from where the part's batches
// have come, and from the last one to where they have gone.
func (st *studied) metres(r *study.Route) {
	from := st.endOf(func(b *story.BatchFact) traveler.MachineID {
		if len(b.Visits) == 0 || b.Visits[0].CameFrom != b.Trip[0].From {
			return ""
		}
		return b.Trip[0].From
	})
	r.Walks = study.Walks{}
	for k := range r.Steps {
		s := &r.Steps[k]
		to := st.machinesOf(s.WorkCentre)
		s.Metres = st.carried(&r.Walks, from, to, k > 0 && s.WorkCentre != r.Steps[k-1].WorkCentre)
		from = to
	}
	st.carried(&r.Walks, from, st.endOf(func(b *story.BatchFact) traveler.MachineID {
		if last := &b.Trip[len(b.Trip)-1]; last.For == 0 && last.Leg != story.LegFloor {
			return last.To
		}
		return ""
	}), false)
}

// carried adds the trip from some machines to others, if there is one: it is as
// long as those between them in the mean.
func (st *studied) carried(w *study.Walks, from, to []traveler.MachineID, surely bool) float64 {
	plan := st.s.Floors.At(st.shop, st.now)
	sum := 0.0
	leg := story.LegFloor
	for _, a := range from {
		for _, b := range to {
			m, _ := plan.Metres(a, b)
			sum += m
			leg = measure.LegOf(st.shop, a, b, st.now)
		}
	}
	if n := len(from) * len(to); n > 0 {
		sum /= float64(n)
	}
	if sum > 0 || surely {
		w.Add(leg, sum)
	}
	return sum
}

func (st *studied) machinesOf(wc traveler.WorkCentre) (out []traveler.MachineID) {
	for _, m := range st.shop.Machines(st.now) {
		if st.shop.CanWork(m.ID, wc, st.now) {
			out = append(out, m.ID)
		}
	}
	return out
}

// endOf is the place at an end of the walks of most of the part's batches; none
// when nothing is known of it.
func (st *studied) endOf(end func(*story.BatchFact) traveler.MachineID) []traveler.MachineID {
	count := map[traveler.MachineID]int{}
	best := traveler.MachineID("")
	for i := range st.part {
		b := &st.part[i]
		if b.State != story.StateDone || len(b.Trip) == 0 {
			continue
		}
		at := end(b)
		count[at]++
		if count[at] > count[best] || count[at] == count[best] && at < best {
			best = at
		}
	}
	if best == "" {
		return nil
	}
	return []traveler.MachineID{best}
}
