package floor_test

import (
	"net/http"
	"net/url"
	"testing"

	"tallywalk/traveler"
	"tallywalk/web/webtest"
)

type findAnswer struct {
	Hits []struct{ Kind, Text, More, Page string }
	Go   string
}

// One field finds what people type: whole, it leads there; in part, it lists what fits.
func TestFind(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{})
	admin, operator := r.As(traveler.RoleAdministrator), r.As(traveler.RoleOperator)
	card := admin.Card("W-502")
	operator.Scan(webtest.Said{"station": "T1", "card": card, "action": "setup", "operator": "11"})
	find := func(r *webtest.Rig, q string) (a findAnswer) {
		t.Helper()
		if status := r.Do("GET", "/api/v1/find?q="+url.QueryEscape(q), nil, &a); status != http.StatusOK {
			t.Fatalf("%q: %d", q, status)
		}
		return a
	}
	for q, want := range map[string]string{
		card:            "/batch/" + card,
		"w-502":         "/batch/" + card,
		"1002-11":       "/history?part=1002-11",
		"harbour plant": "/trace?q=Harbour+plant",
		"h73":           "/trace?q=H73",
		"F1":            "/machines?machine=F1",
		"nothing such":  "",
	} {
		if a := find(admin, q); a.Go != want {
			t.Errorf("%q leads to %q, want %q: %+v", q, a.Go, want, a.Hits)
		}
	}
	if a := find(admin, "W-50"); len(a.Hits) != 3 || a.Go != "" {
		t.Errorf("three works orders begin so: %+v", a)
	}
	pages := func(a findAnswer) (out []string) {
		for _, h := range a.Hits {
			if h.Kind == "person" {
				out = append(out, h.Page)
			}
		}
		return out
	}
	if got := pages(find(admin, "11")); len(got) != 2 || got[0] != "/accounts#person-11" ||
		got[1] != "/batch/"+card {
		t.Errorf("a person: %v", got)
	}
	if got := pages(find(operator, "11")); len(got) != 1 || got[0] != "/batch/"+card {
		t.Errorf("a person, for an operator: %v", got)
	}
	// Names are for those who may settle what was said.
	if got := pages(find(admin, "A. Operator")); len(got) != 2 {
		t.Errorf("a person by name: %v", got)
	}
	if got := pages(find(operator, "A. Operator")); len(got) != 0 {
		t.Errorf("a person by name, for an operator: %v", got)
	}
}
