// Package ground is the floor as a graph: places, corners, the aisles between
// them, and the shortest walks along these. All lengths are metres.
//
// An aisle joins the two machines or corners that it names, in both
// directions. Two aisles that cross on the plan are joined only where both
// name the same corner. A machine that no aisle names is joined by a straight
// stub to the nearest point of the nearest aisle. Where no aisles are drawn,
// or none joins two places, the walk is rectangular, and says so.
//
// # Decisions, with their reasons
//
//   - A machine that no aisle names joins at the nearest point of the nearest aisle;
//     where no way leads, the distance is rectangular and says so.
package ground

// Point is a point of the plan.
type Point struct{ X, Y float64 } // metres

// Basis says what a walk was measured along.
type Basis string

// The bases of a walk.
const (
	Aisles      Basis = "aisles"      // along the aisles
	Rectangular Basis = "rectangular" // |dx| + |dy|: no aisles are drawn, or none joins the two
)
