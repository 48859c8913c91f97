package plan_test

import (
	"strings"
	"testing"

	"tallywalk/web/webtest"
)

// A machine keeps a calendar that there is, and costs what a machine can cost.
func TestMachineTakesWhatThereIs(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{Open: true})
	if say := r.Refused("POST", "/api/v1/machines", map[string]any{"machine": "T1", "calendar": "day"}, 400); !strings.Contains(say, "no calendars yet") {
		t.Error(say)
	}
	r.Import("calendars", r.Example("calendars.csv"))
	if say := r.Refused("POST", "/api/v1/machines", map[string]any{"machine": "T1", "calendar": "two-shfit"}, 400); !strings.Contains(say, "two-shfit") || !strings.Contains(say, "two-shift") {
		t.Error(say)
	}
	for _, body := range []map[string]any{{"calendar": "two-shift"}, {"calendar": ""}, {"rate_per_hour": 1e9}, {"rate_per_hour": 0}} {
		body["machine"] = "T1"
		if got := r.Do("POST", "/api/v1/machines", body, nil); got != 200 {
			t.Errorf("%v: %d", body, got)
		}
	}
	for _, rate := range []float64{-1, 1e9 + 1, 1e300} {
		r.Refused("POST", "/api/v1/machines", map[string]any{"machine": "T1", "rate_per_hour": rate}, 400)
	}
}
