package plan

import (
	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/study"
	"tallywalk/web/ask"
)

// newRevision is a new revision of a route, made from one that is there.
type newRevision struct {
	Part     string        `json:"part"`
	From     string        `json:"from_rev"`
	RouteRev string        `json:"route_rev"`
	Changes  []changedStep `json:"changes"`
}

type changedStep struct {
	Operation traveler.Op `json:"operation"`
	SetupMin  *float64    `json:"setup_min,omitempty"`
	CycleMin  *float64    `json:"cycle_min,omitempty"`
}

// postRoute releases a new revision of a route with other planned times. The
// one it is made from stays as it is, and batches on it go on with it.
func (s *room) postRoute(c *fiber.Ctx) error {
	var in newRevision
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	shop := s.Desk.Shop()
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
	if err := s.Change(c, study.Revision(shop, route, s.Time())); err != nil {
		return err
	}
	return c.Status(fiber.StatusCreated).JSON(route)
}

func (in *newRevision) into(route *traveler.Route) error {
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
