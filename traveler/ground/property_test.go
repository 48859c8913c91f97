package ground_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"tallywalk/traveler"
	"tallywalk/traveler/ground"
)

// anyFloor is a floor as bad as hands can make it: a coarse grid, so that
// things lie on one another, aisles to themselves, twice, to nowhere.
func anyFloor(t *rapid.T, lengths bool) ([]traveler.Machine, traveler.Layout) {
	grid := rapid.Map(rapid.IntRange(0, 20), func(i int) float64 { return float64(i) * 2.5 })
	var places []traveler.Machine
	var layout traveler.Layout
	names := []string{"nowhere"}
	for i := range rapid.IntRange(0, 12).Draw(t, "places") {
		names = append(names, fmt.Sprint("m", i))
		places = append(places, at(names[len(names)-1], grid.Draw(t, "x"), grid.Draw(t, "y")))
	}
	for i := range rapid.IntRange(0, 8).Draw(t, "corners") {
		names = append(names, fmt.Sprint("c", i))
		layout.Corners = append(layout.Corners,
			traveler.Corner{ID: names[len(names)-1], X: grid.Draw(t, "x"), Y: grid.Draw(t, "y")})
	}
	name := rapid.SampledFrom(names)
	for range rapid.IntRange(0, 16).Draw(t, "aisles") {
		a := traveler.Aisle{From: name.Draw(t, "from"), To: name.Draw(t, "to")}
		if lengths {
			a.Metres = max(0, rapid.Float64Range(-20, 80).Draw(t, "metres"))
		}
		layout.Aisles = append(layout.Aisles, a)
	}
	return places, layout
}

func TestWalksAreAMetric(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		places, layout := anyFloor(t, true)
		m := ground.New(places, layout)
		for i := range places {
			for j := range places {
				a, b := places[i].ID, places[j].ID
				d, by := m.Metres(a, b)
				back, byBack := m.Metres(b, a)
				if d != back || by != byBack || !(d >= 0) || math.IsInf(d, 1) || (i == j && d != 0) {
					t.Fatalf("%s to %s: %v by %s, back %v by %s", a, b, d, by, back, byBack)
				}
				checkDetours(t, m, places, a, b)
			}
		}
	})
}

// checkDetours holds the triangle inequality wherever all three are joined;
// and being joined carries over.
func checkDetours(t *rapid.T, m *ground.Map, places []traveler.Machine, a, b traveler.MachineID) {
	d, by := m.Metres(a, b)
	for k := range places {
		first, by1 := m.Metres(a, places[k].ID)
		second, by2 := m.Metres(places[k].ID, b)
		if by1 != ground.Aisles || by2 != ground.Aisles {
			continue
		}
		if by != ground.Aisles {
			t.Fatalf("%s to %s is not joined, yet both are to %s", a, b, places[k].ID)
		}
		if d > first+second+1e-9 {
			t.Fatalf("%s to %s: %v, over %s only %v", a, b, d, places[k].ID, first+second)
		}
	}
}

// Drawn walks begin and end at the places, are the same there and back along
// aisles, and are as long as they say where no aisle says its own length.
func TestPathsAreTheWalks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		places, layout := anyFloor(t, false)
		m := ground.New(places, layout)
		for i := range places {
			for j := range places {
				if i != j {
					checkPath(t, m, places[i], places[j])
				}
			}
		}
	})
}

func checkPath(t *rapid.T, m *ground.Map, a, b traveler.Machine) {
	d, by := m.Metres(a.ID, b.ID)
	path := m.Path(a.ID, b.ID)
	if len(path) < 2 || path[0] != (ground.Point{X: a.X, Y: a.Y}) ||
		path[len(path)-1] != (ground.Point{X: b.X, Y: b.Y}) {
		t.Fatalf("%s to %s: drawn %v", a.ID, b.ID, path)
	}
	if math.Abs(length(path)-d) > 1e-9 {
		t.Fatalf("%s to %s: %v m by %s, but drawn %v m: %v", a.ID, b.ID, d, by, length(path), path)
	}
	back := m.Path(b.ID, a.ID)
	for k := range path {
		if by == ground.Aisles && (len(back) != len(path) || back[len(back)-1-k] != path[k]) {
			t.Fatalf("%s to %s: drawn %v, back %v", a.ID, b.ID, path, back)
		}
	}
}

// The straight line is the shortest there is: no walk beats it while aisles
// keep their straight lengths.
func TestNoWalkBeatsTheStraightLine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		places, layout := anyFloor(t, false)
		m := ground.New(places, layout)
		for i := range places {
			for j := range places {
				d, _ := m.Metres(places[i].ID, places[j].ID)
				if line := math.Hypot(places[i].X-places[j].X, places[i].Y-places[j].Y); d < line-1e-9 {
					t.Fatalf("%s to %s: %v m, straight %v", places[i].ID, places[j].ID, d, line)
				}
			}
		}
	})
}

// Splitting the nearest aisle by hand and naming the machine must give the
// same walks as leaving it to the map.
func TestStubsAreSplitAisles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		places, layout := anyFloor(t, true)
		where := rapid.Float64Range(0, 1).Draw(t, "where")
		stub := rapid.Float64Range(0, .4).Draw(t, "stub")
		// One long aisle apart from all others, so that it is the nearest.
		layout.Corners = append(layout.Corners, traveler.Corner{ID: "left", X: 0, Y: -100},
			traveler.Corner{ID: "right", X: 50, Y: -100})
		long := traveler.Aisle{From: "left", To: "right", Metres: 80}
		own := at("own", 50*where, -100-stub)
		m := ground.New(append(places, own),
			traveler.Layout{Corners: layout.Corners, Aisles: append(layout.Aisles, long)})
		split := ground.New(append(places, own), traveler.Layout{
			Corners: append(layout.Corners, traveler.Corner{ID: "joint", X: 50 * where, Y: -100}),
			Aisles: append(layout.Aisles,
				traveler.Aisle{From: "left", To: "joint", Metres: 80 * where},
				traveler.Aisle{From: "joint", To: "right", Metres: 80 * (1 - where)},
				traveler.Aisle{From: "joint", To: "own", Metres: stub}),
		})
		for i := range places {
			a, by := m.Metres("own", places[i].ID)
			b, bySplit := split.Metres("own", places[i].ID)
			if by != bySplit || math.Abs(a-b) > 1e-9 {
				t.Fatalf("own to %s: %v by %s, split by hand %v by %s", places[i].ID, a, by, b, bySplit)
			}
		}
	})
}
