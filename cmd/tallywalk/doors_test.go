package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
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

// refused is the detail of the refusal that a request must get.
func (r *rig) refused(method, path string, body any, status int) string {
	r.t.Helper()
	var p struct{ Detail string }
	if got := r.do(method, path, body, &p); got != status {
		r.t.Errorf("%s %s %v: %d, want %d: %s", method, path, body, got, status, p.Detail)
	}
	return p.Detail
}

// addresses are those of a file of the web room: method, address and what one
// must be allowed to do.
func addresses(t *testing.T, file string, line *regexp.Regexp) [][]string {
	t.Helper()
	raw, err := os.ReadFile("../../web/" + file)
	if err != nil {
		t.Fatal(err)
	}
	found := line.FindAllStringSubmatch(string(raw), -1)
	if len(found) < 10 {
		t.Fatalf("%d addresses in %s", len(found), file)
	}
	return found
}

// The cookie of a wall screen opens the boards, what they are drawn with, and
// what is open to strangers; all else is shut, whatever is added to the tables.
func TestScreenSeesBoardsOnly(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{}).as(traveler.RoleSupervisor)
	wall := r.visitor()
	wall.token = ""
	if got := wall.do("GET", r.screen(map[string]any{"name": "Hall"}), nil, nil); got != 302 {
		t.Fatalf("the link: %d", got)
	}
	open := map[string]int{
		"/waits": 200, "/ground": 200, "/pace": 200, "/live": 426, "/static/0/web/lib/wall.js": 307, "/api/v1/me": 200, "/api/v1/clock": 200, "/api/v1/shop": 200,
		"/api/v1/waits": 200, "/api/v1/ground": 200, "/api/v1/pace": 200, "/api/v1/ground/plan": 200, "/api/v1/ground/pictures/:ref": 404,
	}
	for path, want := range open {
		if got := wall.do("GET", strings.Replace(path, ":ref", "x", 1), nil, nil); got != want {
			t.Errorf("%s: %d, want %d", path, got, want)
		}
	}
	known := strings.NewReplacer(":code", "W-501", ":machine", "T1", ":ref", "11", ":kind", "plates.pdf", ":what", "visits", ":id", "x", ":name", "x")
	for _, f := range addresses(t, "routes.go", regexp.MustCompile(`\{"([A-Z]+)", "([^"]+)", (""|traveler\.\w+),`)) {
		if _, ok := open[f[2]]; ok && f[1] == "GET" || f[3] == `""` {
			continue
		}
		if got := wall.do(f[1], known.Replace(f[2]), nil, nil); got != 403 {
			t.Errorf("%s %s: %d", f[1], f[2], got)
		}
	}
	for _, f := range addresses(t, "pages.go", regexp.MustCompile(`\{"(/[^"]*)", (""|traveler\.\w+), desk\(`)) {
		if _, ok := open[f[1]]; ok || f[2] == `""` {
			continue
		}
		if got := wall.do("GET", known.Replace(f[1]), nil, nil); got != 403 {
			t.Errorf("the page %s: %d", f[1], got)
		}
	}
}

// Scans tell who did what: they are not for everybody who may look.
func TestScansAreExportedForFew(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{})
	for role, want := range map[traveler.Role]int{
		traveler.RoleOperator: 403, traveler.RoleInspector: 403, traveler.RoleSupervisor: 200, traveler.RolePlanner: 200, traveler.RoleAdministrator: 200,
	} {
		x := r.as(role)
		if got := x.do("GET", "/api/v1/export/scans", nil, nil); got != want {
			t.Errorf("scans for %s: %d, want %d", role, got, want)
		}
		for _, what := range []string{"batches", "visits"} {
			if got := x.do("GET", "/api/v1/export/"+what, nil, nil); got != 200 {
				t.Errorf("%s for %s: %d", what, role, got)
			}
		}
	}
}

// odd are numbers that people and programs send and nobody thought of.
var odd = []float64{0, 1, 0.5, 0.001, 1e-308, 5e-324, -1, 2, 1e5, 1e6, 1e9, 1e12, 1e300, 1.7e308}

func someOdd(rng *rand.Rand) float64 { return odd[rng.IntN(len(odd))] }

