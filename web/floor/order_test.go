package floor_test

import (
	"net/http"
	"strings"
	"testing"

	"tallywalk/traveler"
	"tallywalk/web/webtest"
)

// orderedBatch is what the tests read of a batch.
type orderedBatch struct {
	Card    string
	Due     string
	Wanted  int
	Short   int
	Hot     bool
	MakesUp string   `json:"makes_up"`
	MadeUp  []string `json:"made_up"`
	Changes []struct{ What, From, To, Reason, By string }
}

func order(r *webtest.Rig, ref string) (b orderedBatch) {
	r.T.Helper()
	if status := r.Do("GET", "/api/v1/batches/"+ref, nil, &b); status != http.StatusOK {
		r.T.Fatalf("batch %s: %d", ref, status)
	}
	return b
}

// A planner changes what the order says, with a reason; an inspector may not.
func TestOrderIsChanged(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{})
	planner, inspector := r.As(traveler.RolePlanner), r.As(traveler.RoleInspector)
	card := planner.Card("W-503")
	hot := func() webtest.Said {
		return webtest.Said{
			"station": "office", "card": card, "action": "override", "for": "hot", "pieces": 1,
			"reason": "customer rang",
		}
	}
	if a := inspector.Scan(hot())[0]; a.Outcome != "refused" ||
		!strings.HasSuffix(a.Say, "Let a supervisor or a planner do it.") {
		t.Errorf("an inspector: %+v", a)
	}
	for _, to := range []string{"B00000000", "no such batch", card} {
		wanted := webtest.Said{
			"station": "office", "card": card, "action": "override", "for": "wanted", "pieces": 20, "to": to,
			"reason": "made up",
		}
		if a := planner.Scan(wanted)[0]; a.Outcome != "refused" || !strings.Contains(a.Say, to) {
			t.Errorf("made up by %s: %+v", to, a)
		}
	}
	if b := order(planner, card); len(b.Changes) != 0 {
		t.Errorf("%+v", b)
	}
	for i, a := range planner.Scan(
		hot(),
		webtest.Said{"station": "office", "card": card, "action": "override", "for": "due",
			"to": "2026-12-02", "reason": "customer rang"},
		webtest.Said{"station": "office", "card": card, "action": "override", "for": "wanted", "pieces": 28,
			"reason": "customer rang"},
	) {
		if a.Outcome != "kept" {
			t.Errorf("%d: %+v", i, a)
		}
	}
	b := order(planner, card)
	if !b.Hot || b.Due != "2026-12-02" || b.Wanted != 28 || len(b.Changes) != 3 {
		t.Errorf("%+v", b)
	}
	if c := b.Changes[1]; c.What != "due" || c.From != "2026-12-18" || c.To != "2026-12-02" ||
		c.Reason != "customer rang" || c.By == "" {
		t.Errorf("%+v", c)
	}
}

// A priority may be below nought, as at the release; nothing else may, and it has its
// limits, which keep it within a day of due dates.
func TestPriorityHasLimits(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{}).As(traveler.RolePlanner)
	card := r.Card("W-503")
	said := func(what string, pieces int) webtest.Said {
		return webtest.Said{
			"station": "office", "card": card, "action": "override", "for": what, "pieces": pieces,
			"reason": "can wait",
		}
	}
	if a := r.Scan(said("priority", -5))[0]; a.Outcome != "kept" {
		t.Errorf("%+v", a)
	}
	if b := order(r, card); len(b.Changes) != 1 || b.Changes[0].To != "-5" {
		t.Errorf("%+v", b)
	}
	due := said("due", 0)
	due["to"] = "0001-01-01"
	for _, bad := range []webtest.Said{due, said("priority", traveler.MaxPriority+1), said("wanted", -5),
		said("hot", -1)} {
		bad["id"], bad["at"] = webtest.NewID(), "2026-11-25T10:00:00Z"
		r.Refused("POST", "/api/v1/scans", map[string]any{"scans": []webtest.Said{bad}},
			http.StatusBadRequest)
	}
}

