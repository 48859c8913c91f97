package floor_test

import (
	"testing"

	"tallywalk/traveler"
	"tallywalk/web/webtest"
)

// A batch says who rejected its first-off, when and why, and what was measured.
func TestRejectionIsSaid(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{}).As(traveler.RoleSupervisor)
	card := r.Card("W-501")
	size := []any{map[string]any{"reason": "size", "n": 1}}
	bore := map[string]any{"dimension": "bore", "nominal": 20, "lower": 0, "upper": 0.021, "found": 20.03}
	for _, s := range []webtest.Said{
		{"station": "T1", "card": card, "action": "setup"},
		{"station": "T1", "card": card, "action": "firstoff"},
		{"station": "T1", "card": card, "action": "firstoff", "operator": "31", "scrap": size,
			"measured": []any{bore}},
		{"station": "T1", "card": card, "action": "run", "anyway": true, "reason": "told"},
	} {
		if a := r.Scan(s)[0]; a.Outcome != "kept" {
			t.Fatalf("%v: %+v", s, a)
		}
	}
	var b struct {
		Visits []struct {
			Rejected *struct {
				By, Who, Kind, Reason string
				Overruled             bool
			}
			Measured []struct {
				Dimension string
				Beyond    float64
				By, Who   string
			}
		}
	}
	r.Do("GET", "/api/v1/batches/"+card, nil, &b)
	v := b.Visits[0]
	if n := v.Rejected; n == nil || n.By != "31" || n.Who != "I. Inspector" || n.Kind != "scrap" ||
		n.Reason != "size" || !n.Overruled {
		t.Errorf("%+v", n)
	}
	if len(v.Measured) != 1 || v.Measured[0].Dimension != "bore" || v.Measured[0].Beyond != 0.009 ||
		v.Measured[0].Who != "I. Inspector" {
		t.Errorf("%+v", v.Measured)
	}
	var traced struct {
		Batches []struct{ Measured []struct{ Beyond float64 } }
	}
	r.Do("GET", "/api/v1/trace?q="+card, nil, &traced)
	if len(traced.Batches) != 1 || len(traced.Batches[0].Measured) != 1 ||
		traced.Batches[0].Measured[0].Beyond != 0.009 {
		t.Errorf("%+v", traced)
	}
	bore["lower"] = 1
	wrong := map[string]any{"scans": []any{webtest.Said{
		"id": webtest.NewID(), "at": "2026-11-25T09:00:00Z", "station": "T1", "card": card, "action": "count",
		"good":     1,
		"measured": []any{bore},
	}}}
	r.Refused("POST", "/api/v1/scans", wrong, 400)
}