func oddThree(rng *rand.Rand) map[string]any {
	x := someOdd(rng)
	return map[string]any{"low": x, "likely": x, "high": x}
}

// oddRoute is a route of the part of tinyYields with something assumed.
func oddRoute(rng *rand.Rand) map[string]any {
	r := map[string]any{"route_rev": "1", "one_off": someOdd(rng)}
	var list []any
	for op := 10; op <= 150; op += 10 {
		if rng.IntN(2) == 0 {
			x := someOdd(rng)
			list = append(list, map[string]any{"operation": op, "what": []string{"setup", "piece", "yield", "wait", "rate"}[rng.IntN(5)], "low": x, "likely": x, "high": x})
		}
		if rng.IntN(3) > 0 {
			list = nil // most routes have few, so that some are taken
		}
	}
	if list != nil {
		r["overrides"] = list
	}
	if rng.IntN(3) == 0 {
		r["combine"] = map[string]any{"operations": []int{10, 20, 30}, "work_centre": "TURN", "rate_per_hour": someOdd(rng), "piece": oddThree(rng), "yield": oddThree(rng), "faster": oddThree(rng)}
	}
	return r
}

// tinyYields imports a part of fifteen operations with a planned yield each.
func (r *rig) tinyYields(yield string) {
	r.t.Helper()
	var b strings.Builder
	b.WriteString("part,route_rev,operation,work_centre,setup_min,cycle_min,yield\n")
	for op := 10; op <= 150; op += 10 {
		fmt.Fprintf(&b, "9999-01,1,%d,TURN,30,2,%s\n", op, yield)
	}
	r.cli("import", "routes", r.written("routes.csv", b.String()))
}

// Whatever is assumed, a comparison and a machine case answer figures or say
// what is wrong; no figure without an end becomes a fault of the server.
func TestAssumptionsWithoutEnd(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	r.tinyYields("0." + strings.Repeat("0", 19) + "1")
	ask := func(overrides ...any) map[string]any {
		return map[string]any{"part": "1001-04", "size": 10, "routes": []any{map[string]any{"route_rev": "1"}, map[string]any{"route_rev": "1", "overrides": overrides}}}
	}
	for yield, want := range map[float64]int{1e-308: 400, 0.0009: 400, 0.001: 200, 1: 200, 1.0001: 400} {
		if got := r.do("POST", "/api/v1/compare", ask(map[string]any{"operation": 10, "what": "yield", "likely": yield}), nil); got != want {
			t.Errorf("a yield of %g: %d, want %d", yield, got, want)
		}
	}
	// 10^-300 of the pieces come out good: what is divided by that is null.
	plain := map[string]any{"route_rev": "1"}
	var v struct {
		Against []struct {
			Centres []struct {
				First *float64 `json:"first_h"`
			}
		}
	}
	if got := r.do("POST", "/api/v1/compare", map[string]any{"part": "9999-01", "size": 1, "demand": 1e9, "routes": []any{plain, plain}}, &v); got != 200 || len(v.Against) != 1 || len(v.Against[0].Centres) != 1 || v.Against[0].Centres[0].First != nil {
		t.Errorf("a route that makes next to nothing: %d, %+v", got, v)
	}
	var k struct {
		Cases []struct{ Batches, Load *float64 }
	}
	nothing := map[string]any{
		"machine": map[string]any{"work_centre": "TURN", "open_h_week": 40, "weeks": 46},
		"members": []any{map[string]any{"part": "9999-01", "demand": 1e9, "size": 1, "now": plain, "then": plain}},
	}
	if got := r.do("POST", "/api/v1/machine-case", nothing, &k); got != 200 || len(k.Cases) != 3 || k.Cases[0].Batches != nil || k.Cases[0].Load != nil {
		t.Errorf("a machine for a route that makes next to nothing: %d, %+v", got, k)
	}
	rng, seen := rand.New(rand.NewPCG(7, 11)), map[int]int{}
	costs := map[string]any{"currency": "EUR", "labour_per_h": 1e9, "manned": 1, "per_piece": 1e9, "per_trip": 1e9}
	for range 25 {
		body := map[string]any{"part": "9999-01", "size": []int{1, 100_000}[rng.IntN(2)], "good": 10, "demand": []float64{0, 1, 1e9}[rng.IntN(3)], "costs": costs, "routes": []any{map[string]any{"route_rev": "1"}, oddRoute(rng)}}
		status := r.do("POST", "/api/v1/compare", body, nil)
		seen[status]++
		if status != 200 && status != 400 {
			t.Errorf("compare: %d for %v", status, body)
		}
		body = map[string]any{
			"machine": map[string]any{"work_centre": "TURN", "price": someOdd(rng), "open_h_week": []float64{1e-300, 40, 1e12}[rng.IntN(3)], "weeks": 46},
			"members": []any{map[string]any{"part": "9999-01", "demand": 1e9, "size": 1, "now": oddRoute(rng), "then": map[string]any{"route_rev": "1"}}},
			"costs":   costs, "worth": map[string]any{"replaced": 1, "hour": 1e12, "labour": 1},
		}
		status = r.do("POST", "/api/v1/machine-case", body, nil)
		seen[1000+status]++
		if status != 200 && status != 400 {
			t.Errorf("machine case: %d for %v", status, body)
		}
	}
	if seen[200] < 3 || seen[400] < 3 || seen[1200] < 3 || seen[1400] < 3 {
		t.Errorf("too few of a kind: %v", seen)
	}
	if got := r.do("GET", "/api/v1/changes?part=9999-01&before=1&after=2&smallest=NaN", nil, nil); got != 400 {
		t.Errorf("a smallest change that is no number: %d", got)
	}
}

