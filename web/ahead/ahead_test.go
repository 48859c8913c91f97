package ahead_test

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"tallywalk/traveler"
	core "tallywalk/traveler/ahead"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
	"tallywalk/web/webtest"
)

// now is a Wednesday at noon in the shop's zone, UTC.
var now = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

// rigOf is the example shop with what is ahead of it.
func rigOf(t *testing.T, change func(*webtest.Foreseen)) (*webtest.Rig, *webtest.Foreseen) {
	t.Helper()
	var f *webtest.Foreseen
	r := webtest.New(t, webtest.Options{Now: func() time.Time { return now },
		Ahead: func(d story.Desk) core.Source {
			f = &webtest.Foreseen{Desk: d, Now: func() time.Time { return now }, Zone: time.UTC}
			if change != nil {
				change(f)
			}
			return f
		}})
	return r.As(traveler.RolePlanner), f
}

type dated struct {
	Card, Part, Due, Late string
	P50, P85, P95         *time.Time
	OnTime                *float64   `json:"on_time"`
	Slack                 *float64   `json:"slack_s"`
	DueEnd                *time.Time `json:"due_end"`
	WaitsFor              string     `json:"waits_for"`
	Place                 int
	Operations            int `json:"operations_left"`
	Steps                 []struct{ Operation int }
}

type forecast struct {
	State, Method string
	AsOf          *time.Time `json:"as_of"`
	Late          int
	HoldsUp       string `json:"holds_up"`
	Batches       []dated
	Centres       []struct {
		WorkCentre string `json:"work_centre"`
		Full       string
		Delay      float64 `json:"delay_s"`
		Weeks      []struct {
			Week                 string
			Hours, Open, Carried float64
		}
	}
}

func askAhead(t *testing.T, r *webtest.Rig, query string) (f forecast) {
	t.Helper()
	if got := r.Do("GET", "/api/v1/ahead"+query, nil, &f); got != 200 {
		t.Fatalf("ahead%s: %d", query, got)
	}
	return f
}

// A batch of the example shop with n operations left is foreseen n days from now, by
// 85 % half as many more; what is due before is late. Weeks begin on Mondays, and carry
// on what does not fit.
func TestDatesOfTheFloor(t *testing.T) {
	t.Parallel()
	r, _ := rigOf(t, nil)
	f := askAhead(t, r, "")
	if f.State != "ready" || f.Method != "simulated" || !f.AsOf.Equal(now) || len(f.Batches) < 3 {
		t.Fatalf("%+v", f)
	}
	late := 0
	for i, b := range f.Batches {
		if want := now.AddDate(0, 0, b.Operations); !b.P50.Equal(want) ||
			!b.P85.Equal(want.Add(time.Duration(b.Operations)*12*time.Hour)) {
			t.Errorf("%+v: want %v", b, want)
		}
		if b.Due == "" {
			if b.Slack != nil || b.OnTime != nil || b.Late != "" || b.DueEnd != nil {
				t.Errorf("without a date: %+v", b)
			}
			continue
		}
		// The end of the due day is the next midnight: what history calls on time.
		if end, err := time.Parse(time.DateOnly, b.Due); err != nil || !b.DueEnd.Equal(end.AddDate(0, 0, 1)) {
			t.Errorf("due %s ends %v", b.Due, b.DueEnd)
		}
		if want := b.DueEnd.Sub(*b.P50).Seconds(); *b.Slack != want {
			t.Errorf("slack %v, want %v", *b.Slack, want)
		}
		if b.P50.After(*b.DueEnd) {
			late++
		}
		if i > 0 && f.Batches[i-1].Slack != nil && *f.Batches[i-1].Slack > *b.Slack {
			t.Errorf("%s stands after one with more slack", b.Card)
		}
	}
	if late != f.Late {
		t.Errorf("%d late, counted %d", f.Late, late)
	}
	for _, k := range f.Centres {
		for _, w := range k.Weeks {
			if d, err := time.Parse(time.DateOnly, w.Week); err != nil || d.Weekday() != time.Monday {
				t.Errorf("%s: week %s", k.WorkCentre, w.Week)
			}
		}
	}
	one := askAhead(t, r, "?card=W-501")
	if len(one.Batches) != 1 || len(one.Batches[0].Steps) != one.Batches[0].Operations {
		t.Errorf("one batch: %+v", one.Batches)
	}
	r.Refused("GET", "/api/v1/ahead?card=W-none", nil, 404)
}

