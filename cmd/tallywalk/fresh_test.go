package main

import (
	"context"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tallywalk/store"
	"tallywalk/traveler"
)

// A trial is laid aside: the shop's lists, the account and the station stay, batches and
// scans do not, and what the station made in the trial is not taken into the record that
// begins, whether it was sent before or still waits.
func TestTrialIsLaidAside(t *testing.T) {
	t.Parallel()
	l := loseDay(t)
	l.n++
	waits := said{
		"id": newID(), "at": l.host.now().UTC(), "device": l.code, "n": l.n, "basis": l.basis,
		"epoch":   l.epoch,
		"station": "T1", "card": l.card, "action": "count", "good": 1,
	}
	out := freshened(t, l.rig, "--fresh")
	aside := asideOf(t, l.dir)
	if !strings.Contains(out, aside) {
		t.Errorf("it says %q, and the trial lies in %s", out, aside)
	}
	copied, err := store.OpenCopy(aside)
	if err != nil {
		t.Fatal(err)
	}
	if rep, err := store.Verify(copied); err != nil || rep.Entries < 7 {
		t.Errorf("what was laid aside: %+v, %v", rep, err)
	}
	if err := copied.Close(); err != nil {
		t.Fatal(err)
	}

	r := newRig(t, rigOptions{dir: l.dir, noShop: true})
	l.at(r)
	wants := func(when string) {
		if say := l.refused("POST", "/api/v1/scans", map[string]any{"scans": []said{waits}},
			http.StatusConflict); !strings.Contains(say, "trial") {
			t.Errorf("%s: what waited since the trial is answered %q", when, say)
		}
	}
	wants("at first")
	boss := r.as(traveler.RoleSupervisor)
	var shop struct{ Machines, Reasons []any }
	if boss.do("GET", "/api/v1/shop", nil, &shop); len(shop.Machines) == 0 || len(shop.Reasons) == 0 {
		t.Errorf("the lists are not there: %+v", shop)
	}
	if got := boss.do("GET", "/api/v1/batches/"+l.card, nil, nil); got != http.StatusNotFound {
		t.Errorf("a batch of the trial: status %d", got)
	}
	r.cli("import", "batches", "../../testdata/example/batches.csv")
	card := boss.card("W-502")
	fresh := &device{rig: l.rig, code: l.code}
	fresh.look()
	fresh.wants(fresh.say(said{"station": "T1", "card": card, "action": "setup"}), "kept")
	r.stop()
	r = newRig(t, rigOptions{dir: l.dir, noShop: true}) // from its ledger
	l.at(r)
	wants("after a restart")
	r.stop()

	// A unit file that goes on saying --fresh lays no record of real work aside.
	if out := freshened(t, r, "--fresh"); !strings.Contains(out,
		"To lay it aside as well, say --fresh=again") {
		t.Errorf("said again, it says %q", out)
	}
	if out := freshened(t, r, "--fresh=again"); !strings.Contains(out, "with 1 scans") {
		t.Errorf("said again with again, it says %q", out)
	}
	if out := freshened(t, r, "--fresh"); !strings.Contains(out, "lists only") {
		t.Errorf("of a record without batches it says %q", out)
	}
	r.cli("verify")
}

// freshened starts a server with --fresh and ends it; it gives all that it said.
func freshened(t *testing.T, r *rig, how string) string {
	t.Helper()
	var out strings.Builder
	h := r.host
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	h.ctx, h.out, h.err, h.ready = ctx, &out, &out, func(string) { stop() }
	run([]string{"serve", how, "--data", r.dir, "--listen", "127.0.0.1:0"}, h)
	roomy()
	return out.String()
}

// asideOf is the one file of a folder that a record was laid aside in.
func asideOf(t *testing.T, dir string) string {
	t.Helper()
	found, err := filepath.Glob(filepath.Join(dir, "tallywalk-aside-*.db"))
	if err != nil || len(found) != 1 {
		t.Fatalf("laid aside: %v, %v", found, err)
	}
	if _, err := os.Stat(found[0]); err != nil {
		t.Fatal(err)
	}
	return found[0]
}
