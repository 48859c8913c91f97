package measure

import (
	"slices"
	"sort"
	"time"

	"tallywalk/traveler"
)

// ShopRates are the rates of a shop's machines, as they held at each moment.
type ShopRates struct{ Shop *traveler.Shop }

// Machine is what an hour of a machine costs; 0 when nobody said.
func (r ShopRates) Machine(id traveler.MachineID, at time.Time) float64 {
	m, _ := r.Shop.Machine(id, at)
	return m.RatePerHour
}

// Centre is the mean rate of a work centre's machines; 0 when none has one.
func (r ShopRates) Centre(wc traveler.WorkCentre, at time.Time) float64 {
	sum, n := 0.0, 0
	r.Shop.Working(wc, at, func(m *traveler.Machine) {
		if m.RatePerHour > 0 {
			sum += m.RatePerHour
			n++
		}
	})
	if n == 0 {
		return 0
	}
	return sum / float64(n)
}

// KeptRates are the same rates, each worked out once: between two changes of
// the machines they stay what they are. One reader uses them at a time.
type KeptRates struct {
	shop  ShopRates
	dates []time.Time // when a machine changed, in order
	times []rateTime  // after as many of the dates
	last  int         // of the times: the one that was asked for last
}

// rateTime are the rates between two dates.
type rateTime struct {
	machines map[traveler.MachineID]float64
	centres  map[traveler.WorkCentre]float64
}

// KeepRates gives the rates of a shop for many questions.
func KeepRates(shop *traveler.Shop) *KeptRates {
	k := &KeptRates{shop: ShopRates{shop}}
	for _, m := range shop.Machines(time.Time{}) {
		k.dates = append(k.dates, shop.MachineDates(m.ID)...)
	}
	slices.SortFunc(k.dates, time.Time.Compare)
	k.dates = slices.CompactFunc(k.dates, time.Time.Equal)
	k.times = make([]rateTime, len(k.dates)+1)
	return k
}

// Machine is what an hour of a machine costs; 0 when nobody said.
func (k *KeptRates) Machine(id traveler.MachineID, at time.Time) float64 {
	return kept(&k.time(at).machines, id, at, k.shop.Machine)
}

// Centre is the mean rate of a work centre's machines; 0 when none has one.
func (k *KeptRates) Centre(wc traveler.WorkCentre, at time.Time) float64 {
	return kept(&k.time(at).centres, wc, at, k.shop.Centre)
}

// time is what is known between the dates that a moment lies between.
func (k *KeptRates) time(at time.Time) *rateTime {
	if i := k.last; i > 0 && at.Before(k.dates[i-1]) || i < len(k.dates) && !at.Before(k.dates[i]) {
		k.last = sort.Search(len(k.dates), func(i int) bool { return k.dates[i].After(at) })
	}
	return &k.times[k.last]
}

func kept[K comparable](in *map[K]float64, key K, at time.Time, work func(K, time.Time) float64) float64 {
	rate, ok := (*in)[key]
	if ok {
		return rate
	}
	if *in == nil {
		*in = map[K]float64{}
	}
	rate = work(key, at)
	(*in)[key] = rate
	return rate
}
