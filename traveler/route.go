package traveler

// Operation is one step of a route.
type Operation struct {
	Number         Op         `json:"operation"`
	WorkCentre     WorkCentre `json:"work_centre"`
	Instruction    string     `json:"instruction,omitempty"`
	SetupMin       float64    `json:"setup_min"`                // planned set-up, minutes
	CycleMin       float64    `json:"cycle_min"`                // planned floor-to-floor time of one machine cycle, minutes
	LoadMin        float64    `json:"load_min,omitempty"`       // the part of CycleMin that is loading, minutes
	PiecesPerCycle int        `json:"pieces_per_cycle"`         // 1 or more
	Yield          float64    `json:"yield,omitempty"`          // expected good pieces per piece in, 0 < yield <= 1; 0 = not said
	Clampings      int        `json:"clampings"`                // times a piece is held again
	FirstOff       bool       `json:"first_off,omitempty"`      // first piece is inspected before the run
	OutsideDays    float64    `json:"outside_days,omitempty"`   // sent out for treatment, calendar days; 0 = inside
	AddedOnFloor   bool       `json:"added_on_floor,omitempty"` // added by a supervisor for one batch
}

// Outside reports whether the operation is done outside the shop.
func (o *Operation) Outside() bool { return o.OutsideDays > 0 }

// MinPerPiece is the planned time of one piece in minutes.
func (o *Operation) MinPerPiece() float64 {
	return o.CycleMin / float64(max(1, o.PiecesPerCycle))
}

// Route is the operations of a part, in order of their numbers, under a route
// revision. A revision that a batch was released on never changes.
type Route struct {
	Part       string      `json:"part"`
	PartName   string      `json:"part_name,omitempty"`
	DrawingRev string      `json:"drawing_rev,omitempty"`
	Material   string      `json:"material,omitempty"`
	Rev        string      `json:"route_rev"`
	Operations []Operation `json:"operations"`
}

// Index returns the place of operation n in the route, or -1.
func (r *Route) Index(n Op) int {
	for i := range r.Operations {
		if r.Operations[i].Number == n {
			return i
		}
	}
	return -1
}