// Without a source, before the first forecast and without history nothing is invented,
// and it is said which of them it is.
func TestNoDates(t *testing.T) {
	t.Parallel()
	off := webtest.New(t, webtest.Options{Open: true})
	for _, c := range []struct {
		rig   *webtest.Rig
		state string
	}{
		{off, "off"},
		{first(rigOf(t, func(f *webtest.Foreseen) { f.Nothing = true })), "working"},
		{first(rigOf(t, func(f *webtest.Foreseen) { f.Method = core.TooFew })), "ready"},
	} {
		f := askAhead(t, c.rig, "")
		if f.State != c.state || f.Method != "too-few" {
			t.Errorf("%s: %s %s", c.state, f.State, f.Method)
		}
		for _, b := range f.Batches {
			if b.P50 != nil || b.OnTime != nil || b.Slack != nil {
				t.Errorf("%+v", b)
			}
		}
		var hits struct {
			N     int
			Share *float64 `json:"p50_share"`
		}
		if c.rig.Do("GET", "/api/v1/ahead/hits", nil, &hits); hits.N != 0 || hits.Share != nil {
			t.Errorf("%+v", hits)
		}
		var next struct{ Waiting []struct{ Card string } }
		if c.rig.Do("GET", "/api/v1/next?machine=T1", nil, &next); len(next.Waiting) == 0 {
			t.Errorf("%s: the line is there without a forecast too", c.state)
		}
		var load struct{ Batches []any }
		if c.rig.Do("GET", "/api/v1/load", nil, &load); len(load.Batches) == 0 {
			t.Errorf("%s: no batches in the load", c.state)
		}
	}
	body := map[string]any{"lines": []any{map[string]any{"part": "1001-04", "pieces": 5}}}
	off.Refused("POST", "/api/v1/promise", body, 404)
}

func first(r *webtest.Rig, _ *webtest.Foreseen) *webtest.Rig { return r }

// The load that other programs ask for says what the forecast says.
func TestLoadIsTheForecast(t *testing.T) {
	t.Parallel()
	r, _ := rigOf(t, nil)
	f := askAhead(t, r, "")
	var load struct {
		Batches []struct {
			Card, Due, Late  string
			Likely, Cautious time.Time
			Steps            int
		}
		Weeks []struct {
			WorkCentre string `json:"work_centre"`
			Week       string
			Load       float64 `json:"load_s"`
			Open       float64 `json:"open_s"`
		}
	}
	r.Do("GET", "/api/v1/load?weeks=2", nil, &load)
	if len(load.Batches) != len(f.Batches) || len(load.Weeks) != 2*len(f.Centres) {
		t.Fatalf("%d batches and %d weeks", len(load.Batches), len(load.Weeks))
	}
	for i, b := range load.Batches {
		if w := f.Batches[i]; b.Card != w.Card || b.Due != w.Due || !b.Likely.Equal(*w.P50) ||
			!b.Cautious.Equal(*w.P85) || b.Steps != w.Operations {
			t.Errorf("%+v, want %+v", b, w)
		}
	}
	for i, w := range load.Weeks {
		if k := f.Centres[i/2]; w.WorkCentre != k.WorkCentre || w.Load != 3600*k.Weeks[i%2].Hours ||
			w.Open != 3600*k.Weeks[i%2].Open {
			t.Errorf("%+v", w)
		}
	}
}

type whatCame struct {
	Before, After struct{ Late int }
	Moved         []struct {
		Card, Turns   string
		Later         float64 `json:"later_s"`
		Before, After struct {
			P50  *time.Time
			Late bool
		}
	}
	New   []dated
	Lines []dated
	All   struct{ P50, P85, P95 *time.Time }
	From  *time.Time
}

// A batch that goes first comes a day earlier, the others at its work centre six hours
// later; nothing else moves, and nothing on the floor changes.
func TestWhatIfFirst(t *testing.T) {
	t.Parallel()
	r, f := rigOf(t, nil)
	was := askAhead(t, r, "")
	before, _ := r.Desk.Head()
	var v whatCame
	if got := r.Do("POST", "/api/v1/what-if", map[string]any{"first": []string{"W-501"}}, &v); got != 200 {
		t.Fatal(got)
	}
	card := r.Card("W-501")
	if s := f.Scenarios(); len(s) != 1 || !slices.Equal(s[0].First, []traveler.Code{traveler.Code(card)}) {
		t.Fatalf("%+v", s)
	}
	if len(v.Moved) == 0 {
		t.Fatal("nothing moves")
	}
	for _, m := range v.Moved {
		if want := map[bool]float64{true: -86400, false: 6 * 3600}[m.Card == card]; m.Later != want {
			t.Errorf("%s moves by %v s, want %v", m.Card, m.Later, want)
		}
		if turns := map[[2]bool]string{{false, true}: "late", {true, false}: "on_time"}[[2]bool{m.Before.Late,
			m.After.Late}]; m.Turns != turns {
			t.Errorf("%s: %q, want %q", m.Card, m.Turns, turns)
		}
	}
	if v.Before.Late != was.Late {
		t.Errorf("%d late before, %d said", v.Before.Late, was.Late)
	}
	if after, _ := r.Desk.Head(); after != before {
		t.Error("a question changed the record")
	}
}

