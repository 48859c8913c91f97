package web

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"github.com/gofiber/fiber/v2"
	"golang.org/x/text/currency"

	"tallywalk/traveler"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/stat"
	"tallywalk/traveler/study"
)

// compareBody asks for routes of a part side by side.
type compareBody struct {
	Part       string      `json:"part"`
	Size       int         `json:"size"`           // pieces started in a batch
	Good       int         `json:"good,omitempty"` // good pieces wanted of a batch, for what to start
	Confidence float64     `json:"confidence,omitempty"`
	Demand     float64     `json:"demand,omitempty"` // good pieces a year; 0 = as in the last year
	From       string      `json:"from,omitempty"`   // dates of the batches that are measured
	To         string      `json:"to,omitempty"`
	Costs      study.Costs `json:"costs"`
	Routes     []routeAsk  `json:"routes"`
}

// routeAsk is one route: a revision, measured where enough batches stand behind
// it, planned, or changed by hand and by combining operations.
type routeAsk struct {
	RouteRev  string      `json:"route_rev"`
	Name      string      `json:"name,omitempty"`
	Use       string      `json:"use,omitempty"` // mixed (default), measured or planned
	Overrides []override  `json:"overrides,omitempty"`
	Combine   *combineAsk `json:"combine,omitempty"`
	OneOff    float64     `json:"one_off,omitempty"`
}

// override is a value that somebody assumes.
type override struct {
	Operation traveler.Op `json:"operation"`
	What      string      `json:"what"` // setup, piece, yield, wait
	Low       float64     `json:"low"`
	Likely    float64     `json:"likely"`
	High      float64     `json:"high"`
}

type combineAsk struct {
	Operations []traveler.Op       `json:"operations"`
	Second     []traveler.Op       `json:"second,omitempty"`
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	Rate       float64             `json:"rate_per_hour,omitempty"`
	SetUp      *threeValues        `json:"setup,omitempty"`
	Faster     *threeValues        `json:"faster,omitempty"`
	OneOff     float64             `json:"one_off,omitempty"`
}

type threeValues struct {
	Low    float64 `json:"low"`
	Likely float64 `json:"likely"`
	High   float64 `json:"high"`
}

func (t *threeValues) value() study.Value {
	if t == nil {
		return study.Value{}
	}
	return study.Value{Low: t.Low, Likely: t.Likely, High: t.High, Source: study.Assumed}
}

const (
	mostCompared = 4
	mostSize     = 100_000
	resamples    = 2000
	curveTo      = 5000
)

// wanted checks what is asked for and fills in what was left out.
func (in *compareBody) wanted() error {
	switch {
	case in.Part == "":
		return traveler.Invalid("part", "form.missing")
	case len(in.Routes) == 0 || len(in.Routes) > mostCompared:
		return traveler.Invalid("routes", "compare.routes")
	case in.Size < 1 || in.Size > mostSize:
		return traveler.Invalid("size", "release.pieces", "100000")
	case in.Good < 0 || in.Good > mostSize || in.Demand < 0 || in.Demand > 1e9:
		return traveler.Invalid("demand", "form.number")
	}
	if in.Confidence == 0 {
		in.Confidence = measure.Confidence
	}
	if in.Confidence <= 0 || in.Confidence >= 1 {
		return traveler.Invalid("confidence", "form.number")
	}
	return costsFit(&in.Costs)
}

func costsFit(c *study.Costs) error {
	c.Currency = cmp.Or(c.Currency, "EUR")
	if _, err := currency.ParseISO(c.Currency); err != nil {
		return traveler.Invalid("currency", "compare.currency", c.Currency)
	}
	for _, x := range []float64{c.Labour, c.Manned, c.Trip, c.Metre, c.Material, c.Outside} {
		if math.IsNaN(x) || x < 0 || x > 1e9 {
			return traveler.Invalid("costs", "form.number")
		}
	}
	if c.Manned > 1 {
		return traveler.Invalid("manned", "form.number")
	}
	return nil
}

