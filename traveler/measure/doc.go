// Package measure holds the figures of a visit, an operation, a batch, a route
// and a machine: each defined once, with its ISO 22400-2 name where that
// standard has one. Facts are worked out from a family's story; figures over
// many batches are worked out from facts.
//
// # Decisions, with their reasons
//
//   - A machine does one thing at a time in its hours: where visits overlap, run goes
//     before set-up, set-up before first-off, first-off before stop. So they add up to
//     the open hours at most.
//   - A visit whose times nobody has settled is left out of the pace, and counted as
//     left out.
//   - A forecast takes of a wait that is on what is left of it, not the whole again.
//   - No sums are kept beside the ledger. A page says what it does without
//     (FactQuery.Without), borrows the lists (Lent), and keeps of each batch only
//     numbers that point nowhere: ten years are read in a fraction of a second, and
//     nothing derived can go stale. Sums of a month, added up, would also differ in the
//     last digits from those of the batches.
//   - One reader, one core. Rows are read and added up by the one who asks: with two
//     cores a second one would take the writer's.
//   - OEE is withheld. It divides by a planned cycle that is itself in question; machine
//     pages show run, set-up and stop against open hours instead.
//   - What an inspector decides about pieces set aside belongs to the visit that set
//     them aside (measure/decided.go): so losses, exports, charts and clampings add up
//     to the batch. review is what is open, set_aside what ever was.
//   - The actual time of a set-up or a piece is all time by all of them
//     (OpFact.TookSetUp, TookRun), on every page; medians and quartiles only say how
//     batches differ. Intervals of such ratios are by t on the logarithm with the
//     jackknife (stat.RatioOf).
//   - A batch's walk is all its trips: to rework, to the dock, to outside work. A
//     comparison takes the mean of measured ones; stores, dock and outside are said
//     apart, since another route changes only the rest.
//   - Late and short are two figures, as are in full and by date; each order line is
//     counted once in an identity (measure.OnTime).
//   - Rates are those that ended over the period; the time that Little's law gives is
//     then days on the floor for each that ended.
//   - A planned time is called off only from five minutes a batch on, beside 10 % and
//     the test: less changes nobody's plan.
//   - A route's yield is the good of those started. Steps take what came in, so that
//     they multiply to it.
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
