package main

import (
	"bytes"
	"errors"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/common/expfmt"
	"github.com/prometheus/common/model"

	"tallywalk/store"
	"tallywalk/traveler"
)

// keptCopies is what the API says of the copies.
type keptCopies struct {
	Last          *time.Time
	Late, Running bool
	Failed        string
	Missing       int
	Copies        []struct {
		Name    string
		Entries int
		Bytes   int64
	}
}

// condition is something that is wrong, as the API says it.
type wrongness struct {
	Conditions []struct {
		Name, Says, Do string
		Stops          bool
	}
}

func (w *wrongness) names() (out []string) {
	for _, c := range w.Conditions {
		out = append(out, c.Name)
	}
	return out
}

// copiesUntil asks for the copies until they are as they should be.
func (r *rig) copiesUntil(ok func(*keptCopies) bool) (v keptCopies) {
	r.t.Helper()
	look := time.NewTicker(20 * time.Millisecond)
	defer look.Stop()
	end := time.After(pageTime)
	for {
		v = keptCopies{}
		if got := r.do("GET", "/api/v1/copies", nil, &v); got != http.StatusOK {
			r.t.Fatalf("copies: status %d", got)
		}
		if ok(&v) {
			return v
		}
		select {
		case <-end:
			r.t.Fatalf("the copies are %+v", v)
		case <-look.C:
		}
	}
}

// Copies are made by the clock and by hand, each is the record; one that is late is said
// on every page to those who can see to it, and so is a folder that went away.
func TestKeeping(t *testing.T) {
	t.Parallel()
	to := t.TempDir()
	clock := newHandClock(time.Now().UTC().Truncate(time.Second))
	table := timetable{dir: to, every: time.Hour, rule: usualRule}
	if err := table.settle(); err != nil {
		t.Fatal(err)
	}
	r := newRig(t, rigOptions{copies: table, runFrom: clock.now})
	boss, admin := r.as(traveler.RoleSupervisor), r.as(traveler.RoleAdministrator)
	first := boss.copiesUntil(func(v *keptCopies) bool { return len(v.Copies) == 1 && !v.Running })
	boss.scan(said{"station": "T1", "card": boss.card("W-501"), "action": "setup"})
	if v := boss.copiesUntil(func(*keptCopies) bool { return true }); v.Missing != 1 || v.Late ||
		first.Missing != 0 {
		t.Errorf("after a scan: %+v", v)
	}
	if got := boss.do("POST", "/api/v1/copies", map[string]any{}, nil); got != http.StatusForbidden {
		t.Errorf("a supervisor makes a copy: status %d", got)
	}
	clock.set(clock.now().Add(time.Hour))
	var after keptCopies
	if got := admin.do("POST", "/api/v1/copies", map[string]any{}, &after); got != http.StatusOK ||
		len(after.Copies) != 2 || after.Missing != 0 {
		t.Errorf("a copy now: status %d, %+v", got, after)
	}
	admin.do("POST", "/api/v1/copies", map[string]any{}, &after)
	if len(after.Copies) != 2 {
		t.Errorf("nothing was recorded since, and there are %d copies", len(after.Copies))
	}
	found, err := store.Copies(to)
	if err != nil || len(found) != 2 {
		t.Fatalf("in the folder: %v, %v", found, err)
	}
	copied, err := store.OpenCopy(found[0].Path)
	if err != nil {
		t.Fatal(err)
	}
	rep, err := store.Verify(copied)
	if err = errors.Join(err, copied.Close()); err != nil || rep.Entries != after.Copies[0].Entries {
		t.Errorf("the newest copy: %+v, %v", rep, err)
	}

	var w wrongness
	if boss.do("GET", "/api/v1/health", nil, &w); len(w.Conditions) != 0 {
		t.Errorf("wrong is %+v", w)
	}
	clock.set(clock.now().Add(3 * time.Hour))
	if boss.do("GET", "/api/v1/health", nil, &w); len(w.Conditions) != 1 ||
		w.Conditions[0].Name != "copy-late" || !strings.Contains(w.Conditions[0].Do, "Keeping") {
		t.Errorf("after three hours: %+v", w)
	}
	if err := os.RemoveAll(to); err != nil {
		t.Fatal(err)
	}
	if say := admin.refused("POST", "/api/v1/copies", map[string]any{},
		http.StatusNotFound); !strings.Contains(say, "There is no folder") || strings.Contains(say, "/") {
		t.Errorf("without its folder it says %q", say)
	}
	if v := boss.copiesUntil(func(*keptCopies) bool { return true }); v.Failed == "" || !v.Late {
		t.Errorf("without its folder: %+v", v)
	}
}

