package main

import (
	"encoding/binary"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	bolt "go.etcd.io/bbolt"

	"tallywalk/traveler"
)

// TestFilesOfEveryFormatOpen checks that a file of each format of record and ledger that
// there was, written by the program of then, is whole as it lies, opens, gives the pieces
// that it gave then (testdata/old/formats.json), and is whole when it was used.
func TestFilesOfEveryFormatOpen(t *testing.T) {
	t.Parallel()
	data, err := os.ReadFile("../../testdata/old/formats.json")
	if err != nil {
		t.Fatal(err)
	}
	var want map[string]struct {
		Card  string
		Batch map[string]any
	}
	if err := json.Unmarshal(data, &want); err != nil || len(want) != 11 {
		t.Fatalf("%d files (%v)", len(want), err)
	}
	for name, w := range want {
		t.Run(name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "shop")
			unpack(t, "../../testdata/old/"+name+".db.gz", filepath.Join(dir, "tallywalk.db"))
			if got := formatsOf(t, filepath.Join(dir, "tallywalk.db")); got != name {
				t.Fatalf("it is %s", got)
			}
			r := &rig{t: t, dir: dir, host: realHost()}
			before := r.cli("verify")
			if !strings.Contains(before, "The record is whole: ") ||
				!strings.Contains(before, "Pieces add up in every batch") {
				t.Error(before)
			}
			served := newRig(t, rigOptions{dir: dir}).as(traveler.RoleSupervisor)
			var got map[string]any
			if status := served.do("GET", "/api/v1/batches/"+w.Card, nil, &got); status != 200 {
				t.Fatalf("status %d", status)
			}
			if d := lacking(got, w.Batch, w.Card); d != "" {
				t.Error(d)
			}
			served.stop()
			if after := r.cli("verify"); !strings.Contains(after, "the ledger is what the record comes to") {
				t.Error(after)
			}
		})
	}
}

// formatsOf is the name that a file has for what it says of its formats; the snapshot of
// the first ledger did not say one.
func formatsOf(t *testing.T, path string) string {
	t.Helper()
	db, err := bolt.Open(path, 0o600, &bolt.Options{ReadOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var record uint64
	snapshot := struct{ Format int }{}
	if err := db.View(func(tx *bolt.Tx) error {
		record = binary.BigEndian.Uint64(tx.Bucket([]byte("meta")).Get([]byte("format")))
		return json.Unmarshal(tx.Bucket([]byte("snapshot")).Get([]byte("last")), &snapshot)
	}); err != nil {
		t.Fatal(err)
	}
	return fmt.Sprintf("record-%d-ledger-%d", record, max(1, snapshot.Format))
}
