package study

import (
	"time"

	"tallywalk/traveler"
)

// MostMinutes is the longest set-up and the longest piece that can be planned or
// assumed.
const MostMinutes = 1_000_000

// Revision is the change of the shop that adds a revision of a route. It names
// the routes of the part whose drawing is in force as well: a change that left
// one of them out would take its drawing out of force.
func Revision(shop *traveler.Shop, route traveler.Route, at time.Time) *traveler.Change {
	ch := &traveler.Change{From: at}
	for _, r := range shop.Routes() {
		if r.Part != route.Part {
			continue
		}
		if _, superseded := shop.Superseded(r.Part, r.DrawingRev, at); !superseded {
			ch.Routes = append(ch.Routes, r)
		}
	}
	ch.Routes = append(ch.Routes, route)
	return ch
}
