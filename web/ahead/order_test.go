package ahead

import (
	"strings"
	"testing"
	"time"

	"tallywalk/traveler"
	core "tallywalk/traveler/ahead"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// A line by each rule, by hand. A is due first, with 30 h of work left; B is due a day
// later with 60 h left, so that it has 6 h less slack; C is short, and its part is on; D
// is hot; E is held; F has no date and has waited longest; G is hot and due, but lacks its
// fixture.
func TestOrderOfEachRule(t *testing.T) {
	t.Parallel()
	s := &Ahead{Door: &door.Door{House: &ask.House{Zone: time.UTC}}}
	at := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	line := []nextBatch{
		{Card: "F", State: "waiting", Since: at, Setup: 10, Run: 90},
		{Card: "G", State: "waiting", Due: "2026-11-19", Hot: true, NotReady: []string{"fixture"},
			Since: at.Add(5 * time.Hour)},
		{Card: "E", State: "held", Due: "2026-11-20", Since: at},
		{Card: "D", State: "rework", Due: "2026-12-24", Hot: true, Since: at.Add(time.Hour), Setup: 50,
			Run: 500},
		{Card: "C", Part: "P", State: "waiting", Due: "2026-12-05", Since: at.Add(2 * time.Hour), Setup: 10,
			Run: 20},
		{Card: "B", State: "waiting", Due: "2026-12-02", Since: at.Add(3 * time.Hour), Setup: 10, Run: 40},
		{Card: "A", State: "waiting", Due: "2026-12-01", Since: at.Add(4 * time.Hour), Setup: 10, Run: 60},
	}
	left := map[traveler.Code]time.Duration{"A": 30 * time.Hour, "B": 60 * time.Hour}
	f := &core.Forecast{}
	for card, work := range left {
		f.Batches = append(f.Batches,
			core.BatchDates{Card: card, Steps: []core.Step{{Work: work / 2}, {Work: work / 2}}})
	}
	for rule, want := range map[core.Rule]string{
		core.ByDue: "DABCFGE", core.BySlack: "DBACFGE", core.ByShortest: "DCBAFGE", core.BySetup: "DCABFGE",
		core.ByWait: "DFCBAGE",
	} {
		v := nextView{Rule: rule, On: &onMachine{Part: "P"}, Waiting: append([]nextBatch{}, line...)}
		s.inOrder(&v, f)
		var got strings.Builder
		for i, b := range v.Waiting {
			got.WriteString(string(b.Card))
			if b.Place != i+1 {
				t.Errorf("%s: %s has place %d", rule, b.Card, b.Place)
			}
		}
		if got.String() != want {
			t.Errorf("%s: %s, want %s", rule, &got, want)
		}
	}
}
