package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"tallywalk/store"
	"tallywalk/traveler"
)

// device is what a station's outbox does, in Go: it numbers and keeps its scans,
// and sends again what a record of another epoch may lack.
type device struct {
	*rig
	code  string
	epoch string
	basis int
	n     int
	kept  []*boxed
}

// boxed is a scan in a device's box.
type boxed struct {
	scan           said
	epoch          string
	answer, before *sentAnswer
}

type sentAnswer struct {
	ID      string `json:"-"`
	Outcome string `json:"outcome"`
	Seq     int    `json:"seq"`
	Issued  string `json:"issued"`
	Say     string `json:"-"`
	Again   bool   `json:"-"`
}

// at lets the device talk to another server under its cookie.
func (d *device) at(r *rig) {
	n := *r
	n.client = d.client
	d.rig = &n
}

// say makes a scan and sends it.
func (d *device) say(s said) *sentAnswer {
	d.t.Helper()
	d.n++
	s["id"], s["at"], s["device"], s["n"], s["basis"] = newID(), time.Now().UTC().Format(
		time.RFC3339Nano), d.code, d.n, d.basis
	d.kept = append(d.kept, &boxed{scan: s, epoch: d.epoch})
	d.send(d.kept[len(d.kept)-1:])
	return d.kept[len(d.kept)-1].answer
}

func (d *device) send(all []*boxed) {
	d.t.Helper()
	var body []said
	for _, b := range all {
		s := said{"epoch": b.epoch, "present": b.before == nil && b.answer == nil}
		for k, v := range b.scan {
			s[k] = v
		}
		if b.before != nil {
			s["before"] = b.before
		}
		body = append(body, s)
	}
	var out struct {
		Epoch   string
		Results []struct {
			ID, Outcome, Say, Issued string
			Seq, Status              int
			Again                    bool
		}
	}
	if status := d.do("POST", "/api/v1/scans", map[string]any{"scans": body}, &out); status != 200 {
		d.t.Fatalf("scans: status %d", status)
	}
	turned := d.meet(out.Epoch)
	for i, r := range out.Results {
		if r.Status != 0 {
			d.t.Errorf("scan %v could not be taken: %d %s", all[i].scan, r.Status, r.Say)
		}
		all[i].answer, all[i].before, all[i].epoch = &sentAnswer{r.ID, r.Outcome, r.Seq, r.Issued, r.Say,
			r.Again}, nil, d.epoch
		d.basis = max(d.basis, r.Seq)
	}
	if len(turned) > 0 {
		d.send(turned)
	}
}

// meet notices another epoch, and gives what is sent again.
func (d *device) meet(epoch string) (turned []*boxed) {
	if epoch == d.epoch {
		return nil
	}
	first := d.epoch == ""
	d.epoch, d.basis = epoch, 0
	for _, b := range d.kept {
		if b.answer != nil && !first {
			b.before, b.answer = b.answer, nil
			turned = append(turned, b)
		}
	}
	return turned
}

// look asks the server which record it has, and sends again what that may lack.
func (d *device) look() {
	d.t.Helper()
	var me struct{ Epoch string }
	if status := d.do("GET", "/api/v1/me", nil, &me); status != 200 {
		d.t.Fatalf("me: status %d", status)
	}
	if turned := d.meet(me.Epoch); len(turned) > 0 {
		d.send(turned)
	}
}

// enrolCode makes the first account of a shop, and a code for a station.
func enrolCode(r *rig) string {
	r.t.Helper()
	code := regexp.MustCompile(`/first\?code=(\S+)`).FindStringSubmatch(r.out.String())
	if code == nil {
		r.t.Fatalf("no one-time link in %q", r.out.String())
	}
	boss := r.visitor()
	if got := boss.do("POST", "/api/v1/first",
		map[string]any{"code": code[1], "name": "Ada", "password": "long enough for this"}, nil); got != 200 {
		r.t.Fatalf("the first account: %d", got)
	}
	var enrol struct{ Code string }
	boss.do("POST", "/api/v1/enrol-codes", map[string]any{"name": "Tablet by T1", "machine": "T1"}, &enrol)
	return enrol.Code
}

// enrolled makes a station of a shop that was just begun.
func enrolled(r *rig) *device {
	r.t.Helper()
	code := enrolCode(r)
	d := &device{rig: r.visitor()}
	var st struct{ Device string }
	if got := d.do("POST", "/api/v1/enrol", map[string]any{"code": code}, &st); got != 200 {
		r.t.Fatalf("enrol: %d", got)
	}
	d.code = st.Device
	d.look()
	return d
}

func (d *device) wants(a *sentAnswer, outcome string) *sentAnswer {
	d.t.Helper()
	if a.Outcome != outcome {
		d.t.Fatalf("answered %s %q, want %s", a.Outcome, a.Say, outcome)
	}
	return a
}

// lostDay is a shop with a copy, and what a station said since: kept, refused, a
// split and work on the box that it made.
type lostDay struct {
	*device
	card, copied string
	since        []*boxed
	split        *sentAnswer
}

func loseDay(t *testing.T) *lostDay {
	t.Helper()
	r := newRig(t, rigOptions{})
	l := &lostDay{device: enrolled(r), card: r.as(traveler.RoleSupervisor).card("W-502")}
	say := func(action string, more said) *sentAnswer {
		s := said{"station": "T1", "card": l.card, "action": action}
		for k, v := range more {
			s[k] = v
		}
		return l.say(s)
	}
	l.wants(say("setup", nil), "kept")
	to := t.TempDir()
	out := r.cli("backup", "--to", to)
	l.copied, _, _ = strings.Cut(out, ": ")
	before := len(l.kept)
	l.wants(say("run", nil), "kept")
	l.wants(say("count", said{"good": 9000}), "refused")
	l.wants(say("count", said{"good": 20}), "kept")
	l.split = l.wants(say("split", said{"pieces": 5}), "kept")
	if l.split.Issued == "" {
		t.Fatalf("no card: %+v", l.split)
	}
	l.wants(l.say(said{"station": "Q1", "card": l.split.Issued, "action": "arrive"}), "kept")
	l.since = l.kept[before:]
	r.stop()
	return l
}

