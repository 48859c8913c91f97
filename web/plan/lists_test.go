package plan_test

import (
	"bytes"
	"crypto/rand"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/lists"
	"tallywalk/traveler/story"
	"tallywalk/web/webtest"
)

// seen is what the tests read of what a list comes to.
type seen struct {
	New, Changed, Same, Faults int
	Taken                      bool
	Unknown                    []string
	Lines                      []struct {
		Key, What string
		Changes   []string
	}
	Refused []struct {
		Line                  int
		Column, Value, Reason string
	}
}

// list sends a list and gives the status and what it comes to.
func list(r *webtest.Rig, kind, text string, query url.Values) (int, seen) {
	r.T.Helper()
	req, err := http.NewRequest("POST", r.Base+"/api/v1/lists/"+kind+"?"+query.Encode(),
		bytes.NewReader([]byte(text)))
	if err != nil {
		r.T.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/octet-stream")
	status, raw := r.Send(req, []byte(text))
	var v seen
	if status == http.StatusOK {
		if err := json.Unmarshal(raw, &v); err != nil {
			r.T.Fatalf("%v: %s", err, raw)
		}
	}
	return status, v
}

var take = url.Values{"take": {"1"}}

const routeHead = "part;route_rev;operation;work_centre;setup_min;cycle_min\n"

// What a list comes to is said before anything is kept; what can't be right is refused
// with its line, column, value and reason.
func TestListsAreLookedAtFirst(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{}).As(traveler.RolePlanner)
	text := routeHead + "NEW;A;10;TURN;20;2,5\nNEW;A;20;MILL;5;1\n"
	if _, v := list(r, "routes", text, nil); v.New != 1 || v.Changed+v.Same+v.Faults != 0 || v.Taken {
		t.Errorf("looked at: %+v", v)
	}
	if _, v := list(r, "routes", text, nil); v.New != 1 {
		t.Errorf("nothing was kept: %+v", v)
	}
	if _, v := list(r, "routes", text, take); !v.Taken {
		t.Errorf("taken: %+v", v)
	}
	if _, v := list(r, "routes", text, nil); v.Same != 1 || v.New != 0 {
		t.Errorf("as it was: %+v", v)
	}
	_, v := list(r, "routes", strings.Replace(text, "20;2,5", "20;3", 1), nil)
	if v.Changed != 1 || len(v.Lines) != 1 || len(v.Lines[0].Changes) != 1 ||
		v.Lines[0].Changes[0] != "10 cycle_min: 2.5 > 3" {
		t.Errorf("changed: %+v", v)
	}
	_, v = list(r, "routes", routeHead+"1001-04;1;10;TURN;40;9\nNEW;B;x;TURN;1;1\n", take)
	if v.Faults != 1 || v.Refused[0].Line != 3 || v.Refused[0].Column != "operation" ||
		v.Refused[0].Value != "x" || v.Taken {
		t.Errorf("refused: %+v", v)
	}
	_, v = list(r, "routes", routeHead+"1001-04;1;10;TURN;40;9\n", take)
	if v.Faults != 1 || v.Refused[0].Line != 2 ||
		!strings.Contains(v.Refused[0].Reason, "in use and never changes") || v.Taken {
		t.Errorf("a used revision: %+v", v)
	}
}

// A list that leaves a drawing of a part out takes it out of force, and says so first.
func TestDrawingsOutOfForceAreSaid(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{}).As(traveler.RolePlanner)
	head := "part,drawing_rev,route_rev,operation,work_centre,setup_min,cycle_min\n"
	_, v := list(r, "routes", head+"1001-04,C,2,10,TURN,20,2\n", nil)
	if len(v.Lines) != 1 || fmt.Sprint(v.Lines[0].Changes) != "[drawing in force: B > C]" {
		t.Errorf("%+v", v)
	}
	if _, v = list(r, "routes", head+"1001-04,B,2,10,TURN,20,2\n", nil); len(v.Lines) != 1 ||
		len(v.Lines[0].Changes) != 0 {
		t.Errorf("%+v", v)
	}
}

// Headers of a shop's own are matched once and remembered.
func TestHeadersAreRemembered(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{}).As(traveler.RolePlanner)
	text := "Kind of;Reason;Says;Nobody needs it\nstop;chuck;Chuck worn;7\n"
	_, v := list(r, "reasons", text, nil)
	if fmt.Sprint(v.Unknown) != "[Kind of Says Nobody needs it]" || v.Faults == 0 {
		t.Fatalf("%+v", v)
	}
	match := url.Values{"headers": {`{"Kind of":"kind","Says":"text","Nobody needs it":""}`}}
	if _, v = list(r, "reasons", text, match); v.Faults != 0 || v.New != 1 || len(v.Unknown) != 0 {
		t.Fatalf("matched: %+v", v)
	}
	match.Set("take", "1")
	list(r, "reasons", text, match)
	if _, v = list(r, "reasons", strings.Replace(text, "chuck;", "jaws;", 1), nil); v.Faults != 0 ||
		v.New != 1 {
		t.Errorf("remembered: %+v", v)
	}
}