// A copy that says it was made in the future, by a clock that was wrong, stops no timetable.
func TestCopyOfTheFuture(t *testing.T) {
	t.Parallel()
	to := t.TempDir()
	if err := os.WriteFile(filepath.Join(to, "tallywalk-20300101T000000Z-4.db"), []byte("whatever"),
		0o600); err != nil {
		t.Fatal(err)
	}
	table := timetable{dir: to, every: time.Hour, rule: usualRule}
	if err := table.settle(); err != nil {
		t.Fatal(err)
	}
	boss := newRig(t, rigOptions{copies: table}).as(traveler.RoleSupervisor)
	v := boss.copiesUntil(func(v *keptCopies) bool { return len(v.Copies) == 2 && !v.Running })
	if v.Last == nil || v.Missing != 0 {
		t.Errorf("it is %+v", v)
	}
	var w wrongness
	if boss.do("GET", "/api/v1/health", nil, &w); len(w.names()) != 1 || w.names()[0] != "copy-ahead" {
		t.Errorf("wrong is %+v", w)
	}
}

// A shop without a timetable is warned; the demo is not.
func TestNobodyMakesCopies(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{})
	var w wrongness
	if r.as(traveler.RoleSupervisor).do("GET", "/api/v1/health", nil, &w); len(w.names()) != 1 ||
		w.names()[0] != "no-copies" {
		t.Errorf("wrong is %+v", w)
	}
	if got := r.as(traveler.RolePlanner).do("GET", "/api/v1/health", nil, nil); got != http.StatusForbidden {
		t.Errorf("a planner asks for it: status %d", got)
	}
	r.cli("backup", "--to", t.TempDir())
	if r.as(traveler.RoleSupervisor).do("GET", "/api/v1/health", nil, &w); len(w.Conditions) != 0 {
		t.Errorf("after a copy by hand wrong is %+v", w)
	}
	if say := r.as(traveler.RoleAdministrator).refused("POST", "/api/v1/copies", map[string]any{},
		http.StatusConflict); !strings.Contains(say, "--backup") {
		t.Errorf("it says %q", say)
	}
	demo := newRig(t, rigOptions{open: true})
	if demo.do("GET", "/api/v1/health", nil, &w); len(w.Conditions) != 0 {
		t.Errorf("wrong with the demo is %+v", w)
	}
}

// A monitoring system reads figures by a token that may only look. The answer has
// counted what was said, in the text format of Prometheus, and names nobody.
func TestMetrics(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{})
	boss, watcher := r.as(traveler.RoleSupervisor), r.as(traveler.RoleWatcher)
	card := boss.card("W-501")
	boss.scan(said{"station": "T1", "card": card, "action": "setup"})
	boss.scan(said{"station": "T1", "card": card, "action": "count", "good": 9000})
	if got := r.visitor().do("GET", "/metrics", nil, nil); got != http.StatusUnauthorized {
		t.Errorf("a stranger is answered %d", got)
	}
	_, body := watcher.file("/metrics")
	parser := expfmt.NewTextParser(model.UTF8Validation)
	families, err := parser.TextToMetricFamilies(bytes.NewReader(body))
	if err != nil {
		t.Fatalf("it cannot be read: %v", err)
	}
	count := map[string]float64{}
	for _, m := range families["tallywalk_scans_total"].GetMetric() {
		count[m.GetLabel()[0].GetValue()] = m.GetCounter().GetValue()
	}
	if count["kept"] != 1 || count["refused"] != 1 {
		t.Errorf("scans: %v", count)
	}
	if n := families["tallywalk_commit_seconds"].GetMetric()[0].GetHistogram().GetSampleCount(); n != 2 {
		t.Errorf("%d requests were safe", n)
	}
	for _, name := range []string{"tallywalk_record_entries", "tallywalk_disk_free_bytes",
		"tallywalk_record_bytes", "tallywalk_questions", "tallywalk_board_sockets",
		"tallywalk_clock_in_doubt", "tallywalk_copy_timestamp_seconds"} {
		if families[name] == nil {
			t.Errorf("there is no %s", name)
		}
	}
	ways := 0
	for _, m := range families["tallywalk_request_seconds"].GetMetric() {
		for _, l := range m.GetLabel() {
			if strings.Contains(l.GetValue(), card) {
				t.Errorf("a label names the batch: %s", l.GetValue())
			}
		}
		ways++
	}
	if ways == 0 {
		t.Error("no request was measured")
	}
}
