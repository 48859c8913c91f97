package ahead

import (
	"time"

	"tallywalk/traveler"
)

// Scenario is what could be done otherwise. The zero value changes nothing. With
// the same seed the same numbers are drawn for the same batch, operation and run,
// so that what differs between two forecasts comes from the scenario.
type Scenario struct {
	Rule  Rule            // empty = the shop's
	First []traveler.Code // go before all others, in this order
	Take  []Taking        // what machines take next, once
	Open  []Stretch       // overtime of machines
	Shut  []Stretch       // machines that are lost
	Route []Reroute
	Split []Piece
	Add   []NewBatch
}

// Taking is what a machine takes next, if it waits for it then: this once, and not
// before others elsewhere.
type Taking struct {
	Machine traveler.MachineID
	Card    traveler.Code
}

// Stretch is a time at a machine.
type Stretch struct {
	Machine  traveler.MachineID
	From, To time.Time
}

// Reroute lets the operations of a batch that nobody has begun go by another
// route revision of its part.
type Reroute struct {
	Card traveler.Code
	Rev  string
}

// Piece lets some pieces of a batch go on as a batch of their own.
type Piece struct {
	Card   traveler.Code
	Pieces int
}

// NewBatch is a batch that is not on the floor yet.
type NewBatch struct {
	Card   traveler.Code // a name that distinguishes it; empty: made up
	Part   string
	Rev    string // empty: the last revision of the part
	Pieces int
	From   time.Time // released then; zero = now
	Due    time.Time // the end of its due day; zero = none
	// Hot and Priority as of a batch on the floor.
	Hot      bool
	Priority int
}
