package traveler

import (
	"slices"
	"time"
)

// Corner is a point where aisles meet or turn.
type Corner struct {
	ID string  `json:"corner"`
	X  float64 `json:"x_m"` // metres
	Y  float64 `json:"y_m"` // metres
}

// Aisle is a way that batches are carried along, in both directions, between
// two machines or corners.
type Aisle struct {
	From   string  `json:"from"`
	To     string  `json:"to"`
	Metres float64 `json:"metres,omitempty"` // its length; 0 = the straight line between its ends
}

// Picture is a drawing of the hall that lies under the plan.
type Picture struct {
	Ref    string  `json:"ref"`                // SHA-256 of the file, in hex
	X      float64 `json:"x_m" api:"optional"` // left edge, metres
	Y      float64 `json:"y_m" api:"optional"` // upper edge, metres
	Width  float64 `json:"width_m"`            // metres
	Height float64 `json:"height_m"`           // metres
}

// Layout is the aisles of the shop and what lies under them. Machines have
// their own places.
type Layout struct {
	Corners []Corner `json:"corners,omitempty"`
	Aisles  []Aisle  `json:"aisles,omitempty"`
	Picture *Picture `json:"picture,omitempty"`
}

// Trip is one time that a batch was carried from one place to another.
type Trip struct {
	Batch    int // index in Family.Batches
	Visit    int // index in Family.Visits; -1 = it was only put there
	From, To MachineID
	At       time.Time
}

// Layout is the aisles as they were at t. Before the first ones there were
// none.
func (s *Shop) Layout(t time.Time) Layout {
	if len(s.layouts) == 0 || s.layouts[0].from.After(t) {
		return Layout{}
	}
	l, _ := at(s.layouts, t)
	return l
}

// GroundVersion is a number that stays the same as long as no machine was moved
// and no aisle changed.
func (s *Shop) GroundVersion(t time.Time) int {
	i, found := slices.BinarySearchFunc(s.grounds, t, time.Time.Compare)
	if found {
		i++
	}
	return i
}

// relay takes the places and aisles of a change.
func (s *Shop) relay(c *Change) {
	if c.Layout != nil {
		s.layouts = put(s.layouts, c.From, *c.Layout)
	}
	if c.Layout == nil && len(c.Machines) == 0 {
		return
	}
	if i, found := slices.BinarySearchFunc(s.grounds, c.From, time.Time.Compare); !found {
		s.grounds = slices.Insert(s.grounds, i, c.From)
	}
}
