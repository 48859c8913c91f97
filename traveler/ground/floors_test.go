package ground_test

import (
	"sync"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/ground"
)

var (
	spring = time.Date(2026, 3, 1, 6, 0, 0, 0, time.UTC)
	summer = time.Date(2026, 6, 1, 6, 0, 0, 0, time.UTC)
	autumn = time.Date(2026, 9, 1, 6, 0, 0, 0, time.UTC)
)

// movedShop has lathe and mill from spring on, an aisle from summer on, and
// the mill moved in autumn.
func movedShop() *traveler.Shop {
	var shop *traveler.Shop
	shop = shop.With(
		&traveler.Change{From: spring, Machines: []traveler.Machine{at("lathe", 0, 0), at("mill", 10, 5)}})
	shop = shop.With(&traveler.Change{From: summer, Layout: &traveler.Layout{
		Aisles: []traveler.Aisle{{From: "lathe", To: "mill", Metres: 40}}}})
	return shop.With(
		&traveler.Change{From: autumn, Machines: []traveler.Machine{at("mill", 30, 5)},
			Layout: &traveler.Layout{}})
}

func TestOldWalksStayTrue(t *testing.T) {
	var floors ground.Floors
	shop := movedShop()
	for _, c := range []struct {
		when time.Time
		want float64
		by   ground.Basis
	}{
		{spring, 15, ground.Rectangular},
		{summer.Add(-time.Second), 15, ground.Rectangular},
		{summer, 40, ground.Aisles},
		{summer.AddDate(0, 1, 0), 40, ground.Aisles},
		{autumn, 35, ground.Rectangular},
	} {
		if got, by := floors.Metres(shop, "lathe", "mill", c.when); got != c.want || by != c.by {
			t.Errorf("on %s: %v by %s, want %v by %s", c.when.Format(time.DateOnly), got, by, c.want, c.by)
		}
	}
}

func TestFloorsKeepMaps(t *testing.T) {
	var floors ground.Floors
	shop := movedShop()
	before := floors.At(shop, summer)
	if floors.At(shop, summer.AddDate(0, 1, 0)) != before {
		t.Error("one version of the ground, two maps")
	}
	routed := shop.With(&traveler.Change{From: autumn, Routes: []traveler.Route{{Part: "P", Rev: "A"}}})
	if floors.At(routed, summer) != before {
		t.Error("a new route made the map again")
	}
	renamed := routed.With(
		&traveler.Change{From: summer.AddDate(0, 1, 0),
			Machines: []traveler.Machine{{ID: "mill", Name: "Mill", X: 10, Y: 5}}})
	if floors.At(renamed, summer.AddDate(0, 1, 1)) != before {
		t.Error("a new name made the map again")
	}
	moved := renamed.With(
		&traveler.Change{From: summer.AddDate(0, 2, 0), Machines: []traveler.Machine{at("mill", 11, 5)}})
	if floors.At(moved, summer.AddDate(0, 2, 1)) == before {
		t.Error("the mill was moved and the map is the old one")
	}
	if floors.At(moved, summer) != before {
		t.Error("the old map of an old time was lost")
	}
}

// Many ask at once, about two shops in turn; the race detector watches.
func TestFloorsAreSharedSafely(t *testing.T) {
	var floors ground.Floors
	shops := []*traveler.Shop{movedShop(), movedShop()}
	var wg sync.WaitGroup
	for i := range 8 {
		wg.Go(func() {
			for n := range 50 {
				shop := shops[(i+n/10)%2]
				if d, _ := floors.Metres(shop, "mill", "lathe", summer); d != 40 {
					t.Errorf("%v m", d)
				}
				if p := floors.At(shop, autumn).Path("mill", "lathe"); len(p) != 3 {
					t.Errorf("drawn %v", p)
				}
			}
		})
	}
	wg.Wait()
}