// studied is a part with all that is known of its routes.
type studied struct {
	s     *Server
	in    *compareBody
	now   time.Time
	shop  *traveler.Shop
	usual *usual
	from  time.Time // of the batches that are measured
	to    time.Time
	part  []traveler.BatchFact // of the part
}

// usual is what is usual in the whole shop: waits, and what a clamping loses. It
// is worked out anew when it is old.
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
func (s *Server) usually() (*usual, error) {
	s.usualMu.Lock()
	defer s.usualMu.Unlock()
	if s.usual != nil && s.cfg.Real().Sub(s.usual.at) < usualFor {
		return s.usual, nil
	}
	now, shop := s.now(), s.cfg.Desk.Shop()
	var waits measure.Waits
	var loss study.Clampings
	var recent []traveler.BatchFact
	year, quarter := now.AddDate(-waitYears, 0, 0), now.AddDate(0, 0, -loadDays)
	sel := selection{from: now.AddDate(-lossYears, 0, 0), to: now}
	err := s.eachFact(&sel, false, false, func(b *traveler.BatchFact) {
		loss.Add(b)
		if b.Ended.IsZero() || b.Ended.After(year) {
			waits.Add(b)
		}
		if b.Ended.IsZero() || b.Ended.After(quarter) {
			recent = append(recent, *b)
		}
	})
	if err != nil {
		return nil, err
	}
	u := &usual{at: s.cfg.Real(), loss: loss.Result(), loads: loadsOf(shop, recent, quarter, now)}
	u.inside, u.outside = waits.Result()
	s.usual = u
	return u, nil
}

func (s *Server) study(in *compareBody) (*studied, error) {
	now := s.now()
	st := &studied{s: s, now: now, shop: s.cfg.Desk.Shop(), from: now.AddDate(-10, 0, 0), to: now}
	for _, b := range []struct {
		field, date string
		to          *time.Time
		days        int
	}{{"from", in.From, &st.from, 0}, {"to", in.To, &st.to, 1}} {
		if b.date == "" {
			continue
		}
		t, err := s.midnight(b.field, b.date, b.days)
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
func (st *studied) of(in *compareBody) (err error) {
	st.in, st.part = in, nil
	if in.Part != "" {
		st.part, err = st.s.facts(&selection{Part: in.Part, from: st.from, to: st.to}, false)
	}
	return err
}

// batches are those of the part on one route.
func (st *studied) batches(rev string) (out []traveler.BatchFact) {
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
	r := study.FromPlan(&plan, st.rate, st.usual.inside, st.usual.outside)
	r.Name, r.OneOff = cmp.Or(ask.Name, ask.RouteRev), ask.OneOff
	st.metres(&r)
	var list []traveler.BatchFact
	switch ask.Use {
	case "", "mixed", "measured":
		list = st.batches(ask.RouteRev)
	case "planned":
	default:
		return nil, nil, traveler.Invalid("use", "select.choice", ask.Use, "mixed, measured, planned")
	}
	samples := r.Measure(list)
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
	one, ok := study.Combined(r, &k)
	if !ok {
		return nil, traveler.Invalid("operations", "compare.combine")
	}
	if ask.Name == "" {
		one.Name = r.Name + " combined"
	}
	one.Lead = study.Value{}
	st.metres(&one)
	return &one, nil
}

// metres fills in the walks of steps that were not measured: the mean over the
// machines of the work centres.
func (st *studied) metres(r *study.Route) {
	plan := st.s.floors.At(st.shop, st.now)
	for k := 1; k < len(r.Steps); k++ {
		sum, n := 0.0, 0
		for _, a := range st.shop.Machines(st.now) {
			for _, b := range st.shop.Machines(st.now) {
				if st.shop.CanWork(a.ID, r.Steps[k-1].WorkCentre, st.now) && st.shop.CanWork(b.ID, r.Steps[k].WorkCentre, st.now) {
					m, _ := plan.Metres(a.ID, b.ID)
					sum += m
					n++
				}
			}
		}
		if n > 0 {
			r.Steps[k].Metres = sum / float64(n)
		}
	}
}

// overridden puts what somebody assumes in place of what is known.
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
		if v.Low < 0 || v.Low > v.Likely || v.Likely > v.High || v.High > mostMinutes || o.What == "yield" && (v.High > 1 || v.Low <= 0) {
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
		default:
			return traveler.Invalid("what", "select.choice", o.What, "setup, piece, yield, wait")
		}
	}
	return nil
}

