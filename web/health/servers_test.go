package health_test

import (
	"math"
	"net/http"
	"strings"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
	"tallywalk/web/webtest"
)

type shown struct {
	Conditions []struct{ Name, Says, Do string }
	Servers    []struct {
		Name, URL     string
		Self, Decides bool
		Term          uint64
		Seq, Behind   traveler.Seq
		Silent        float64 `json:"silent_s"`
		Ahead         float64 `json:"ahead_s"`
	}
}

// Three servers, of which one is dead and one lags, as the health page and a monitoring
// system see them; what is wrong stands on top.
func TestServersAreShown(t *testing.T) {
	t.Parallel()
	at := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	clock := func() time.Time { return at } // servers are heard by the computer's
	heard := &webtest.Servers{}
	r := webtest.New(t, webtest.Options{Servers: heard, Now: clock, Real: clock})
	boss := r.As(traveler.RoleSupervisor)
	heard.Hear(
		story.Server{Name: "hall 1", URL: "http://hall-1:8080", Self: true, Term: 7, Seq: 1200},
		story.Server{Name: "hall 2", URL: "http://hall-2:8080", Term: 7, Seq: 1150,
			Heard: at.Add(-time.Second), Ahead: -1500 * time.Millisecond},
		story.Server{Name: "office", URL: "http://office:8080", Writes: true, Term: 7, Seq: 1210,
			Heard: at.Add(-4 * time.Second)},
	)
	var v shown
	if got := boss.Do("GET", "/api/v1/health", nil, &v); got != http.StatusOK || len(v.Servers) != 3 ||
		len(v.Conditions) != 0 {
		t.Fatalf("%d %+v", got, v)
	}
	if x := v.Servers[0]; !x.Self || x.Decides || x.Term != 7 || x.Behind != 10 || x.Silent != 0 {
		t.Errorf("%+v", x)
	}
	if x := v.Servers[1]; x.Behind != 60 || x.Silent != 1 || x.Ahead != -1.5 {
		t.Errorf("%+v", x)
	}
	if x := v.Servers[2]; !x.Decides || x.Behind != 0 || x.Seq != 1210 || x.URL != "http://office:8080" {
		t.Errorf("%+v", x)
	}
	measured(t, boss, map[string]string{
		"tallywalk_record_term": "7", "tallywalk_record_writes": "0", "tallywalk_writer_heard_seconds": "4",
		`tallywalk_server_behind_entries{server="hall 2"}`: "60",
		`tallywalk_server_behind_entries{server="office"}`: "0",
	})

	heard.Fail(traveler.Msg{Key: "health.slow", Args: []string{"3"}})
	heard.Hear(story.Server{Name: "hall 1", Self: true, Term: 7, Seq: 1200})
	v = shown{}
	boss.Do("GET", "/api/v1/health", nil, &v)
	if len(v.Conditions) != 1 || v.Conditions[0].Name != "servers" ||
		!strings.Contains(v.Conditions[0].Says, "3 s") || v.Conditions[0].Do != "" {
		t.Errorf("%+v", v.Conditions)
	}
	measured(t, boss, map[string]string{"tallywalk_writer_heard_seconds": "-1"})
	heard.Hear(story.Server{Name: "hall 1", Self: true, Writes: true, Term: math.MaxInt32, Seq: 1200})
	measured(t, boss,
		map[string]string{"tallywalk_writer_heard_seconds": "0", "tallywalk_record_writes": "1"})

	alone := webtest.New(t, webtest.Options{})
	v = shown{}
	watcher := alone.As(traveler.RoleSupervisor)
	if watcher.Do("GET", "/api/v1/health", nil, &v); v.Servers != nil {
		t.Errorf("one file has %+v", v.Servers)
	}
	if lines := metrics(t, watcher); strings.Contains(lines, "tallywalk_record_term") {
		t.Error("one file is measured as if it were several")
	}
}

func metrics(t *testing.T, r *webtest.Rig) string {
	t.Helper()
	req, err := http.NewRequestWithContext(t.Context(), http.MethodGet, r.Base+"/metrics", http.NoBody)
	if err != nil {
		t.Fatal(err)
	}
	_, got := r.Send(req, nil)
	return string(got)
}

func measured(t *testing.T, r *webtest.Rig, want map[string]string) {
	t.Helper()
	got := metrics(t, r)
	for name, v := range want {
		if !strings.Contains(got, "\n"+name+" "+v+"\n") {
			t.Errorf("no %s %s in\n%s", name, v, got[:min(len(got), 200)])
		}
	}
}
