package main

import (
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"tallywalk/store/storetest/engines"
)

// home is a record that moves between a folder and engines.
type home struct {
	*killer
	set *engines.Set
	at  map[string]string // when a scan was made, the same each time that it is sent
}

func newHome(t *testing.T, nodes int) *home {
	return &home{killer: newKiller(t), set: engines.Start(t, nodes)}
}

// move brings the record from a folder to a stream, or back.
func (h *home) move(from, to, stream string) []string {
	return []string{"move", "--from", from, "--to", to, "--stream", stream}
}

func (h *home) urls() string { return strings.Join(h.set.URLs(), ",") }

func (h *home) record() []string {
	return []string{"--record", h.urls(), "--stream", "SHOP"}
}

// with runs a server until fn returns.
func (h *home) with(dir string, more []string, fn func(base string)) {
	h.t.Helper()
	cmd := exec.Command(h.bin,
		append([]string{"serve", "--data", dir, "--listen", "127.0.0.1:0"}, more...)...)
	cmd.SysProcAttr = dyingWithUs()
	base := h.start(cmd)
	defer func() {
		_ = cmd.Process.Signal(os.Interrupt)
		if err := cmd.Wait(); err != nil {
			h.t.Errorf("the server of %s ended with %v", dir, err)
		}
	}()
	fn(base)
}

// scan sends a scan until it is kept.
func (h *home) scan(base, id string) {
	h.t.Helper()
	if h.at == nil {
		h.at = map[string]string{}
	}
	if h.at[id] == "" {
		h.at[id] = time.Now().UTC().Format(time.RFC3339Nano)
	}
	body := fmt.Sprintf(
		`{"scans":[{"id":%q,"at":%q,"station":"T1","card":"W-KILL-0","action":"count","good":1}]}`, id,
		h.at[id])
	for range 20 {
		if h.post(http.DefaultClient, base, body) {
			return
		}
	}
	h.t.Fatalf("scan %s is not kept", id)
}

// fails runs a command that must fail, and gives what it says.
func (h *home) fails(args ...string) string {
	h.t.Helper()
	out, err := exec.Command(h.bin, args...).CombinedOutput()
	if err == nil {
		h.t.Fatalf("%v went well: %s", args, out)
	}
	return string(out)
}

var headText = regexp.MustCompile(`\d+:[0-9a-f]{64}`)

// TestMove brings a record to engines and back: its end is the same, the old place is
// closed, what was scanned on the way is there, and a copy of one server's part is put
// back as a record of its own.
func TestMove(t *testing.T) {
	t.Parallel()
	h := newHome(t, 1)
	before := headText.FindString(h.run("verify"))
	moved := h.runOut(h.move(h.dir, h.urls(), "SHOP")...)
	if got := headText.FindString(moved); got != before || got == "" {
		t.Errorf("moved with the end %s, want %s", got, before)
	}
	if said := h.fails("import", "batches", h.batch(), "--data", h.dir); !strings.Contains(said,
		"one server's part") {
		t.Errorf("a part was written alone: %s", said)
	}
	if said := h.fails("serve", "--data", h.dir, "--fresh"); !strings.Contains(said, "one server's part") {
		t.Errorf("a part was begun afresh: %s", said)
	}
	if said := h.fails(h.move(h.dir, h.urls(), "SHOP")...); !strings.Contains(said, "two records") {
		t.Errorf("moved twice: %s", said)
	}
	copies, ids := t.TempDir(),
		[]string{"00000001-0000-7000-8000-000000000001", "00000001-0000-7000-8000-000000000002"}
	h.with(h.dir, h.record(), func(base string) {
		h.scan(base, ids[0])
		h.run("backup", "--to", copies)
	})
	// A server with an empty folder has all of it, and its accounts.
	h.with(t.TempDir(), h.record(), func(base string) { h.scan(base, ids[1]) })
	back := filepath.Join(t.TempDir(), "back")
	out := h.runOut(h.move(h.urls(), back, "SHOP")...)
	first := h.dir
	h.dir = back
	if got := headText.FindString(h.run("verify")); got == "" || got != headText.FindString(out) {
		t.Errorf("moved back with the end %s, and said %s", got, out)
	}
	h.there(ids...)
	if said := h.fails(
		append([]string{"serve", "--data", first, "--listen", "127.0.0.1:0"},
			h.record()...)...); !strings.Contains(said, "goes on at") {
		t.Errorf("the old place is not closed: %s", said)
	}
	h.with(back, nil, func(base string) { h.scan(base, "00000001-0000-7000-8000-000000000003") })

	list, err := filepath.Glob(filepath.Join(copies, "*.db"))
	if err != nil || len(list) != 1 {
		t.Fatalf("copies %v, %v", list, err)
	}
	h.dir = filepath.Join(t.TempDir(), "restored")
	h.run("restore", list[0])
	h.there(ids[0])
	h.with(h.dir, nil, func(base string) { h.scan(base, ids[1]) })
	h.run("verify")
}

// there wants scans in the record, each once.
func (h *home) there(ids ...string) {
	h.t.Helper()
	record := h.run("export", "scans")
	for _, id := range ids {
		if n := strings.Count(record, id); n != 1 {
			h.t.Errorf("scan %s is there %d times", id, n)
		}
	}
}

// TestMajorityLost empties two of three disks, in which the stream goes, and brings the
// record back from a server's own part to a new stream, where the other server finds its
// place by itself.
func TestMajorityLost(t *testing.T) {
	t.Parallel()
	h := newHome(t, 3)
	h.runOut(h.move(h.dir, h.urls(), "SHOP")...)
	other, id := t.TempDir(), "00000001-0000-7000-8000-000000000001"
	h.with(other, append(h.record(), "--name", "other"), func(base string) { h.scan(base, id) })
	h.with(h.dir, append(h.record(), "--name", "first"), func(string) {})
	for _, i := range []int{0, 1} {
		h.set.Kill(i)
		h.set.Wipe(i)
	}
	h.set.Kill(2)
	for i := range 3 {
		h.set.Begin(i)
	}
	for i := range 3 {
		h.set.AwaitReady(i)
	}
	again := []string{"--record", h.urls(), "--stream", "SHOP2"}
	h.runOut(h.move(h.dir, h.urls(), "SHOP2")...)
	h.with(other, append(again, "--name", "other"), func(base string) {
		h.scan(base, id) // it is answered as before
		h.scan(base, "00000001-0000-7000-8000-000000000002")
	})
	h.with(h.dir, append(again, "--name", "first"), func(string) {})
	back := filepath.Join(t.TempDir(), "back")
	h.runOut(h.move(h.urls(), back, "SHOP2")...)
	h.dir = back
	h.run("verify")
	h.there(id, "00000001-0000-7000-8000-000000000002")
}
