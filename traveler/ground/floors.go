package ground

import (
	"sync"
	"time"

	"tallywalk/traveler"
)

// Floors keeps the map of each version of a shop's ground. The zero value is
// ready; it is safe for concurrent use. It holds on to one shop only, the one
// last asked about. Maps live on from one shop to the next as long as places
// and aisles are the same.
type Floors struct {
	mu      sync.RWMutex
	shop    *traveler.Shop
	maps    map[int]*Map // by the shop's ground version
	earlier []*Map       // of the shop before
}

// At is the map of the shop's ground as it was at t.
func (f *Floors) At(shop *traveler.Shop, t time.Time) *Map {
	version := shop.GroundVersion(t)
	f.mu.RLock()
	m := f.maps[version]
	same := f.shop == shop
	f.mu.RUnlock()
	if same && m != nil {
		return m
	}
	return f.draw(shop, version, t)
}

func (f *Floors) draw(shop *traveler.Shop, version int, t time.Time) *Map {
	p := newPlan(shop.Machines(t), shop.Layout(t))
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.shop != shop {
		f.turn(shop)
	}
	if m := f.maps[version]; m != nil {
		return m
	}
	m := f.find(p)
	if m == nil {
		m = newMap(p)
	}
	f.maps[version] = m
	return m
}

// turn begins with another shop. The maps of the one before stay until the
// next turn, for the new one to take over.
func (f *Floors) turn(shop *traveler.Shop) {
	f.earlier = f.earlier[:0:0]
	for _, m := range f.maps {
		f.earlier = append(f.earlier, m)
	}
	f.shop, f.maps = shop, map[int]*Map{}
}

// find looks for a map with the same ground.
func (f *Floors) find(p plan) *Map {
	for _, m := range f.maps {
		if m.plan.equal(p) {
			return m
		}
	}
	for _, m := range f.earlier {
		if m.plan.equal(p) {
			return m
		}
	}
	return nil
}

// Metres is the walk between two places on the ground as it was at t; see
// [Map.Metres].
func (f *Floors) Metres(shop *traveler.Shop, a, b traveler.MachineID, t time.Time) (float64, Basis) {
	return f.At(shop, t).Metres(a, b)
}
