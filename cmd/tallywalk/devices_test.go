package main

import (
	"math"
	"net/http"
	"testing"
	"time"

	"tallywalk/traveler"
)

// tabletOf enrols a station and gives its device.
func (r *rig) tabletOf(admin *rig, name string) (*rig, string) {
	r.t.Helper()
	var enrol struct{ Code string }
	if got := admin.do("POST", "/api/v1/enrol-codes", map[string]any{"name": name, "machine": "T1"}, &enrol); got != http.StatusCreated {
		r.t.Fatalf("enrol code: %d", got)
	}
	var st struct{ Device string }
	tablet := r.visitor()
	if got := tablet.do("POST", "/api/v1/enrol", map[string]any{"code": enrol.Code}, &st); got != http.StatusOK || st.Device == "" {
		r.t.Fatalf("enrol: %d", got)
	}
	return tablet, st.Device
}

// The count of a device bounds the times of its scans, so nobody counts for a
// station but the station: not a program, not an account, not the open demo. A
// tablet that was alone for an hour keeps its run.
func TestNobodySpeaksForAStation(t *testing.T) {
	t.Parallel()
	for _, open := range []bool{false, true} {
		r := newRig(t, rigOptions{open: open})
		admin, now := r.as(traveler.RoleAdministrator), time.Now().UTC().Truncate(time.Second)
		ago := func(minutes int) string { return now.Add(-time.Duration(minutes) * time.Minute).Format(time.RFC3339) }
		tablet, device := r.tabletOf(admin, "Tablet")
		other := admin
		if open {
			other = r // whoever comes by
		}
		late := func(n, minutes int, action string, more said) said {
			s := said{"station": "T1", "card": "W-502", "action": action, "at": ago(minutes), "n": n, "device": device, "present": false}
			for k, v := range more {
				s[k] = v
			}
			return s
		}
		for i, s := range []said{late(0, 0, "setup", said{"n": 1, "card": "W-501", "present": true}), late(0, 0, "stop", said{"n": 2, "card": "W-501", "present": false, "offset_ms": 3_600_000})} {
			if a := other.scan(s)[0]; a.Status != 0 {
				t.Errorf("open %v: scan %d: %+v", open, i, a)
			}
		}
		a := tablet.scan(late(3, 58, "run", said{"anyway": true}), late(4, 8, "finish", said{"good": 120}))
		if last := a[len(a)-1]; last.Now == nil || len(last.Now.Visits) != 1 || math.Abs(last.Now.Visits[0].RunS-50*60) > 1 {
			t.Errorf("open %v: fifty minutes of run became %+v", open, last.Now)
		}
		devices := map[string]bool{}
		var story struct {
			Lines []struct{ Scan struct{ Device string } }
		}
		for _, order := range []string{"W-501", "W-502"} {
			admin.do("GET", "/api/v1/batches/"+order+"/story", nil, &story)
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
	r := newRig(t, rigOptions{})
	admin := r.as(traveler.RoleAdministrator)
	tablet, device := r.tabletOf(admin, "Tablet")
	_, foreign := r.tabletOf(admin, "Another")
	tablet.scan(said{"station": "T1", "card": "W-501", "action": "setup", "device": foreign, "n": 7})
	program := said{"id": newID(), "at": time.Now().UTC().Format(time.RFC3339Nano), "station": "T1", "card": "W-501", "action": "run", "device": "cell 3", "n": 1, "anyway": true}
	for i := range 2 {
		if a := admin.scan(program)[0]; a.Outcome != "kept" || a.Again != (i == 1) {
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
	admin.do("GET", "/api/v1/batches/W-501/story", nil, &story)
	if len(story.Lines) != 2 || story.Lines[0].Scan.Device != device || story.Lines[0].Scan.N != 7 || story.Lines[1].Scan.Device != "token token%20administrator/cell 3" || story.Lines[1].Scan.N != 1 {
		t.Errorf("%+v", story.Lines)
	}
}