// What is asked is read as it is meant, and what makes no sense is refused by its line.
func TestWhatIfIsChecked(t *testing.T) {
	t.Parallel()
	r, f := rigOf(t, nil)
	at := func(h int) string { return now.Add(time.Duration(h) * time.Hour).Format(time.RFC3339) }
	stretch := func(machine string, a, b int) []any {
		return []any{map[string]any{"machine": machine, "from": at(a), "to": at(b)}}
	}
	split := func(n int) []any { return []any{map[string]any{"card": "W-501", "pieces": n}} }
	for field, body := range map[string]map[string]any{
		"Name at least":       {},
		"overtime[0].machine": {"overtime": stretch("XX", 1, 2)},
		"overtime[0].to":      {"overtime": stretch("T1", 2, 2)},
		"down[0].to":          {"down": stretch("T1", -5, -1)},
		"at most one year":    {"overtime": stretch("T1", 1, 400*24)}, // no calendar is worked out so far
		"rule cannot":         {"rule": "loudest"},
		"split[0].pieces":     {"split": split(100000)},
		"route[0].route_rev":  {"route": []any{map[string]any{"card": "W-501", "route_rev": "99"}}},
		"add[0].part":         {"add": []any{map[string]any{"part": "none", "pieces": 1}}},
		"at most 50":          {"first": slices.Repeat([]string{"W-501"}, 51)},
	} {
		if says := r.Refused("POST", "/api/v1/what-if", body, 400); !strings.Contains(says, field) {
			t.Errorf("%v: %s, want %s", body, says, field)
		}
	}
	r.Refused("POST", "/api/v1/what-if", map[string]any{"first": []string{"W-none"}}, 404)
	if len(f.Scenarios()) != 0 {
		t.Error("what was refused was worked out")
	}
	body := map[string]any{
		"rule": "slack", "overtime": stretch("T1", 1, 5), "down": stretch("T1", 24, 48), "split": split(3),
		"route": []any{map[string]any{"card": "W-501", "route_rev": "1"}},
	}
	if got := r.Do("POST", "/api/v1/what-if", body, nil); got != 200 {
		t.Fatal(got)
	}
	s := f.Scenarios()[0]
	if s.Rule != core.BySlack || s.Open[0].To != now.Add(5*time.Hour) || s.Shut[0].Machine != "T1" ||
		s.Split[0].Pieces != 3 || s.Route[0].Rev != "1" {
		t.Errorf("%+v", s)
	}
}

// A promise of two lines: dates of each in their order, of all together, and what it does
// to the batches that wait for the same machines.
func TestPromise(t *testing.T) {
	t.Parallel()
	r, f := rigOf(t, nil)
	var v whatCame
	body := map[string]any{"from": "2026-12-01", "lines": []any{
		map[string]any{"part": "1001-04", "pieces": 5, "due": "2026-12-10"},
		map[string]any{"part": "1002-11", "pieces": 7},
	}}
	if got := r.Do("POST", "/api/v1/promise", body, &v); got != 200 {
		t.Fatal(got)
	}
	s := f.Scenarios()[0].Add
	if len(s) != 2 || s[0].Pieces != 5 || !s[0].From.Equal(time.Date(2026, 12, 1, 0, 0, 0, 0, time.UTC)) ||
		!s[0].Due.Equal(time.Date(2026, 12, 11, 0, 0, 0, 0, time.UTC)) || !s[1].Due.IsZero() {
		t.Fatalf("%+v", s)
	}
	if len(v.Lines) != 2 || v.Lines[0].Part != "1001-04" || v.Lines[1].Part != "1002-11" ||
		v.Lines[1].OnTime != nil || v.Lines[0].OnTime == nil {
		t.Fatalf("%+v", v.Lines)
	}
	late := v.Lines[0].P85
	if v.Lines[1].P85.After(*late) {
		late = v.Lines[1].P85
	}
	if !v.All.P85.Equal(*late) || len(v.Moved) == 0 {
		t.Errorf("all by %v, want %v; %d moved", v.All.P85, late, len(v.Moved))
	}
	for field, lines := range map[string][]any{
		"lines is":      {},
		"lines[0].part": {map[string]any{"part": "none", "pieces": 5}},
		"lines[1].pieces": {map[string]any{"part": "1001-04", "pieces": 5},
			map[string]any{"part": "1001-04", "pieces": 0}},
		"lines[0].due":            {map[string]any{"part": "1001-04", "pieces": 5, "due": "soon"}},
		"lines[0].due has passed": {map[string]any{"part": "1001-04", "pieces": 5, "due": "2026-01-02"}},
		"priority": {
			map[string]any{"part": "1001-04", "pieces": 5, "priority": traveler.MaxPriority + 1}},
	} {
		if says := r.Refused("POST", "/api/v1/promise", map[string]any{"lines": lines},
			400); !strings.Contains(says, field) {
			t.Errorf("%s: %s", field, says)
		}
	}
}

