package traveler

import "time"

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
	Before Op
	N      int
	Other  Code
}

// Decision is what became of pieces set aside for review, or an adjustment that
// someone entitled to made, at one operation.
type Decision struct {
	Operation                             Op
	Good, Concession, Scrap, Rework, Miss int
	FromReview                            bool
	Losses                                []LossAt // of a review: what Scrap and Rework are made of
	Reference                             string
	By                                    PersonID
	At                                    time.Time
	Scan                                  ScanID
}

// Delivery is pieces that left the shop.
type Delivery struct {
	Pieces int
	At     time.Time
	Note   string
}

// Batch is pieces of one part that travel together under one card.
type Batch struct {
	Card    Code
	Parent  Code // the batch it was split from
	Part    string
	Rev     string
	Drawing string
	Name    string
	Ops     []Operation // of the route, and those added on the floor
	First   Op          // operations before this one its parent did; 0 = none

	Started  int
	Wanted   int
	Due      time.Time
	Priority int
	Order    string // works order
	Customer string
	Line     string // order line
	Lots     []string
	Released time.Time
	// OnFloor: it was on the floor before its first scan could be made, so
	// earlier operations may have been done unseen.
	OnFloor bool

	HeldBy     PersonID
	Held       bool
	HeldReason string
	Cancelled  time.Time
	Joined     Code // the batch its pieces went to
	DrawingOK  bool // someone decided to go on with a superseded drawing
	Stock      int  // good pieces put to stock on cancelling
	Place      MachineID
	WaitReason string
	WaitBy     PersonID

	Out, In    []Transfer
	Decisions  []Decision
	Reckoned   []Reckoning // from the rows of an old log, one an operation
	Deliveries []Delivery
	Skipped    []Op // operations that someone said were done unseen, or not needed
}

func (b *Batch) index(n Op) int {
	for i := range b.Ops {
		if b.Ops[i].Number == n {
			return i
		}
	}
	return -1
}

func (b *Batch) skipped(n Op) bool {
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
// len(Ops) for a batch that was split off behind the last one.
func (b *Batch) firstIndex() int {
	for i := range b.Ops {
		if b.Ops[i].Number >= b.First {
			return i
		}
	}
	return len(b.Ops)
}
