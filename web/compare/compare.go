package compare

import (
	"cmp"
	"encoding/json"
	"errors"
	"math/rand/v2"
	"slices"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/study"
	"tallywalk/web/ask"
)

// figures are those that are compared with intervals.
var compared = []struct {
	name   string
	figure study.Figure
}{
	{"minutes", study.EachMinutes},
	{"cost", study.EachCost},
	{"yield", study.Rolled},
	{"setup", study.SetUpTime},
}

// postCompare answers routes side by side.
func (s *room) postCompare(c *fiber.Ctx) error {
	v, err := s.asked(c)
	if err != nil {
		return err
	}
	return answerFigures(c, v)
}

// asked is the comparison that a body asks for.
func (s *room) asked(c *fiber.Ctx) (*study.Comparison, error) {
	var in compareAsk
	if err := ask.Decode(c, &in); err != nil {
		return nil, err
	}
	return s.compare(&in, ask.Best(c, study.Languages()))
}

// answerFigures answers figures that were worked out of what someone assumed. What
// comes to no number is refused, not taken for a fault of the server.
func answerFigures(c *fiber.Ctx, v any) error {
	b, err := json.Marshal(v)
	var endless *json.UnsupportedValueError
	if errors.As(err, &endless) {
		return traveler.Invalid("values", "compare.endless")
	}
	if err != nil {
		return err
	}
	c.Set(fiber.HeaderContentType, fiber.MIMEApplicationJSON)
	return c.Send(b)
}

// getCompare answers routes of a part as they were measured, for a batch of the
// size that was usual.
func (s *room) getCompare(c *fiber.Ctx) error {
	size, err := ask.QueryInt(c, "size", 0)
	if err != nil {
		return err
	}
	in := compareAsk{Part: c.Query("part"), Size: size}
	shop := s.Desk.Shop()
	for _, r := range shop.Routes() {
		if r.Part == in.Part && (c.Query("route_rev") == "" || slices.ContainsFunc(
			queries(c, "route_rev"), func(q string) bool { return q == r.Rev },
		)) {
			in.Routes = append(in.Routes, routeAsk{RouteRev: r.Rev})
		}
	}
	if n := len(in.Routes); n > mostCompared {
		in.Routes = in.Routes[n-mostCompared:]
	}
	if in.Size == 0 {
		in.Size = s.usualSize(in.Part)
	}
	v, err := s.compare(&in, ask.Best(c, study.Languages()))
	if err != nil {
		return err
	}
	return answerFigures(c, v)
}

func queries(c *fiber.Ctx, name string) (out []string) {
	for _, v := range c.Request().URI().QueryArgs().PeekMulti(name) {
		out = append(out, string(v))
	}
	return out
}

// usualSize is the median of the batches of a part; 50 when there are none.
func (s *room) usualSize(part string) int {
	if part == "" {
		return usualOf(nil)
	}
	return usualOf(s.sizesOf(part))
}

func (s *room) compare(in *compareAsk, language string) (*study.Comparison, error) {
	in.Costs.Currency = cmp.Or(in.Costs.Currency, s.Currency)
	if err := in.wanted(); err != nil {
		return nil, err
	}
	st, err := s.study(in)
	if err != nil {
		return nil, err
	}
	v := &study.Comparison{
		Language: language, Part: in.Part, Size: in.Size, Good: in.Good, Confidence: in.Confidence,
		Costs: in.Costs, Few: study.Few,
		FewInterval: study.FewForInterval, Against: []study.Against{}, Clamping: clampingOf(&st.usual.loss),
	}
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
	v.Answer, v.Notes = study.Answers(v), study.Notes(v)
	return v, nil
}

// sureSizes are the batch sizes at which it is asked how sure one route is the
// better one: few of those of the curve, since each takes its time.
func sureSizes() (out []int) {
	all := study.Sizes(curveTo)
	for i, q := range all {
		if i < 30 || i%3 == 0 || i == len(all)-1 {
			out = append(out, q)
		}
	}
	return out
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
func (st *studied) against(
	routes []*study.Route, samples []*study.Samples, i int, demand float64,
) study.Against {
	v := study.Against{First: routes[0].Name, Second: routes[i].Name, Figures: []study.ComparedFigure{}}
	var figures []study.Figure
	for _, f := range compared {
		figures = append(figures, f.figure)
	}
	// The same question gets the same answer.
	rng := rand.New(rand.NewPCG(uint64(st.in.Size), uint64(len(st.part))))
	for k, x := range study.Compare(
		samples[0], samples[i], figures, float64(st.in.Size), &st.in.Costs, resamples, rng,
	) {
		f := study.ComparedFigure{
			Figure: compared[k].name, First: estimateOf(x.First), Second: estimateOf(x.Second),
			Difference: estimateOf(x.Difference),
		}
		if f.Figure == "yield" { // nothing is better than all good, or worse than none
			f.First.Within(0, 1)
			f.Second.Within(0, 1)
			f.Difference.Within(-1, 1)
		}
		v.Figures = append(v.Figures, f)
	}
	v.ByCost = ask.Some(study.Breaks(routes[0], routes[i], &st.in.Costs, false, curveTo))
	v.Sure = ask.Some(study.Along(samples[0], samples[i], sureSizes(), &st.in.Costs, study.EachCost))
	v.ByMinutes = ask.Some(study.Breaks(routes[0], routes[i], &st.in.Costs, true, curveTo))
	v.Centres = st.centres(routes[0], routes[i], demand)
	return v
}

// proposal is a route to release, and the revision that it becomes.
type proposal struct {
	Part     string   `json:"part"`
	Route    routeAsk `json:"route"`
	RouteRev string   `json:"route_rev"`
}

// postCompareRelease releases a proposal as a new revision of the route.
func (s *room) postCompareRelease(c *fiber.Ctx) error {
	var in proposal
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	shop := s.Desk.Shop()
	if in.RouteRev == "" || !traveler.CleanText(in.RouteRev, traveler.MaxText) {
		return traveler.Invalid("route_rev", "form.missing")
	}
	if _, taken := shop.Route(in.Part, in.RouteRev); taken {
		return traveler.Fail(traveler.KindConflict, "change.taken", in.Part, in.RouteRev)
	}
	st, err := s.study(&compareAsk{Part: in.Part})
	if err != nil {
		return err
	}
	r, _, err := st.route(&in.Route)
	if err != nil {
		return err
	}
	from, _ := shop.Route(in.Part, in.Route.RouteRev)
	route := r.Release(&from, in.RouteRev)
	if err := s.Change(c, study.Revision(shop, route, s.Time())); err != nil {
		return err
	}
	return c.Status(fiber.StatusCreated).JSON(route)
}
