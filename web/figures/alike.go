package figures

import (
	"slices"
	"strings"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
)

// fewAlone is the number of batches below which a part's own figures say little: those
// of all parts that are named alike are put beside them. As for intervals of a yield.
const fewAlone = 8

// leadPool is the lead times of parts that are named alike, together.
type leadPool struct {
	Name  string        `json:"name"` // what the names of the parts begin with
	Parts int           `json:"parts"`
	Lead  quantilesView `json:"lead"`
}

// yieldPool is the yields along one way of working, of parts that are named alike.
type yieldPool struct {
	Name  string         `json:"name"` // what the names of the parts begin with
	Parts int            `json:"parts"`
	Route routeYieldView `json:"route"`
}

// alike hands on the batches of all parts named like the one that is chosen, and says
// what their names begin with and how many parts they are. Empty when there is no such
// name.
func (s *room) alike(c *fiber.Ctx, sel *selection, how reading, take func(*story.BatchFact)) (name string,
	parts int, err error) {
	for _, r := range s.Desk.Shop().Routes() {
		if r.Part == sel.Part {
			name = traveler.PartFamily(r.PartName)
		}
	}
	if name == "" {
		return "", 0, nil
	}
	all, of := *sel, map[string]bool{}
	all.Part, all.RouteRev, all.Order, all.Customer = "", "", "", ""
	err = s.eachFact(c, &all, how, func(b *story.BatchFact) {
		if b.State == story.StateDone && strings.EqualFold(traveler.PartFamily(b.Name), name) {
			of[b.Part] = true
			take(b)
		}
	})
	return name, len(of), err
}

// leadsOfAlike is the lead times of the parts named alike; nil where the part's own are
// enough, or there are no others.
func (s *room) leadsOfAlike(c *fiber.Ctx, sel *selection, own int) (*leadPool, error) {
	if sel.Part == "" || own >= fewAlone {
		return nil, nil
	}
	var sum measure.Histories
	name, parts, err := s.alike(c, sel, leadsOnly, func(b *story.BatchFact) {
		if b.Ended.Before(sel.to) && !b.Ended.Before(sel.from) {
			sum.Add(b)
		}
	})
	h := sum.Result()
	if err != nil || h.Ended <= own {
		return nil, err
	}
	return &leadPool{name, parts, quantilesOf(&h.Lead)}, nil
}

// yieldsOfAlike is the yields of the parts named alike that have the same work centres,
// one after the other, as the first of the routes; nil where its own batches are enough.
func (s *room) yieldsOfAlike(c *fiber.Ctx, sel *selection, routes []routeYieldView) (*yieldPool, error) {
	if sel.Part == "" || len(routes) == 0 || routes[0].Batches >= fewAlone {
		return nil, nil
	}
	own := &routes[0]
	shop := s.Desk.Shop()
	route, known := shop.Route(own.Part, own.RouteRev)
	if !known {
		return nil, nil
	}
	var sum routeSum
	parts, same := map[string]bool{}, map[traveler.RouteKey]bool{}
	name, _, err := s.alike(c, sel, lossesOnly, func(b *story.BatchFact) {
		k := traveler.RouteKey{Part: b.Part, Rev: b.Rev}
		if _, seen := same[k]; !seen {
			other, _ := shop.Route(k.Part, k.Rev)
			same[k] = sameWork(&route, &other)
		}
		if same[k] && sum.yields.Add(b) {
			parts[b.Part] = true
		}
	})
	if batches, _ := sum.yields.Size(); err != nil || batches <= own.Batches {
		return nil, err
	}
	return &yieldPool{name, len(parts), routeYieldOf(traveler.RouteKey{}, &sum)}, nil
}

// sameWork reports whether two routes have the same work centres, one after the other.
func sameWork(a, b *traveler.Route) bool {
	return slices.EqualFunc(a.Operations, b.Operations,
		func(a, b traveler.Operation) bool { return a.WorkCentre == b.WorkCentre })
}
