package measure

import (
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tallywalk/traveler"
)

// Rates that are kept are those worked out each time, to the last digit, on
// machines that change their work centre and their rate at random moments; the
// moments of the changes themselves, and those before the first, among them.
func TestKeptRatesAreTheRates(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shop := &traveler.Shop{}
		var moments []time.Time
		for range rapid.IntRange(0, 8).Draw(t, "changes") {
			from := monday.Add(time.Duration(rapid.IntRange(0, 500).Draw(t, "from")) * time.Hour)
			moments = append(moments, from, from.Add(-time.Nanosecond), from.Add(time.Nanosecond))
			shop = shop.With(&traveler.Change{From: from, Machines: []traveler.Machine{{
				ID:         traveler.MachineID(fmt.Sprint("M", rapid.IntRange(1, 4).Draw(t, "machine"))),
				WorkCentre: traveler.WorkCentre(fmt.Sprint("C", rapid.IntRange(1, 2).Draw(t, "centre"))),
				// Tenths: sums of them differ with their order.
				RatePerHour: float64(rapid.IntRange(0, 900).Draw(t, "rate")) / 10,
			}}})
		}
		moments = append(moments, time.Time{}, monday.AddDate(0, 0, -1), monday.AddDate(1, 0, 0))
		plain, kept := ShopRates{shop}, KeepRates(shop)
		for range 2 { // once worked out, once remembered
			for _, at := range moments {
				for _, wc := range []traveler.WorkCentre{"C1", "C2", "M3", "none"} {
					if p, k := plain.Centre(wc, at), kept.Centre(wc, at); p != k {
						t.Fatalf("%s at %v costs %v, kept as %v", wc, at, p, k)
					}
				}
				for _, id := range []traveler.MachineID{"M1", "M2", "M3", "M4", "none"} {
					if p, k := plain.Machine(id, at), kept.Machine(id, at); p != k {
						t.Fatalf("%s at %v costs %v, kept as %v", id, at, p, k)
					}
				}
			}
		}
	})
}
