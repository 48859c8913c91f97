package floor_test

import (
	"net/http"
	"sync/atomic"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/web/webtest"
)

// What a silent station could still change is provisional: at the machine where the
// batch is, after five minutes, until it is heard of again or removed. The span is
// ours; no source outside.
func TestProvisionalWhileAStationIsSilent(t *testing.T) {
	t.Parallel()
	var passed atomic.Int64
	start := time.Now()
	r := webtest.New(t,
		webtest.Options{Now: func() time.Time { return start.Add(time.Duration(passed.Load())) }})
	admin := r.As(traveler.RoleAdministrator)
	tablet, _ := r.Tablet(admin, "Tablet")
	silent := func(card string) (out []struct{ Machine, Station string }) {
		t.Helper()
		var b struct {
			Provisional []struct{ Machine, Station string }
		}
		if got := admin.Do("GET", "/api/v1/batches/"+card, nil, &b); got != http.StatusOK {
			t.Fatalf("the batch: %d", got)
		}
		return b.Provisional
	}
	asks := func() {
		t.Helper()
		if got := tablet.Do("GET", "/api/v1/station/T1", nil, nil); got != http.StatusOK {
			t.Fatalf("the station asks: %d", got)
		}
	}
	asks()
	tablet.Scan(webtest.Said{"station": "T1", "card": "W-501", "action": "setup"})
	passed.Add(int64(4 * time.Minute))
	if got := silent("W-501"); len(got) != 0 {
		t.Errorf("after four minutes: %+v", got)
	}
	passed.Add(int64(2 * time.Minute))
	if got := silent("W-501"); len(got) != 1 || got[0].Machine != "T1" || got[0].Station != "Tablet" {
		t.Errorf("after six minutes: %+v", got)
	}
	if got := silent("W-502"); len(got) != 0 {
		t.Errorf("a batch that is at no machine: %+v", got)
	}
	asks()
	if got := silent("W-501"); len(got) != 0 {
		t.Errorf("heard of again: %+v", got)
	}
}