// figures are those that are compared with intervals.
var compared = []struct {
	name   string
	figure study.Figure
}{{"minutes", study.EachMinutes}, {"cost", study.EachCost}, {"yield", study.Rolled}, {"setup", study.SetUpTime}}

// postCompare answers routes side by side.
func (s *Server) postCompare(c *fiber.Ctx) error {
	var in compareBody
	if err := decode(c, &in); err != nil {
		return err
	}
	v, err := s.compare(&in)
	if err != nil {
		return err
	}
	return c.JSON(v)
}

// getCompare answers routes of a part as they were measured, for a batch of the
// size that was usual.
func (s *Server) getCompare(c *fiber.Ctx) error {
	in := compareBody{Part: c.Query("part"), Size: c.QueryInt("size")}
	shop := s.cfg.Desk.Shop()
	for _, r := range shop.Routes() {
		if r.Part == in.Part && (c.Query("route_rev") == "" || slices.ContainsFunc(queries(c, "route_rev"), func(q string) bool { return q == r.Rev })) {
			in.Routes = append(in.Routes, routeAsk{RouteRev: r.Rev})
		}
	}
	if n := len(in.Routes); n > mostCompared {
		in.Routes = in.Routes[n-mostCompared:]
	}
	if in.Size == 0 {
		in.Size = s.usualSize(in.Part)
	}
	v, err := s.compare(&in)
	if err != nil {
		return err
	}
	return c.JSON(v)
}

func queries(c *fiber.Ctx, name string) (out []string) {
	for _, v := range c.Request().URI().QueryArgs().PeekMulti(name) {
		out = append(out, string(v))
	}
	return out
}

// usualSize is the median of the batches of a part; 50 when there are none.
func (s *Server) usualSize(part string) int {
	var sizes []float64
	_ = s.cfg.Desk.Facts(traveler.FactQuery{Part: part, Open: true, Bare: true}, func(b *traveler.BatchFact) bool {
		sizes = append(sizes, float64(b.Started))
		return true
	})
	if len(sizes) == 0 || part == "" {
		return 50
	}
	slices.Sort(sizes)
	return max(1, int(stat.Median(sizes)))
}

func (s *Server) compare(in *compareBody) (*Comparison, error) {
	if err := in.wanted(); err != nil {
		return nil, err
	}
	st, err := s.study(in)
	if err != nil {
		return nil, err
	}
	v := &Comparison{Part: in.Part, Size: in.Size, Good: in.Good, Confidence: in.Confidence, Costs: in.Costs, Few: study.Few, Against: []againstView{}, Clamping: clampingOf(&st.usual.loss)}
	var routes []*study.Route
	var samples []*study.Samples
	for i := range in.Routes {
		r, x, err := st.route(&in.Routes[i])
		if err != nil {
			return nil, err
		}
		routes, samples = append(routes, r), append(samples, x)
		v.Routes = append(v.Routes, st.routeView(r, &in.Routes[i]))
	}
	v.Demand = st.demand()
	for i := 1; i < len(routes); i++ {
		v.Against = append(v.Against, st.against(routes, samples, i, v.Demand))
	}
	return v, nil
}

// demand is the good pieces of a year: as asked, else those of the last one.
func (st *studied) demand() float64 {
	if st.in.Demand > 0 {
		return st.in.Demand
	}
	n := 0
	year := st.now.AddDate(-1, 0, 0)
	for i := range st.part {
		if b := &st.part[i]; b.Ended.After(year) {
			n += b.Good
		}
	}
	return float64(n)
}