// A machine keeps a calendar that there is, and costs what a machine can cost.
func TestMachineTakesWhatThereIs(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	if say := r.refused("POST", "/api/v1/machines", map[string]any{"machine": "T1", "calendar": "day"}, 400); !strings.Contains(say, "no calendars yet") {
		t.Error(say)
	}
	r.cli("import", "calendars", "../../testdata/example/calendars.csv")
	if say := r.refused("POST", "/api/v1/machines", map[string]any{"machine": "T1", "calendar": "two-shfit"}, 400); !strings.Contains(say, "two-shfit") || !strings.Contains(say, "two-shift") {
		t.Error(say)
	}
	for _, body := range []map[string]any{{"calendar": "two-shift"}, {"calendar": ""}, {"rate_per_hour": 1e9}, {"rate_per_hour": 0}} {
		body["machine"] = "T1"
		if got := r.do("POST", "/api/v1/machines", body, nil); got != 200 {
			t.Errorf("%v: %d", body, got)
		}
	}
	for _, rate := range []float64{-1, 1e9 + 1, 1e300} {
		r.refused("POST", "/api/v1/machines", map[string]any{"machine": "T1", "rate_per_hour": rate}, 400)
	}
}

// A calendar has a name to be seen, and a zone of the IANA list
// (https://www.iana.org/time-zones): not one of the files beside it.
func TestCalendarNamesAndZones(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	body := func(name, zone string, dry bool) map[string]any {
		return map[string]any{"calendar": name, "zone": zone, "dry": dry, "turns": []any{map[string]any{"kind": "shift", "days": "mon", "from": "06:00", "to": "14:00"}}}
	}
	for _, name := range []string{"", "   ", "\t"} {
		r.refused("POST", "/api/v1/calendars", body(name, "UTC", false), 400)
	}
	for zone, fine := range map[string]bool{
		"UTC": true, "Europe/Berlin": true, "America/Argentina/Ushuaia": true, "Etc/UTC": true,
		"posixrules": false, "localtime": false, "Local": false, "CET": false, "Berlin": false, "Europe": false, "Europe/": false, "Europe//Berlin": false,
		"Europe/../Europe/Berlin": false, "right/Europe/Berlin": false, "posix/Europe/Berlin": false, "/etc/passwd": false,
	} {
		want := 400
		if fine {
			want = 200
		}
		if got := r.do("POST", "/api/v1/calendars", body("by "+strings.ReplaceAll(zone, "/", " "), zone, false), nil); got != want {
			t.Errorf("%s: %d, want %d", zone, got, want)
		}
		var dry struct{ Fault *struct{ Field string } }
		if r.do("POST", "/api/v1/calendars", body("x", zone, true), &dry); fine != (dry.Fault == nil) || !fine && dry.Fault != nil && dry.Fault.Field != "zone" {
			t.Errorf("%s, dry: %+v", zone, dry.Fault)
		}
		list := r.written("c.csv", "calendar,days,from,to,zone\nlisted,mon,06:00,14:00,"+zone+"\n")
		if fine {
			r.cli("import", "calendars", list)
		} else if say := r.turnedDown("import", "calendars", list); !strings.Contains(say, "c.csv:2: zone") {
			t.Errorf("%s by a list: %s", zone, say)
		}
	}
	if say := r.turnedDown("import", "calendars", r.written("c.csv", "calendar,days,from,to,zone\n  ,mon,06:00,14:00,UTC\n")); !strings.Contains(say, "must be given") {
		t.Error(say)
	}
}

