package ahead

import (
	"testing"
	"time"

	"tallywalk/traveler/rows/rowstest"
)

// What a day's forecasts were is kept for as long as it counts, and not for ever.
func TestOldForecastsGo(t *testing.T) {
	tables := &rowstest.Tables{}
	w := NewWatch(Settings{Tables: tables, Zone: time.UTC})
	for _, at := range []time.Time{monday, monday.AddDate(0, 0, 1), monday.AddDate(0, 0, daysKept),
		monday.AddDate(0, 0, daysKept+1)} {
		if err := w.save(at, []Kept{{Card: "B1", At: at, Method: Waits}}); err != nil {
			t.Fatal(err)
		}
	}
	got, err := w.load()
	if err != nil || len(got) != 3 {
		t.Fatalf("%d kept, %v", len(got), err)
	}
	for _, k := range got {
		if !k.At.After(monday) {
			t.Errorf("%v is kept", k.At)
		}
	}
}
