package measure

import (
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