// One scenario is worked out at a time: others wait for their turn, and when too many
// do, the next is asked to come again. Nobody who leaves keeps the turn.
func TestScenariosTakeTurns(t *testing.T) {
	t.Parallel()
	waits := make(chan struct{})
	r, f := rigOf(t, func(f *webtest.Foreseen) { f.Waits = waits })
	body := map[string]any{"first": []string{"W-501"}}
	got := make(chan int)
	ask := func() { got <- r.Do("POST", "/api/v1/what-if", body, nil) }
	for range 5 {
		go ask()
	}
	var p struct {
		Busy  bool
		Share float64
	}
	for !p.Busy || p.Share != 0.5 {
		r.Do("GET", "/api/v1/what-if", nil, &p)
	}
	// Of five at least one is at work, at most four wait; a sixth and a seventh find out.
	go ask()
	go ask()
	if first := <-got; first != 503 {
		t.Errorf("the one too many: %d", first)
	}
	close(waits)
	count := map[int]int{503: 1}
	for range 6 {
		count[<-got]++
	}
	if count[200] < 1 || count[200]+count[503] != 7 {
		t.Errorf("%v", count)
	}
	if n := len(f.Scenarios()); n != count[200] {
		t.Errorf("%d worked out, %d answered", n, count[200])
	}
	if r.Do("GET", "/api/v1/what-if", nil, &p); p.Busy {
		t.Error("nothing is worked out any more")
	}
}

// Whoever is turned away learns when to come again; what the forecast refuses is refused.
func TestScenariosThatFail(t *testing.T) {
	t.Parallel()
	r, f := rigOf(t, nil)
	for _, c := range []struct {
		fails  error
		status int
		again  string
	}{
		{traveler.Fail(traveler.KindBusy, "ahead.busy"), 503, "3"},
		{traveler.Invalid("route", "ahead.route", "1001-04", "2"), 400, ""},
	} {
		f.Fails = c.fails
		req, err := http.NewRequestWithContext(t.Context(), http.MethodPost, r.Base+"/api/v1/what-if",
			strings.NewReader(`{"rule":"slack"}`))
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Content-Type", "application/json")
		req.Header.Set("Authorization", "Bearer "+r.Token)
		resp, err := http.DefaultClient.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		_ = resp.Body.Close()
		if resp.StatusCode != c.status || resp.Header.Get("Retry-After") != c.again {
			t.Errorf("%v: %d, again %q", c.fails, resp.StatusCode, resp.Header.Get("Retry-After"))
		}
	}
	f.Fails, f.Method = nil, core.TooFew
	r.Refused("POST", "/api/v1/what-if", map[string]any{"rule": "slack"}, 409)
	f.Nothing = true
	r.Refused("POST", "/api/v1/what-if", map[string]any{"rule": "slack"}, 503)
}

// The line before a machine stands in the shop's order; what follows from taking another
// first is there at a later look.
func TestWhatToRunNext(t *testing.T) {
	t.Parallel()
	r, _ := rigOf(t, nil)
	var v struct {
		Machine, Rule, State, Say string
		Waiting                   []struct {
			Place      int
			Card, Say  string
			WorksOrder string  `json:"works_order"`
			Setup      float64 `json:"setup_s"`
			First      *struct {
				LateAfter int `json:"late_after"`
			}
		}
	}
	look := func() {
		if got := r.Do("GET", "/api/v1/next?machine=T1", nil, &v); got != 200 {
			t.Fatal(got)
		}
	}
	look()
	if len(v.Waiting) < 2 || v.Rule != "due" || !strings.Contains(v.Say, v.Waiting[0].WorksOrder) {
		t.Fatalf("%+v", v)
	}
	for v.Waiting[1].First == nil {
		look()
	}
	for i, b := range v.Waiting {
		if b.Place != i+1 || (b.First == nil) != (i == 0 || i > 4) {
			t.Errorf("%+v", b)
		}
	}
	if v.Waiting[1].Say == "" || strings.Contains(v.Waiting[1].Say, "{") {
		t.Errorf("%q", v.Waiting[1].Say)
	}
	r.Refused("GET", "/api/v1/next?machine=XX", nil, 404)
}

