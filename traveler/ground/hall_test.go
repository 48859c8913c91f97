package ground_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"tallywalk/traveler"
	"tallywalk/traveler/ground"
)

func at(id string, x, y float64) traveler.Machine {
	return traveler.Machine{ID: traveler.MachineID(id), X: x, Y: y}
}

// hall is our own, with walks that can be added up by hand:
//
//	         N (20,30)
//	         |  36 m, round a pillar
//	saw      |wash
//	W--------M-----------E     stores is 10 m beyond E
//	   lathe     mill          W-M 20 m, M-E 30 m
//
// No aisle names saw, lathe, mill and wash. Paint and oven have an aisle of
// their own, far away.
func hall() ([]traveler.Machine, traveler.Layout) {
	return []traveler.Machine{
			at("saw", 0, 4), at("lathe", 10, -3), at("mill", 30, 2), at("wash", 22, 15),
			at("stores", 50, 10), at("paint", 100, 100), at("oven", 112, 100),
		}, traveler.Layout{
			Corners: []traveler.Corner{{ID: "W"}, {ID: "M", X: 20}, {ID: "E", X: 50},
				{ID: "N", X: 20, Y: 30}},
			Aisles: []traveler.Aisle{
				{From: "W", To: "M"}, {From: "E", To: "M"}, {From: "M", To: "N", Metres: 36},
				{From: "E", To: "stores"}, {From: "paint", To: "oven"},
			},
		}
}

func TestWalksOfTheHall(t *testing.T) {
	m := ground.New(hall())
	for _, c := range []struct {
		a, b traveler.MachineID
		want float64
		by   ground.Basis
	}{
		{"saw", "lathe", 4 + 10 + 3, ground.Aisles},
		{"lathe", "mill", 3 + 10 + 10 + 2, ground.Aisles},
		{"lathe", "wash", 3 + 10 + 18 + 2, ground.Aisles}, // half of the 36 m
		{"mill", "stores", 2 + 20 + 10, ground.Aisles},
		{"saw", "stores", 4 + 20 + 30 + 10, ground.Aisles},
		{"wash", "stores", 2 + 18 + 30 + 10, ground.Aisles},
		{"paint", "oven", 12, ground.Aisles},
		{"saw", "paint", 100 + 96, ground.Rectangular},
		{"saw", "saw", 0, ground.Aisles},
		{"saw", "nowhere", 0, ""},
	} {
		got, by := m.Metres(c.a, c.b)
		if math.Abs(got-c.want) > 1e-9 || by != c.by {
			t.Errorf("%s to %s: %v m by %q, want %v by %q", c.a, c.b, got, by, c.want, c.by)
		}
	}
}

func TestPathsOfTheHall(t *testing.T) {
	m := ground.New(hall())
	for _, c := range []struct {
		a, b traveler.MachineID
		want []ground.Point
	}{
		{"saw", "lathe", []ground.Point{{X: 0, Y: 4}, {X: 0, Y: 0}, {X: 10, Y: 0}, {X: 10, Y: -3}}},
		{"lathe", "saw", []ground.Point{{X: 10, Y: -3}, {X: 10, Y: 0}, {X: 0, Y: 0}, {X: 0, Y: 4}}},
		{"lathe", "wash",
			[]ground.Point{{X: 10, Y: -3}, {X: 10, Y: 0}, {X: 20, Y: 0}, {X: 20, Y: 15}, {X: 22, Y: 15}}},
		{"wash", "stores",
			[]ground.Point{{X: 22, Y: 15}, {X: 20, Y: 15}, {X: 20, Y: 0}, {X: 50, Y: 0}, {X: 50, Y: 10}}},
		{"saw", "paint", []ground.Point{{X: 0, Y: 4}, {X: 100, Y: 4}, {X: 100, Y: 100}}},
		{"paint", "saw", []ground.Point{{X: 100, Y: 100}, {X: 0, Y: 100}, {X: 0, Y: 4}}},
		{"paint", "oven", []ground.Point{{X: 100, Y: 100}, {X: 112, Y: 100}}},
		{"saw", "saw", nil},
		{"saw", "nowhere", nil},
	} {
		if got := m.Path(c.a, c.b); !slices.Equal(got, c.want) {
			t.Errorf("%s to %s: %v, want %v", c.a, c.b, got, c.want)
		}
	}
}