// there checks that each scan is in the record once, as it was answered.
func (l *lostDay) there() {
	l.t.Helper()
	outcomes := map[string][]string{}
	for _, line := range strings.Split(strings.TrimSpace(l.cli("export", "scans")), "\n") {
		var x struct {
			Outcome, Other string
			Scan           struct{ ID, Action string }
		}
		if err := json.Unmarshal([]byte(line), &x); err != nil {
			l.t.Fatal(err)
		}
		outcomes[x.Scan.ID] = append(outcomes[x.Scan.ID], x.Outcome)
		if x.Scan.Action == "split" && x.Other != l.split.Issued {
			l.t.Errorf("the split gave %s, and now %s", l.split.Issued, x.Other)
		}
	}
	for _, b := range l.kept {
		if got := outcomes[b.scan["id"].(string)]; len(got) != 1 || got[0] != b.answer.Outcome {
			l.t.Errorf("%v is there as %v, answered %s", b.scan, got, b.answer.Outcome)
		}
	}
	if len(outcomes) != len(l.kept) {
		l.t.Errorf("%d scans in the record, %d were made", len(outcomes), len(l.kept))
	}
	l.cli("verify")
}

// TestDiskLost loses the disk after a copy, puts the copy back, and lets the
// station send again: all is there once, as it was answered.
func TestDiskLost(t *testing.T) {
	t.Parallel()
	l := loseDay(t)
	was := map[*boxed]string{}
	for _, b := range l.kept {
		was[b] = b.answer.Outcome
	}
	if err := os.RemoveAll(l.dir); err != nil {
		t.Fatal(err)
	}
	out := l.cli("restore", l.copied)
	if !strings.Contains(out, "account  Ada, administrator") ||
		!strings.Contains(out, "station  Tablet by T1, ") {
		t.Errorf("who may come in again is not said: %s", out)
	}
	r := newRig(t, rigOptions{dir: l.dir})
	l.at(r)
	l.look()
	for b, outcome := range was {
		if b.answer.Outcome != outcome {
			t.Errorf("%v was %s, and is %s: %s", b.scan, outcome, b.answer.Outcome, b.answer.Say)
		}
	}
	if !strings.Contains(l.since[1].answer.Say, "It was refused before the record was put back") {
		t.Errorf("said %q", l.since[1].answer.Say)
	}
	var box struct{ Started int }
	if status := r.as(traveler.RoleSupervisor).do("GET", "/api/v1/batches/"+l.split.Issued, nil,
		&box); status != 200 || box.Started != 5 {
		t.Errorf("the box: status %d, %d pieces", status, box.Started)
	}
	l.wants(l.say(said{"station": "T1", "card": l.card, "action": "count", "good": 1}), "kept")
	l.there()
	l.cli("verify", "--against", l.copied)

	// A program is not believed, whatever it says of before.
	a := r.as(traveler.RoleOperator).scan(said{
		"station": "T1", "card": l.card, "action": "count", "good": 1, "epoch": "0123456789abcdef",
		"before": map[string]any{"outcome": "refused", "seq": 9000},
	})
	if a[0].Outcome != "kept" {
		t.Errorf("a token said that its scan was refused, and it is %s", a[0].Outcome)
	}
	r.stop()
}

// TestCopyLaidInPlace puts the copy back by hand, and takes the note of the folder
// along: the station has seen more than there is, and sends it again.
func TestCopyLaidInPlace(t *testing.T) {
	t.Parallel()
	l := loseDay(t)
	data, err := os.ReadFile(l.copied)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(l.dir, store.FileName), data, 0o600); err != nil {
		t.Fatal(err)
	}
	var errOut strings.Builder
	h := l.host
	h.ctx, h.err = t.Context(), &errOut
	if code := run([]string{"serve", "--data", l.dir, "--listen", "127.0.0.1:0"}, h); code != 1 ||
		!strings.Contains(errOut.String(), "but this folder held") {
		t.Fatalf("status %d: %s", code, errOut.String())
	}
	if err := os.Remove(filepath.Join(l.dir, store.NoteName)); err != nil {
		t.Fatal(err)
	}
	r := newRig(t, rigOptions{dir: l.dir})
	l.at(r)
	epoch := l.epoch
	l.wants(l.say(said{"station": "T1", "card": l.card, "action": "stop"}), "kept")
	if l.epoch == epoch {
		t.Error("no epoch began")
	}
	l.there()
	if !strings.Contains(r.out.String(), "an older copy was laid in place of the file") {
		t.Errorf("the server's log says nothing of it: %s", r.out)
	}
	r.stop()
}

// TestBackupIsTheRecord makes the same copy through a server and without one.
func TestBackupIsTheRecord(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{})
	with := r.cli("backup", "--to", t.TempDir())
	if status := r.do("GET", "/readyz", nil, nil); status != 200 {
		t.Errorf("the server after a copy: %d", status)
	}
	r.stop()
	without := r.cli("backup", "--to", t.TempDir())
	head := func(s string) string { _, h, _ := strings.Cut(s, "; head "); return h }
	if head(with) == "" || head(with) != head(without) {
		t.Errorf("with a server %s, without %s", with, without)
	}
}