// A planner chooses the rule; an operator may not; a rule that there is not is refused.
func TestTheShopsRule(t *testing.T) {
	t.Parallel()
	r, f := rigOf(t, func(f *webtest.Foreseen) {
		f.Tried = []core.RuleResult{{Rule: core.BySlack, Late: 0.1, Batches: 40}}
	})
	if f.Forecast() == nil || ask.ShopRule(r.Tables) != core.ByDue {
		t.Error("the usual rule is the due date")
	}
	var v struct {
		Rule    string
		Rules   []string
		Results []struct {
			Rule string
			Late float64 `json:"late_share"`
		}
	}
	if got := r.Do("POST", "/api/v1/ahead/rules", map[string]any{"rule": "slack"}, &v); got != 200 ||
		v.Rule != "slack" {
		t.Errorf("%d %+v", got, v)
	}
	if len(v.Rules) != len(core.AllRules) || len(v.Results) != 1 || v.Results[0].Late != 0.1 ||
		ask.ShopRule(r.Tables) != core.BySlack {
		t.Errorf("%+v", v)
	}
	r.Refused("POST", "/api/v1/ahead/rules", map[string]any{"rule": "loudest"}, 400)
	r.As(traveler.RoleOperator).Refused("POST", "/api/v1/ahead/rules", map[string]any{"rule": "due"}, 403)
	r.As(traveler.RoleSupervisor).Refused("POST", "/api/v1/ahead/rules", map[string]any{"rule": "due"}, 403)
}

// How past forecasts came out is answered of deliveries, and of last operations beside.
func TestHits(t *testing.T) {
	t.Parallel()
	r, _ := rigOf(t, func(f *webtest.Foreseen) {
		f.Past = &core.Hits{
			Days: 90, Cancelled: 2, Open: 7, Shock: now,
			Delivered: core.HitShare{N: 500, P50: 0.51, P85: 0.86, MedianWidth: 36 * time.Hour,
				ByHorizon: []core.HorizonHits{
					{FromDays: 0, ToDays: 2, N: 20, P50: 0.5, P85: 0.9}, {FromDays: 2, N: 0},
				}},
			Done: core.HitShare{N: 480, P85: 0.8},
		}
	})
	var v struct {
		N               int
		P50             float64         `json:"p50_share"`
		P85             float64         `json:"p85_share"`
		Width           float64         `json:"median_width_s"`
		LastOperation   struct{ N int } `json:"last_operation"`
		Cancelled, Open int
		Shock           *time.Time
		ByHorizon       []struct {
			To  *float64 `json:"to_days"`
			P85 *float64 `json:"p85_share"`
		} `json:"by_horizon"`
	}
	if got := r.Do("GET", "/api/v1/ahead/hits?days=90", nil, &v); got != 200 {
		t.Fatal(got)
	}
	if v.N != 500 || v.P50 != 0.51 || v.P85 != 0.86 || v.Width != 36*3600 || v.LastOperation.N != 480 ||
		v.Cancelled != 2 || v.Open != 7 || !v.Shock.Equal(now) {
		t.Errorf("%+v", v)
	}
	if h := v.ByHorizon; len(h) != 2 || *h[0].To != 2 || *h[0].P85 != 0.9 || h[1].To != nil ||
		h[1].P85 != nil {
		t.Errorf("%+v", h)
	}
	for _, days := range []string{"0", "-1", "3651", "x"} {
		r.Refused("GET", fmt.Sprintf("/api/v1/ahead/hits?days=%s", days), nil, 400)
	}
}

// A batch that is due on the last day that a date can name does not take the page from
// all the others.
func TestDueAtTheEndOfTime(t *testing.T) {
	t.Parallel()
	r, _ := rigOf(t, nil)
	batch := map[string]any{
		"id": webtest.NewID(), "part": "1001-04", "route_rev": "1", "pieces": 5, "works_order": "W-far",
		"due": "9999-12-31",
	}
	if got := r.Do("POST", "/api/v1/batches", batch, nil); got != 201 {
		t.Fatalf("release: %d", got)
	}
	f := askAhead(t, r, "?card=W-far")
	if len(f.Batches) != 1 || f.Batches[0].Due != "9999-12-31" || f.Batches[0].Late != "" {
		t.Errorf("%+v", f.Batches)
	}
}