func TestIslandsAndLooseNames(t *testing.T) {
	places, layout := hall()
	m := ground.New(places, layout)
	if got := fmt.Sprint(m.Islands()); got != "[[paint oven]]" {
		t.Errorf("islands %s", got)
	}
	if got := m.Loose(); len(got) != 0 {
		t.Errorf("loose names %v", got)
	}
	layout.Aisles = append(layout.Aisles, traveler.Aisle{From: "oven", To: "N"},
		traveler.Aisle{From: "X", To: "W"}, traveler.Aisle{From: "B", To: "X"})
	m = ground.New(places, layout)
	if got := m.Islands(); len(got) != 0 {
		t.Errorf("islands %v after joining them", got)
	}
	if got := m.Loose(); !slices.Equal(got, []string{"B", "X"}) {
		t.Errorf("loose names %v", got)
	}
}

func TestNoAislesDrawn(t *testing.T) {
	places, _ := hall()
	m := ground.New(places, traveler.Layout{})
	if d, by := m.Metres("lathe", "mill"); d != 25 || by != ground.Rectangular {
		t.Errorf("%v by %s", d, by)
	}
	if got := m.Islands(); got != nil {
		t.Errorf("islands %v where no aisles are drawn", got)
	}
	if d, by := ground.New(nil, traveler.Layout{}).Metres("a", "b"); d != 0 || by != "" {
		t.Errorf("an empty shop: %v by %q", d, by)
	}
}

// What a hand or an import can leave behind must not break the rest.
func TestAislesThatGoWrong(t *testing.T) {
	places, layout := hall()
	layout.Corners = append(layout.Corners, traveler.Corner{ID: "M2", X: 20},
		traveler.Corner{ID: "nan", X: math.NaN()})
	layout.Aisles = append(layout.Aisles,
		traveler.Aisle{From: "M", To: "W", Metres: 500},        // again, longer
		traveler.Aisle{From: "M", To: "M2"},                    // no length
		traveler.Aisle{From: "M2", To: "W", Metres: 20},        // a way round of no length
		traveler.Aisle{From: "saw", To: "saw"},                 // to itself: does not name the saw
		traveler.Aisle{From: "E", To: "W", Metres: -5},         // less than nothing: the straight line
		traveler.Aisle{From: "nan", To: "W"},                   // from nowhere
		traveler.Aisle{From: "N", To: "E", Metres: math.NaN()}) // the straight line
	m := ground.New(places, layout)
	for _, c := range []struct {
		a, b traveler.MachineID
		want float64
	}{{"saw", "lathe", 17}, {"saw", "stores", 64}, {"lathe", "mill", 25}} {
		if got, by := m.Metres(c.a, c.b); math.Abs(got-c.want) > 1e-9 || by != ground.Aisles {
			t.Errorf("%s to %s: %v m by %s, want %v", c.a, c.b, got, by, c.want)
		}
		if path := m.Path(c.a, c.b); math.Abs(length(path)-c.want) > 1e-9 {
			t.Errorf("%s to %s: drawn %v", c.a, c.b, path)
		}
	}
	if got := m.Loose(); !slices.Equal(got, []string{"nan"}) {
		t.Errorf("loose names %v", got)
	}
}

func TestPlacesOnOneSpot(t *testing.T) {
	m := ground.New([]traveler.Machine{at("a", 1, 1), at("b", 1, 1), at("b", 5, 1), at("c", 5, 1)},
		traveler.Layout{})
	if d, _ := m.Metres("a", "b"); d != 4 {
		t.Errorf("of two places with one name the last holds: %v m", d)
	}
	if got := m.Path("b", "c"); !slices.Equal(got, []ground.Point{{X: 5, Y: 1}, {X: 5, Y: 1}}) {
		t.Errorf("drawn %v", got)
	}
}

func length(path []ground.Point) (d float64) {
	for i := 1; i < len(path); i++ {
		d += math.Hypot(path[i].X-path[i-1].X, path[i].Y-path[i-1].Y)
	}
	return d
}

func ExampleMap_Metres() {
	m := ground.New(
		[]traveler.Machine{{ID: "L1", X: 2, Y: 3}, {ID: "M2", X: 14, Y: 8}},
		traveler.Layout{
			Corners: []traveler.Corner{{ID: "A"}, {ID: "B", X: 14}},
			Aisles:  []traveler.Aisle{{From: "A", To: "B"}, {From: "B", To: "M2"}},
		})
	metres, by := m.Metres("L1", "M2")
	fmt.Println(metres, "m along the", by)
	fmt.Println(m.Path("L1", "M2"))
	// Output:
	// 23 m along the aisles
	// [{2 3} {2 0} {14 0} {14 8}]
}
