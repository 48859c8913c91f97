package main

import (
	"compress/gzip"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"testing"

	"tallywalk/traveler"
)

// A file written before the rules had a second number opens, and its batches
// give what they gave then: testdata/old/first-rules.json is what that program
// answered. In it a first-off was rejected and the run went on all the same,
// more pieces were counted than started, and a tablet thought that it
// was the year 2000.
func TestFileOfTheFirstRulesReadsTheSame(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "shop")
	unpack(t, "../../testdata/old/first-rules.db.gz", filepath.Join(dir, "tallywalk.db"))
	r := newRig(t, rigOptions{dir: dir}).as(traveler.RoleSupervisor)
	data, err := os.ReadFile("../../testdata/old/first-rules.json")
	if err != nil {
		t.Fatal(err)
	}
	var want map[string]map[string]any
	if err := json.Unmarshal(data, &want); err != nil || len(want) != 3 {
		t.Fatalf("%d batches (%v)", len(want), err)
	}
	for card, b := range want {
		var got map[string]any
		if status := r.do("GET", "/api/v1/batches/"+card, nil, &got); status != 200 {
			t.Errorf("%s: %d", card, status)
			continue
		}
		if d := lacking(got, b, card); d != "" {
			t.Error(d)
		}
	}
}

func unpack(t *testing.T, from, to string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(to), 0o700); err != nil {
		t.Fatal(err)
	}
	packed, err := os.Open(from)
	if err != nil {
		t.Fatal(err)
	}
	defer packed.Close()
	z, err := gzip.NewReader(packed)
	if err != nil {
		t.Fatal(err)
	}
	out, err := os.OpenFile(to, os.O_CREATE|os.O_WRONLY, 0o600)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := io.Copy(out, z); err != nil { //nolint:gosec // a file of ours
		t.Fatal(err)
	}
	if err := out.Close(); err != nil {
		t.Fatal(err)
	}
}

// lacking says what of want is not so in got, which may say more.
func lacking(got, want any, at string) string {
	switch w := want.(type) {
	case map[string]any:
		g, ok := got.(map[string]any)
		if !ok {
			return at + " is no object"
		}
		for k, v := range w {
			if d := lacking(g[k], v, at+"."+k); d != "" {
				return d
			}
		}
		return ""
	case []any:
		g, ok := got.([]any)
		if !ok || len(g) != len(w) {
			return at + " has another length"
		}
		for i := range w {
			if d := lacking(g[i], w[i], at+"[]"); d != "" {
				return d
			}
		}
		return ""
	}
	if !reflect.DeepEqual(got, want) {
		text, _ := json.Marshal([]any{want, got})
		return at + " was, and is: " + string(text)
	}
	return ""
}