// Scrap leaves fewer than are wanted: the batch says so at once, and a make-up batch
// takes over what it is to make, once, however often its release is sent.
func TestMakeUpBatch(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{}).As(traveler.RoleSupervisor)
	r.Import("routes",
		"part,route_rev,operation,work_centre,setup_min,cycle_min,yield\nKEY,1,10,TURN,10,1,0.9\n")
	release := func(more map[string]any) map[string]any {
		body := map[string]any{
			"id": webtest.NewID(), "part": "KEY", "route_rev": "1", "pieces": 30, "wanted": 25,
			"due":         "2026-12-10",
			"works_order": "W-600", "order_line": "10",
		}
		for k, v := range more {
			body[k] = v
		}
		return body
	}
	var b orderedBatch
	if status := r.Do("POST", "/api/v1/batches", release(nil), &b); status != http.StatusCreated {
		t.Fatal(status)
	}
	card := b.Card
	r.Scan(
		webtest.Said{"station": "T1", "card": card, "action": "run"},
		webtest.Said{
			"station": "T1", "card": card, "action": "finish", "good": 15,
			"scrap": []any{map[string]any{"reason": "size", "n": 15}},
		},
	)
	if b = order(r, card); b.Short != 10 {
		t.Fatalf("15 of 25 can still come: short %d", b.Short)
	}
	var plan struct {
		Short, Batches int
		Pieces         *int
		Confidence     float64
	}
	r.Do("GET", "/api/v1/batches/"+card+"/makeup", nil, &plan)
	// 13 is the least n with P(Binomial(n, 0.9) >= 10) >= 95 %: .9658, and 12 gives .8891
	// (computed exactly, from memory). Batches that differ want no fewer.
	if plan.Short != 10 || plan.Pieces == nil || *plan.Pieces < 13 || plan.Confidence != 0.95 {
		t.Fatalf("%+v", plan)
	}
	up := release(map[string]any{"pieces": *plan.Pieces, "wanted": 10, "makes_up": card})
	var made orderedBatch
	for range 2 {
		if status := r.Do("POST", "/api/v1/batches", up, &made); status != http.StatusCreated {
			t.Fatal(status)
		}
	}
	b = order(r, card)
	if b.Short != 0 || b.Wanted != 15 || len(b.MadeUp) != 1 || b.MadeUp[0] != made.Card ||
		len(b.Changes) != 1 {
		t.Errorf("%+v", b)
	}
	if made.MakesUp != card || made.Wanted != 10 {
		t.Errorf("%+v", made)
	}
	other := release(map[string]any{"makes_up": card, "order_line": "20"})
	r.Refused("POST", "/api/v1/batches", other, http.StatusBadRequest)
}

// A batch of which nothing can come is made up for as a whole.
func TestMakeUpForAll(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{}).As(traveler.RoleSupervisor)
	card := r.Card("W-502")
	r.Scan(
		webtest.Said{"station": "T1", "card": card, "action": "run"},
		webtest.Said{
			"station": "T1", "card": card, "action": "finish", "good": 0,
			"scrap": []any{map[string]any{"reason": "size", "n": 120}},
		},
	)
	if b := order(r, card); b.Short != 115 {
		t.Fatalf("short %d", b.Short)
	}
	var plan struct{ Pieces int }
	r.Do("GET", "/api/v1/batches/"+card+"/makeup", nil, &plan)
	up := map[string]any{
		"id": webtest.NewID(), "part": "1002-11", "route_rev": "1", "pieces": plan.Pieces, "wanted": 115,
		"works_order": "W-502", "customer": "Harbour plant", "makes_up": card,
	}
	if status := r.Do("POST", "/api/v1/batches", up, nil); status != http.StatusCreated {
		t.Fatal(status)
	}
	if b := order(r, card); b.Short != 0 || b.Wanted != 0 {
		t.Errorf("%+v", b)
	}
}
