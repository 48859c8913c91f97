package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"tallywalk/traveler"
)

// written writes a file for an import and gives its name.
func (r *rig) written(name, text string) string {
	r.t.Helper()
	path := filepath.Join(r.t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		r.t.Fatal(err)
	}
	return path
}

// turnedDown runs a command that must fail, and gives what it said.
func (r *rig) turnedDown(args ...string) string {
	r.t.Helper()
	var out, errOut strings.Builder
	h := r.host
	h.ctx, h.out, h.err = context.Background(), &out, &errOut
	if code := run(append(args, "--data", r.dir), h); code == 0 {
		r.t.Errorf("tallywalk %v was done: %s", args, out.String())
	}
	return errOut.String()
}

// A calendar has a name to be seen, and a zone of the IANA list
// (https://www.iana.org/time-zones): not one of the files beside it.
func TestCalendarNamesAndZones(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	body := func(name, zone string, dry bool) map[string]any {
		return map[string]any{"calendar": name, "zone": zone, "dry": dry,
			"turns": []any{map[string]any{"kind": "shift", "days": "mon", "from": "06:00", "to": "14:00"}}}
	}
	for _, name := range []string{"", "   ", "\t"} {
		r.refused("POST", "/api/v1/calendars", body(name, "UTC", false), 400)
	}
	for zone, fine := range map[string]bool{
		"UTC": true, "Europe/Berlin": true, "America/Argentina/Ushuaia": true, "Etc/UTC": true,
		"posixrules": false, "localtime": false, "Local": false, "CET": false, "Berlin": false,
		"Europe": false, "Europe/": false, "Europe//Berlin": false,
		"Europe/../Europe/Berlin": false, "right/Europe/Berlin": false, "posix/Europe/Berlin": false,
		"/etc/passwd": false,
	} {
		want := 400
		if fine {
			want = 200
		}
		if got := r.do("POST", "/api/v1/calendars",
			body("by "+strings.ReplaceAll(zone, "/", " "), zone, false), nil); got != want {
			t.Errorf("%s: %d, want %d", zone, got, want)
		}
		var dry struct{ Fault *struct{ Field string } }
		if r.do("POST", "/api/v1/calendars", body("x", zone, true), &dry); fine != (dry.Fault == nil) ||
			!fine && dry.Fault != nil && dry.Fault.Field != "zone" {
			t.Errorf("%s, dry: %+v", zone, dry.Fault)
		}
		list := r.written("c.csv", "calendar,days,from,to,zone\nlisted,mon,06:00,14:00,"+zone+"\n")
		if fine {
			r.cli("import", "calendars", list)
		} else if say := r.turnedDown("import", "calendars", list); !strings.Contains(say, "c.csv:2: zone") {
			t.Errorf("%s by a list: %s", zone, say)
		}
	}
	if say := r.turnedDown("import", "calendars",
		r.written("c.csv", "calendar,days,from,to,zone\n  ,mon,06:00,14:00,UTC\n")); !strings.Contains(say,
		"must be given") {
		t.Error(say)
	}
}

// What is done at a desk goes by the name of the office: no machine may.
func TestOfficeIsNoMachine(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	for _, name := range []string{"office", "Office"} {
		if say := r.turnedDown("import", "machines",
			r.written("m.csv",
				"machine,name,work_centre,x_m,y_m\n"+name+",Desk,TURN,0,0\n")); !strings.Contains(say,
			"m.csv:2: machine") || !strings.Contains(say, "another name") {
			t.Error(say)
		}
	}
	mapping := r.written("log.map",
		"batch = Order\noperation = Step\nmachine = Place\nstart = From\nend = To\ngood = OK\nzone = UTC\n")
	r.cli("import", "scans", "--mapping", mapping, r.written("log.csv", "Order,Step,Place,From,To,OK\n"+
		"A,turn,office,2026-01-05 07:00,2026-01-05 08:00,5\nB,turn,OFFICE,2026-01-06 07:00,2026-01-06 08:00,5\nC,Office,,2026-01-07 07:00,2026-01-07 08:00,5\n"))
	var shop struct{ Machines []struct{ Machine string } }
	r.do("GET", "/api/v1/shop", nil, &shop)
	there := map[string]bool{}
	for _, m := range shop.Machines {
		there[m.Machine] = true
		if strings.EqualFold(m.Machine, traveler.Office) {
			t.Errorf("there is a machine %q", m.Machine)
		}
	}
	if !there["machine office"] || !there["machine OFFICE"] || !there["machine Office"] {
		t.Errorf("the log's machines are not there: %v", there)
	}
}

// Nobody is called as the importer is: what they did would count as imported.
func TestImporterIsNobodyElse(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{}).as(traveler.RoleAdministrator)
	for _, name := range []string{"import", "Import", "IMPORT"} {
		r.refused("POST", "/api/v1/accounts",
			map[string]any{"name": name, "password": "long enough for this", "role": "administrator"}, 400)
		if say := r.refused("POST", "/api/v1/enrol-codes", map[string]any{"name": " " + name},
			400); !strings.Contains(say, traveler.Importer) {
			t.Error(say)
		}
		r.turnedDown("token", "--role", "administrator", "--name", name)
	}
	if got := r.do("POST", "/api/v1/enrol-codes", map[string]any{"name": "Importer's desk"},
		nil); got != 201 {
		t.Errorf("another name: %d", got)
	}
}

// A ground wall says of the places it has no room for only what someone should
// know: nothing, while nothing waits there.
func TestGroundWallIsQuietOfQuietPlaces(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true, noShop: true})
	machines, routes, batches := "machine,name,work_centre,x_m,y_m\n", "part,route_rev,operation,work_centre,setup_min,cycle_min\n", "part,route_rev,pieces,works_order\n"
	for i := range 60 {
		machines += fmt.Sprintf("PLACE%02d,Place %d,C%02d,%d,%d\n", i, i, i, i%8, i/8)
		routes += fmt.Sprintf("P%02d,1,10,C%02d,5,1\nP%02d,1,20,C%02d,5,1\n", i, i, i, (i+1)%60)
		batches += fmt.Sprintf("P%02d,1,10,W-%02d\n", i, i)
	}
	r.cli("import", "machines", r.written("machines.csv", machines))
	r.cli("import", "routes", r.written("routes.csv", routes))
	b := browse(t, r)
	b.do(chromedp.EmulateViewport(1920, 1080))
	b.open("/ground?wall=1&m=5&in=43").waitFor("wall-place")
	count := `document.querySelectorAll('[data-test="%s"]').length`
	b.until(fmt.Sprintf(count, "wall-place") + " < 60")
	if got := b.value(fmt.Sprintf(count, "wall-others")); got != "0" {
		t.Errorf("of places where nothing is: %s",
			b.value(`document.querySelector('[data-test="wall-others"]').textContent`))
	}
	r.cli("import", "batches", r.written("batches.csv", batches))
	var scans []said
	for i := range 60 {
		scans = append(scans,
			said{"station": fmt.Sprintf("PLACE%02d", i), "card": fmt.Sprintf("W-%02d", i), "action": "run"},
			said{"station": fmt.Sprintf("PLACE%02d", i), "card": fmt.Sprintf("W-%02d", i), "action": "finish",
				"good": 10})
	}
	r.scan(scans...)
	b.waitFor("wall-others").until(fmt.Sprintf(count, `wall-place"][data-waits="1`)+" > 0").untilSays(
		"wall-others", "other places")
}
