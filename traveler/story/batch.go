package story

import (
	"tallywalk/traveler"
	"time"
)

// BatchState says where a batch stands; it is derived, never said.
type BatchState string

// The states of a batch.
const (
	StateWaiting   BatchState = "waiting"
	StateSetting   BatchState = "setting"
	StateRunning   BatchState = "running"
	StateStopped   BatchState = "stopped"
	StateHeld      BatchState = "held"
	StateOutside   BatchState = "outside"
	StateDone      BatchState = "done"
	StateCancelled BatchState = "cancelled"
)

// Transfer is pieces that left for, or came from, another batch of the family,
// before operation Before.
type Transfer struct {
	Before traveler.Op
	N      int
	Other  traveler.Code
}

// Decision is what became of pieces set aside for review, or an adjustment that
// someone entitled to made, at one operation.
type Decision struct {
	Operation                             traveler.Op
	Good, Concession, Scrap, Rework, Miss int
	FromReview                            bool
	Losses                                []LossAt // of a review: what Scrap and Rework are made of
	Reference                             string
	By                                    traveler.PersonID
	At                                    time.Time
	Scan                                  traveler.ScanID
}

// Delivery is pieces that left the shop.
type Delivery struct {
	Pieces int
	At     time.Time
	Note   string
}

// PlanChange is one thing of a batch's plan that someone changed, as an override
// says it: What is one of Override..., From and To what it was and is now, in the
// form in which an override says it.
type PlanChange struct {
	What, From, To string
	Reason         string
	By             traveler.PersonID
	Name           string // account or station that said it
	At             time.Time
	Scan           traveler.ScanID
}

// Batch is pieces of one part that travel together under one card.
type Batch struct {
	Card    traveler.Code
	Parent  traveler.Code // the batch it was split from
	Part    string
	Rev     string
	Drawing string
	Name    string
	Ops     []traveler.Operation // of the route, and those added on the floor
	First   traveler.Op          // operations before this one its parent did; 0 = none

	Started  int
	Wanted   int
	Due      time.Time
	Priority int
	Hot      bool // goes before all that is not
	// MakesUp is the batch that falls short, whose pieces this one makes up, MadeUp
	// those that make up what this one lacks.
	MakesUp  traveler.Code
	MadeUp   []traveler.Code
	Order    string // works order
	Customer string
	Line     string // order line
	Lots     []string
	Released time.Time
	// OnFloor: it was on the floor before its first scan could be made, so
	// earlier operations may have been done unseen.
	OnFloor bool

	HeldBy     traveler.PersonID
	Held       bool
	HeldReason string
	Cancelled  time.Time
	Joined     traveler.Code // the batch its pieces went to
	DrawingOK  bool          // someone decided to go on with a superseded drawing
	Stock      int           // good pieces put to stock on cancelling
	Place      traveler.MachineID
	WaitReason string
	WaitBy     traveler.PersonID

	Out, In    []Transfer
	Decisions  []Decision
	Reckoned   []Reckoning // from the rows of an old log, one an operation
	Deliveries []Delivery
	Skipped    []traveler.Op // operations that someone said were done unseen, or not needed
	Changes    []PlanChange  // of what it was released with, in the order they happened
	Ticks      []Tick        // what was said of the things that its operations need; see Family.Needs
}

func (b *Batch) index(n traveler.Op) int {
	for i := range b.Ops {
		if b.Ops[i].Number == n {
			return i
		}
	}
	return -1
}

// IsSkipped reports whether someone said that an operation was done unseen, or
// is not needed.
func (b *Batch) IsSkipped(n traveler.Op) bool { return b.skipped(n) }

func (b *Batch) skipped(n traveler.Op) bool {
	for _, s := range b.Skipped {
		if s == n {
			return true
		}
	}
	return false
}

// Delivered is the number of pieces that left the shop.
func (b *Batch) Delivered() int {
	n := 0
	for _, d := range b.Deliveries {
		n += d.Pieces
	}
	return n
}

// firstIndex is the place in Ops of the first operation that is its own; it is
// len(Ops) for a batch that was split off after the last one.
func (b *Batch) firstIndex() int {
	for i := range b.Ops {
		if b.Ops[i].Number >= b.First {
			return i
		}
	}
	return len(b.Ops)
}