// What is done at a desk goes by the name of the office: no machine may.
func TestOfficeIsNoMachine(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	for _, name := range []string{"office", "Office"} {
		if say := r.turnedDown("import", "machines", r.written("m.csv", "machine,name,work_centre,x_m,y_m\n"+name+",Desk,TURN,0,0\n")); !strings.Contains(say, "m.csv:2: machine") || !strings.Contains(say, "another name") {
			t.Error(say)
		}
	}
	mapping := r.written("log.map", "batch = Order\noperation = Step\nmachine = Place\nstart = From\nend = To\ngood = OK\nzone = UTC\n")
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

// A number in an address that is none is refused, not taken for the usual one.
func TestNumbersInAddresses(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	for _, path := range []string{"load?weeks=", "batches?limit=", "compare?part=1001-04&size=", "pace/operation?part=1001-04&route_rev=1&operation=", "check?most="} {
		for _, v := range []string{"99999999999999999999", "x", "1.5", "1e3", "-", "0x10"} {
			r.refused("GET", "/api/v1/"+path+url.QueryEscape(v), nil, 400)
		}
	}
	for path, want := range map[string]int{"load?weeks=4": 200, "load?weeks=": 200, "load?weeks=53": 400, "batches?limit=-5": 200, "check?most=0": 400} {
		if got := r.do("GET", "/api/v1/"+path, nil, nil); got != want {
			t.Errorf("%s: %d, want %d", path, got, want)
		}
	}
}

// Nobody is called as the importer is: what they did would count as imported.
func TestImporterIsNobodyElse(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{}).as(traveler.RoleAdministrator)
	for _, name := range []string{"import", "Import", "IMPORT"} {
		r.refused("POST", "/api/v1/accounts", map[string]any{"name": name, "password": "long enough for this", "role": "administrator"}, 400)
		if say := r.refused("POST", "/api/v1/enrol-codes", map[string]any{"name": " " + name}, 400); !strings.Contains(say, traveler.Importer) {
			t.Error(say)
		}
		r.turnedDown("token", "--role", "administrator", "--name", name)
	}
	if got := r.do("POST", "/api/v1/enrol-codes", map[string]any{"name": "Importer's desk"}, nil); got != 201 {
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
	b.open("/ground?wall=1&m=8&in=43").waitFor("wall-place")
	count := `document.querySelectorAll('[data-test="%s"]').length`
	b.until(fmt.Sprintf(count, "wall-place") + " < 60")
	if got := b.value(fmt.Sprintf(count, "wall-others")); got != "0" {
		t.Errorf("of places where nothing is: %s", b.value(`document.querySelector('[data-test="wall-others"]').textContent`))
	}
	r.cli("import", "batches", r.written("batches.csv", batches))
	var scans []said
	for i := range 60 {
		scans = append(scans, said{"station": fmt.Sprintf("PLACE%02d", i), "card": fmt.Sprintf("W-%02d", i), "action": "run"}, said{"station": fmt.Sprintf("PLACE%02d", i), "card": fmt.Sprintf("W-%02d", i), "action": "finish", "good": 10})
	}
	r.scan(scans...)
	b.waitFor("wall-others").until(fmt.Sprintf(count, `wall-place"][data-waits="1`)+" > 0").untilSays("wall-others", "other places")
}
