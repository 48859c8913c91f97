package ground_test

import (
	"fmt"
	"testing"

	"tallywalk/traveler"
	"tallywalk/traveler/ground"
)

// bigHall has 300 places on a grid of 12 by 10 corners, 10 m apart. Half of
// the aisles say their own length. If named, an aisle leads to each place.
func bigHall(named bool) ([]traveler.Machine, traveler.Layout) {
	var places []traveler.Machine
	var layout traveler.Layout
	id := func(x, y int) string { return fmt.Sprint("c", x, "-", y) }
	aisle := func(from, to string, n int) {
		layout.Aisles = append(layout.Aisles, traveler.Aisle{From: from, To: to, Metres: float64(n%2) * 10.5})
	}
	for x := range 12 {
		for y := range 10 {
			layout.Corners = append(layout.Corners,
				traveler.Corner{ID: id(x, y), X: float64(10 * x), Y: float64(10 * y)})
			if x > 0 {
				aisle(id(x-1, y), id(x, y), x+y)
			}
			if y > 0 {
				aisle(id(x, y-1), id(x, y), x*y)
			}
		}
	}
	for i := range 300 {
		x, y := i%12, i/12%10
		places = append(places, at(fmt.Sprint("m", i), float64(10*x)+2+float64(i/120), float64(10*y)+1))
		if named {
			layout.Aisles = append(layout.Aisles, traveler.Aisle{From: fmt.Sprint("m", i), To: id(x, y)})
		}
	}
	return places, layout
}

// BenchmarkAllPairs draws a map of 300 places and asks its first question,
// which works out all pairs. The goal is below 50 ms.
func BenchmarkAllPairs(b *testing.B) {
	for name, named := range map[string]bool{"stubs": false, "named": true} {
		b.Run(name, func(b *testing.B) {
			places, layout := bigHall(named)
			b.ReportAllocs()
			for b.Loop() {
				if _, by := ground.New(places, layout).Metres("m0", "m299"); by != ground.Aisles {
					b.Fatal(by)
				}
			}
		})
	}
}

func BenchmarkFloorsMetres(b *testing.B) {
	var floors ground.Floors
	shop := movedShop()
	for b.Loop() {
		floors.Metres(shop, "lathe", "mill", summer)
	}
}

func BenchmarkPath(b *testing.B) {
	m := ground.New(bigHall(false))
	for b.Loop() {
		m.Path("m0", "m299")
	}
}
