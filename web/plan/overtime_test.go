package plan_test

import (
	"testing"
	"time"

	"tallywalk/web/webtest"
)

// Overtime that someone enters afterwards: the run that was cut while the shop
// counted as closed counts again, and the question goes. Worked out by hand: the
// example's lathe is open from Monday to Friday, 6 to 22; the run goes from
// Friday 20:00 to Saturday 11:00 with nobody scanning in between.
func TestOvertimeSaidAfterwards(t *testing.T) {
	t.Parallel()
	friday := time.Date(2026, 11, 20, 19, 0, 0, 0, time.UTC)
	r := webtest.New(
		t,
		webtest.Options{Open: true,
			Now: func() time.Time { return time.Date(2026, 11, 23, 9, 0, 0, 0, time.UTC) }},
	)
	r.Import("calendars", r.Example("calendars.csv"))
	var released struct{ Card string }
	if status := r.Do(
		"POST", "/api/v1/batches",
		map[string]any{
			"id": webtest.NewID(), "part": "1002-11", "route_rev": "1", "pieces": 30, "works_order": "W-504",
			"released": "2026-11-20T07:00:00+01:00",
		},
		&released,
	); status != 201 {
		t.Fatal(status)
	}
	late := func(at time.Time, action string, more webtest.Said) webtest.Said {
		s := webtest.Said{
			"at": at.Format(time.RFC3339), "station": "T1", "card": released.Card, "action": action,
			"present": false,
		}
		for k, v := range more {
			s[k] = v
		}
		return s
	}
	r.Scan(late(friday, "run", nil), late(friday.Add(15*time.Hour), "finish", webtest.Said{"good": 30}))
	type batch struct {
		Visits []struct {
			RunS    float64 `json:"run_s"`
			ClosedS float64 `json:"closed_s"`
		}
		Questions []struct{ Kind string }
	}
	var b batch
	r.Do("GET", "/api/v1/batches/W-504", nil, &b)
	// Berlin is an hour ahead: open until 21:00 UTC, closed for 13 h, of which
	// nobody was seen in 12 and more.
	if len(b.Visits) != 1 || b.Visits[0].RunS != 2*3600 || b.Visits[0].ClosedS != 13*3600 ||
		len(b.Questions) != 1 || b.Questions[0].Kind != "closed" {
		t.Fatalf("%+v", b)
	}
	var all struct {
		Calendars []map[string]any
	}
	r.Do("GET", "/api/v1/calendars", nil, &all)
	turns := all.Calendars[0]["turns"].([]any)
	turns = append(
		turns, map[string]any{"kind": "overtime", "date": "2026-11-20", "from": "22:00", "to": "14:00"},
	)
	if status := r.Do(
		"POST", "/api/v1/calendars",
		map[string]any{"calendar": "two-shift", "zone": "Europe/Berlin", "turns": turns}, nil,
	); status != 200 {
		t.Fatal(status)
	}
	b = batch{}
	r.Do("GET", "/api/v1/batches/W-504", nil, &b)
	if b.Visits[0].RunS != 15*3600 || b.Visits[0].ClosedS != 0 || len(b.Questions) != 0 {
		t.Errorf("after the overtime was entered: %+v", b)
	}
}
