package web

import (
	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/study"
)

// fitView is a planned time against what was.
type fitView struct {
	Part       string              `json:"part"`
	PartName   string              `json:"part_name,omitempty"`
	RouteRev   string              `json:"route_rev"`
	Operation  traveler.Op         `json:"operation"`
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	What       string              `json:"what"` // setup or piece
	Plan       float64             `json:"plan_s"`
	Actual     *float64            `json:"actual_s"`
	Low        *float64            `json:"low_s"`
	High       *float64            `json:"high_s"`
	Ratio      *float64            `json:"ratio"`
	N          int                 `json:"n"`
	LeftOut    int                 `json:"left_out"`
	P          *float64            `json:"p"`
	Off        bool                `json:"off"`
}

// getFits answers which planned times no longer fit.
func (s *Server) getFits(c *fiber.Ctx) error {
	sel, err := s.selected(c)
	if err != nil {
		return err
	}
	var fits measure.Fits
	if err := s.eachFact(c, &sel, reading{lent: true, without: traveler.FactTrip | traveler.FactVisits}, fits.Add); err != nil {
		return err
	}
	out, tested := []fitView{}, 0
	for _, f := range fits.Result() {
		v := fitView{
			Part: f.Part, PartName: f.Name, RouteRev: f.Rev, Operation: f.Operation, WorkCentre: f.WorkCentre, What: f.What,
			Plan: f.Plan.Seconds(), N: f.N, LeftOut: f.LeftOut, Off: f.Off,
		}
		if f.N > 0 {
			v.Actual, v.Ratio = seconds(f.Actual), &f.Ratio
		}
		if f.Tested {
			tested++
			v.Low, v.High, v.P = seconds(f.Low), seconds(f.High), &f.P
		}
		out = append(out, v)
	}
	return c.JSON(fiber.Map{
		"selection": sel, "fits": out, "tested": tested, "few": measure.FewToTest, "difference": measure.Difference, "discovery": measure.Discovery,
	})
}

// routeBody is a new revision of a route, made from one that is there.
type routeBody struct {
	Part     string      `json:"part"`
	From     string      `json:"from_rev"`
	RouteRev string      `json:"route_rev"`
	Changes  []routeStep `json:"changes"`
}

type routeStep struct {
	Operation traveler.Op `json:"operation"`
	SetupMin  *float64    `json:"setup_min,omitempty"`
	CycleMin  *float64    `json:"cycle_min,omitempty"`
}

// postRoute releases a new revision of a route with other planned times. The
// one it is made from stays as it is, and batches on it go on with it.
func (s *Server) postRoute(c *fiber.Ctx) error {
	var in routeBody
	if err := decode(c, &in); err != nil {
		return err
	}
	shop := s.cfg.Desk.Shop()
	route, ok := shop.Route(in.Part, in.From)
	if !ok {
		return traveler.Invalid("from_rev", "release.part", in.Part, in.From)
	}
	if in.RouteRev == "" || !traveler.CleanText(in.RouteRev, traveler.MaxText) {
		return traveler.Invalid("route_rev", "form.missing")
	}
	if _, taken := shop.Route(in.Part, in.RouteRev); taken {
		return traveler.Fail(traveler.KindConflict, "change.taken", in.Part, in.RouteRev)
	}
	if err := in.into(&route); err != nil {
		return err
	}
	if err := s.change(c, study.Revision(shop, route, s.now())); err != nil {
		return err
	}
	return c.Status(fiber.StatusCreated).JSON(route)
}

func (in *routeBody) into(route *traveler.Route) error {
	route.Rev = in.RouteRev
	route.Operations = append([]traveler.Operation(nil), route.Operations...)
	for _, x := range in.Changes {
		k := route.Index(x.Operation)
		if k < 0 {
			return traveler.Invalid("operation", "op.unknown", x.Operation.String(), route.Part)
		}
		for _, v := range []struct {
			from *float64
			to   *float64
		}{{x.SetupMin, &route.Operations[k].SetupMin}, {x.CycleMin, &route.Operations[k].CycleMin}} {
			if v.from == nil {
				continue
			}
			if *v.from < 0 || *v.from > study.MostMinutes {
				return traveler.Invalid("changes", "form.number")
			}
			*v.to = *v.from
		}
		if o := &route.Operations[k]; o.LoadMin > o.CycleMin {
			o.LoadMin = o.CycleMin
		}
	}
	return nil
}