// against compares a route with the first one.
func (st *studied) against(routes []*study.Route, samples []*study.Samples, i int, demand float64) againstView {
	v := againstView{First: routes[0].Name, Second: routes[i].Name, Figures: []Compared{}}
	var figures []study.Figure
	for _, f := range compared {
		figures = append(figures, f.figure)
	}
	// The same question gets the same answer.
	rng := rand.New(rand.NewPCG(uint64(st.in.Size), uint64(len(st.part))))
	for k, x := range study.Compare(samples[0], samples[i], figures, float64(st.in.Size), &st.in.Costs, resamples, rng) {
		v.Figures = append(v.Figures, Compared{compared[k].name, estimateOf(x.First), estimateOf(x.Second), estimateOf(x.Difference)})
	}
	v.ByCost = crossings(study.Breaks(routes[0], routes[i], &st.in.Costs, false, curveTo))
	v.ByMinutes = crossings(study.Breaks(routes[0], routes[i], &st.in.Costs, true, curveTo))
	v.Centres = st.centres(routes[0], routes[i], demand)
	return v
}

// centres says what a year's demand takes on each work centre by either route,
// and what that does to the queue there.
func (st *studied) centres(a, b *study.Route, demand float64) []centreShift {
	x, y := a.Of(float64(st.in.Size), &st.in.Costs), b.Of(float64(st.in.Size), &st.in.Costs)
	out := []centreShift{}
	if x.Good <= 0 || y.Good <= 0 {
		return out
	}
	loads := st.usual.loads
	for _, wc := range st.centreNames(&x, &y) {
		k := centreShift{
			WorkCentre: wc, FirstHours: demand / x.Good * x.Centre[wc] / 60, SecondHours: demand / y.Good * y.Centre[wc] / 60,
		}
		l := loads[wc]
		if l == nil {
			l = &centreLoad{}
		}
		k.Machines, k.Load = l.machines, finite(l.load())
		if l.open > 0 && l.visits > 0 {
			then := l.load() + (k.SecondHours-k.FirstHours)/(l.open*float64(daysInYear)/loadDays)
			k.Then = finite(then)
			te := l.busy * 60 / float64(l.visits)
			k.QueueNow = finite(study.QueueTime(1, 1, l.load(), te, max(1, l.machines)))
			k.QueueThen = finite(study.QueueTime(1, 1, math.Max(0, then), te, max(1, l.machines)))
		}
		out = append(out, k)
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
func loadsOf(shop *traveler.Shop, recent []traveler.BatchFact, from, now time.Time) map[traveler.WorkCentre]*centreLoad {
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

// postCompareRelease releases a proposal as a new revision of the route.
func (s *Server) postCompareRelease(c *fiber.Ctx) error {
	var in struct {
		Part     string   `json:"part"`
		Route    routeAsk `json:"route"`
		RouteRev string   `json:"route_rev"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	shop := s.cfg.Desk.Shop()
	if in.RouteRev == "" || !traveler.CleanText(in.RouteRev, traveler.MaxText) {
		return traveler.Invalid("route_rev", "form.missing")
	}
	if _, taken := shop.Route(in.Part, in.RouteRev); taken {
		return traveler.Fail(traveler.KindConflict, "change.taken", in.Part, in.RouteRev)
	}
	st, err := s.study(&compareBody{Part: in.Part})
	if err != nil {
		return err
	}
	r, _, err := st.route(&in.Route)
	if err != nil {
		return err
	}
	from, _ := shop.Route(in.Part, in.Route.RouteRev)
	route := r.Release(&from, in.RouteRev)
	if err := s.change(c, &traveler.Change{From: s.now(), Routes: append(inForce(shop, in.Part, s.now()), route)}); err != nil {
		return err
	}
	return c.Status(fiber.StatusCreated).JSON(route)
}
