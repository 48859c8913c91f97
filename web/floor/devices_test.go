package floor_test

import (
	"math"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/web/webtest"
)

// The count of a device bounds the times of its scans, so nobody counts for a
// station but the station: not a program, not an account, not the open demo. A
// tablet that was alone for an hour keeps its run.
func TestNobodySpeaksForAStation(t *testing.T) {
	t.Parallel()
	for _, open := range []bool{false, true} {
		r := webtest.New(t, webtest.Options{Open: open})
		admin, now := r.As(traveler.RoleAdministrator), time.Now().UTC().Truncate(time.Second)
		ago := func(minutes int) string {
			return now.Add(-time.Duration(minutes) * time.Minute).Format(time.RFC3339)
		}
		tablet, device := r.Tablet(admin, "Tablet")
		other := admin
		if open {
			other = r // whoever comes by
		}
		late := func(n, minutes int, action string, more webtest.Said) webtest.Said {
			s := webtest.Said{
				"station": "T1", "card": "W-502", "action": action, "at": ago(minutes), "n": n,
				"device":  device,
				"present": false,
			}
			for k, v := range more {
				s[k] = v
			}
			return s
		}
		for i, s := range []webtest.Said{
			late(0, 0, "setup", webtest.Said{"n": 1, "card": "W-501", "present": true}),
			late(0, 0, "stop",
				webtest.Said{"n": 2, "card": "W-501", "present": false, "offset_ms": 3_600_000}),
		} {
			if a := other.Scan(s)[0]; a.Status != 0 {
				t.Errorf("open %v: scan %d: %+v", open, i, a)
			}
		}
		a := tablet.Scan(
			late(3, 58, "run", webtest.Said{"anyway": true}), late(4, 8, "finish", webtest.Said{"good": 120}),
		)
		if last := a[len(a)-1]; last.Now == nil || len(last.Now.Visits) != 1 || math.Abs(
			last.Now.Visits[0].RunS-50*60,
		) > 1 {
			t.Errorf("open %v: fifty minutes of run became %+v", open, last.Now)
		}
		devices := map[string]bool{}
		var story struct {
			Lines []struct{ Scan struct{ Device string } }
		}
		for _, order := range []string{"W-501", "W-502"} {
			admin.Do("GET", "/api/v1/batches/"+order+"/story", nil, &story)
			for _, l := range story.Lines {
				devices[order+" "+l.Scan.Device] = true
			}
		}
		name := "token token%20administrator"
		if open {
			name = "open demo"
		}
		if len(devices) != 2 || !devices["W-501 "+name+"/"+device] || !devices["W-502 "+device] {
			t.Errorf("open %v: kept with the devices %v", open, devices)
		}
	}
}

// A station's device is its own, whatever it sends, and a program's scan sent
// again is known again.
func TestDevicesAreOnesOwn(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{})
	admin := r.As(traveler.RoleAdministrator)
	tablet, device := r.Tablet(admin, "Tablet")
	_, foreign := r.Tablet(admin, "Another")
	tablet.Scan(webtest.Said{"station": "T1", "card": "W-501", "action": "setup", "device": foreign, "n": 7})
	program := webtest.Said{
		"id": webtest.NewID(), "at": time.Now().UTC().Format(time.RFC3339Nano), "station": "T1",
		"card":   "W-501",
		"action": "run", "device": "cell 3", "n": 1, "anyway": true,
	}
	for i := range 2 {
		if a := admin.Scan(program)[0]; a.Outcome != "kept" || a.Again != (i == 1) {
			t.Errorf("time %d: %+v", i, a)
		}
	}
	var story struct {
		Lines []struct {
			Scan struct {
				Device string
				N      int
			}
		}
	}
	admin.Do("GET", "/api/v1/batches/W-501/story", nil, &story)
	if len(story.Lines) != 2 || story.Lines[0].Scan.Device != device || story.Lines[0].Scan.N != 7 ||
		story.Lines[1].Scan.Device != "token token%20administrator/cell 3" || story.Lines[1].Scan.N != 1 {
		t.Errorf("%+v", story.Lines)
	}
}