// Who may import what: people are for an administrator, since a badge lends a role.
func TestWhoMayImport(t *testing.T) {
	t.Parallel()
	var calls atomic.Int64
	clock := func() time.Time { // no two things happen at once
		return time.Date(2026, 11, 25, 8, 0, int(calls.Add(1)), 0, time.UTC)
	}
	r := webtest.New(t, webtest.Options{Now: clock})
	lists := map[string]string{
		"machines":  "machine,name,work_centre,x_m,y_m\nT9,Nine,TURN,1,2\n",
		"calendars": "calendar,days,from,to\nday,mon-fri,06:00,14:00\n",
		"people":    "person,name,role\n77,N. New,administrator\n",
		"batches":   "part,route_rev,pieces,works_order,hot\n1001-04,1,10,W-700,yes\n",
	}
	for role, may := range map[traveler.Role]string{
		traveler.RoleOperator: "", traveler.RoleSupervisor: "batches",
		traveler.RolePlanner:       "machines calendars batches",
		traveler.RoleAdministrator: "machines calendars batches people",
	} {
		for kind, text := range lists {
			want := http.StatusForbidden
			if strings.Contains(may, kind) {
				want = http.StatusOK
			}
			if status, _ := list(r.As(role), kind, text, nil); status != want {
				t.Errorf("%s, %s: %d, want %d", role, kind, status, want)
			}
		}
	}
	admin := r.As(traveler.RoleAdministrator)
	for kind, text := range lists {
		if _, v := list(admin, kind, text, take); v.New != 1 || !v.Taken {
			t.Errorf("%s: %+v", kind, v)
		}
		if _, v := list(admin, kind, text, nil); v.Same != 1 || v.New+v.Changed != 0 {
			t.Errorf("%s again: %+v", kind, v)
		}
	}
	_, v := list(admin, "batches", "part,route_rev,pieces,works_order,hot\n1001-04,1,12,W-700,no\n", take)
	if v.Changed != 1 || len(v.Lines[0].Changes) != 3 {
		t.Errorf("a works order again: %+v", v)
	}
	again := "part,route_rev,pieces,works_order\n1001-04,1,15,W-700\n"
	if status, v := list(r.As(traveler.RolePlanner), "batches", again, take); status != http.StatusOK ||
		v.Changed != 1 {
		t.Errorf("%d %+v", status, v)
	}
	var b struct {
		Started int
		Hot     bool
	}
	admin.Do("GET", "/api/v1/batches/W-700", nil, &b)
	if b.Started != 15 || b.Hot {
		t.Errorf("what the planner's list says: %+v", b)
	}
}

// A list as it stands can be downloaded, and is no change when it comes back.
func TestListsComeBack(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{}).As(traveler.RoleAdministrator)
	r.Import("calendars", "calendar,days,from,to\nday,mon-fri,06:00,14:00\n")
	for _, kind := range []string{"machines", "calendars", "reasons", "people", "routes"} {
		for _, format := range []string{"csv", "xlsx"} {
			req, err := http.NewRequest("GET",
				r.Base+"/api/v1/lists/"+kind+"/template?filled=1&part=1001-04&format="+format, nil)
			if err != nil {
				t.Fatal(err)
			}
			status, file := r.Send(req, nil)
			_, v := list(r, kind, string(file), nil)
			if status != http.StatusOK || v.Faults+v.New+v.Changed != 0 || v.Same == 0 {
				t.Errorf("%s %s: %d, %+v", kind, format, status, v)
			}
		}
	}
}

// Ten thousand routes of six operations are looked at within the body that is taken.
func TestManyRoutesAreLookedAt(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{}).As(traveler.RolePlanner)
	if _, v := list(r, "routes", manyRoutes(10_000), nil); v.New != 10_000 || len(v.Lines) != 300 {
		t.Errorf("%d new, %d lines", v.New, len(v.Lines))
	}
}

func manyRoutes(n int) string {
	var b strings.Builder
	b.WriteString("part,part_name,drawing_rev,material,route_rev,operation,work_centre,instruction,setup_min,cycle_min\n")
	for i := range n {
		for op := 10; op <= 60; op += 10 {
			fmt.Fprintf(&b, "P-%05d,Sleeve,B,16MnCr5,1,%d,TURN,Turn side A and bore,40,3.2\n", i, op)
		}
	}
	return b.String()
}

func BenchmarkLookAtManyRoutes(b *testing.B) {
	r := webtest.New(b, webtest.Options{}).As(traveler.RolePlanner)
	text := manyRoutes(10_000)
	for b.Loop() {
		list(r, "routes", text, nil)
	}
}

// A change that is refused leaves what was kept beside it, and that is said: the batches
// that were released, and the changes that were taken.
func TestWhatIsKeptBesideARefusedChange(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{})
	by := traveler.Actor{Name: "Ada", Role: traveler.RolePlanner}
	room := lists.Room{Desk: r.Desk, Tables: r.Tables, Zone: time.UTC, Now: time.Now, Random: rand.Reader,
		By: by}
	change := func(card string) story.Said {
		return story.Said{By: by, Scan: traveler.Scan{
			ID: traveler.ScanID(webtest.NewID()), At: time.Now(), Station: traveler.Office, Card: card,
			Action: traveler.ActOverride,
			For:    story.OverrideDue, To: "2027-01-08", Reason: "import",
		}}
	}
	fresh := []traveler.Release{
		{ID: traveler.ScanID(webtest.NewID()), Part: "1001-04", RouteRev: "1", Pieces: 5,
			WorksOrder: "W-800"}}
	super := r.As(traveler.RoleSupervisor)
	kept := super.Card("W-503")
	err := room.TakeBatches(t.Context(), "w.csv", fresh, nil, []story.Said{change("W-999"), change(kept)})
	if err == nil ||
		!strings.Contains(err.Error(),
			"1 batches were released and 1 changes kept; 1 changes were refused, the first of batch W-999") {
		t.Errorf("%v", err)
	}
	if super.Card("W-800") == "" {
		t.Error("the new batch is not there")
	}
	var b struct{ Due string }
	if super.Do("GET", "/api/v1/batches/"+kept, nil, &b); b.Due != "2027-01-08" {
		t.Errorf("%+v", b)
	}
}
