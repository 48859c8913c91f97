// Package measure holds the figures of a visit, an operation, a batch, a route
// and a machine: each defined once, with its ISO 22400-2 name where that
// standard has one. Facts are worked out from a family's story; figures over
// many batches are worked out from facts.
package measure

import (
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/ground"
)

// Meter works out facts. It knows the shop, the plan of its floor, and the
// moment up to which what still lasts is counted.
type Meter struct {
	Shop   *traveler.Shop
	Floors *ground.Floors
	Now    time.Time
}

func positive(d time.Duration) time.Duration { return max(0, d) }
