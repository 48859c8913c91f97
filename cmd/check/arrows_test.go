package main

import (
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
)

// TestHouse holds the rules on the project itself.
func TestHouse(t *testing.T) {
	root, err := findRoot(".")
	if err != nil {
		t.Fatal(err)
	}
	files, err := (&project{root: root}).files(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Contains(files, "cmd/check/arrows_test.go") {
		t.Fatalf("this very file is not among the project's %d files", len(files))
	}
	faults, err := houseFaults(os.DirFS(root), files)
	if err != nil {
		t.Fatal(err)
	}
	for _, fault := range faults {
		t.Error(fault)
	}
}

// houseOf returns the faults of a project of the given files.
func houseOf(t *testing.T, sources map[string]string) []string {
	t.Helper()
	tree := fstest.MapFS{}
	for name, src := range sources {
		tree[name] = &fstest.MapFile{Data: []byte(src)}
	}
	faults, err := houseFaults(tree, slices.Sorted(maps.Keys(sources)))
	if err != nil {
		t.Fatal(err)
	}
	return faults
}

func TestArrows(t *testing.T) {
	tests := []struct {
		file, imports string
		fault         string // part of the only fault; "" = none
	}{
		{"traveler/scan.go", "time", ""},
		{"traveler/scan.go", "encoding/json", ""},
		{"traveler/scan.go", "tallywalk/traveler/stat", "the arrows from traveler go"},
		{"traveler/scan.go", "golang.org/x/text/cases", "traveler may not"},
		{"traveler/scan.go", "C", "without C"},
		{"traveler/scan_test.go", "pgregory.net/rapid", ""},
		{"traveler/scan_test.go", "tallywalk/traveler", ""},
		{"traveler/scan_test.go", "tallywalk/traveler/calendar", ""},
		{"traveler/scan_test.go", "tallywalk/store", "the arrows from traveler go"},
		{"traveler/scan.go", "tallywalk/traveler/story", "the arrows from traveler go"},
		{"traveler/story/tell.go", "tallywalk/traveler/measure", "the arrows from traveler/story"},
		{"traveler/story/tell_test.go", "tallywalk/traveler/measure", ""},
		{"traveler/measure/yield.go", "tallywalk/traveler", ""},
		{"traveler/measure/yield.go", "tallywalk/traveler/stat", ""},
		{"traveler/measure/yield.go", "gonum.org/v1/gonum/stat", "traveler/measure may not"},
		{"traveler/stat/percentile.go", "gonum.org/v1/gonum/stat", ""},
		{"traveler/stat/percentile.go", "tallywalk/traveler/ground", "the arrows from traveler/stat"},
		{"traveler/ground/walk.go", "gonum.org/v1/gonum/graph/path", ""},
		{"traveler/ground/walk.go", "gonum.org/v2/gonum/graph", "traveler/ground may not"},
		{"traveler/ground/walk.go", "tallywalk/store", "the arrows from traveler/ground"},
		{"store/file.go", "go.etcd.io/bbolt", ""},
		{"store/file.go", "go.etcd.io/bbolt/errors", ""},
		{"store/file.go", "tallywalk/traveler/story", ""},
		{"store/file.go", "tallywalk/traveler/measure", "the arrows from store"},
		{"store/file.go", "tallywalk/store/desk", "the arrows from store"},
		{"store/file_test.go", "tallywalk/store/storetest", ""},
		{"store/desk/writer.go", "tallywalk/store", ""},
		{"store/desk/writer.go", "go.etcd.io/bbolt", "store/desk may not"},
		{"store/file.go", "tallywalk/web", "the arrows from store"},
		{"store/storetest/suite.go", "tallywalk/store", "the arrows from store"},
		{"store/storetest/suite.go", "tallywalk/kiosk", "the arrows from store"},
		{"kiosk/step.go", "tallywalk/labels", "the arrows from kiosk"},
		{"kiosk/step.go", "tallywalk/kioskish", "the arrows from kiosk"},
		{"kiosk/step.go", "go.etcd.io/bbolt", "kiosk may not"},
		{"labels/card.go", "codeberg.org/go-pdf/fpdf", ""},
		{"labels/card.go", "tallywalk/store", "the arrows from labels"},
		{"labels/card_test.go", "tallywalk/store", "the arrows from labels"},
		{"web/api.go", "github.com/gofiber/fiber/v2", ""},
		{"web/api.go", "go.etcd.io/bbolt", "web may not"},
		{"web/api.go", "tallywalk/cmd/tallywalk", "the arrows from web"},
		{"web/api.go", "tallywalk/web/figures", ""},
		{"web/ask/read.go", "tallywalk/web/door", "the arrows from web/ask"},
		{"web/door/who.go", "tallywalk/web/ask", ""},
		{"web/door/who.go", "tallywalk/web", "the arrows from web/door"},
		{"web/figures/a.go", "tallywalk/web/door", ""},
		{"web/figures/a.go", "tallywalk/web/floor", "the arrows from web/figures"},
		{"web/figures/a.go", "tallywalk/web/webtest", "the arrows from web/figures"},
		{"web/figures/a_test.go", "tallywalk/web/webtest", ""},
		{"web/figures/a_test.go", "tallywalk/web/floor", "the arrows from web/figures"},
		{"web/webtest/rig.go", "tallywalk/store", ""},
		{"web/attic/a.go", "tallywalk/traveler", "one of the rooms"},
		{"cmd/tallywalk/run.go", "tallywalk/store", ""},
		{"cmd/tallywalk/run.go", "tallywalk/web", ""},
		{"cmd/tallywalk/run.go", "tallywalk/traveler/study", ""},
		{"cmd/tallywalk/run.go", "go.etcd.io/bbolt", "cmd may not"},
		{"cmd/tallywalk/run_test.go", "go.etcd.io/bbolt", ""},
		{"testdata/gen.go", "go.etcd.io/bbolt", ""},
		{"web/vendor/x/x.go", "tallywalk/store", ""},
	}
	for _, test := range tests {
		t.Run(test.file+" "+test.imports, func(t *testing.T) {
			src := fmt.Sprintf("package p\n\nimport _ %q\n", test.imports)
			wantFault(t, houseOf(t, map[string]string{test.file: src}), test.fault)
		})
	}
}

func TestClock(t *testing.T) {
	const plain, renamed, dotted = `import "time"`, `import clock "time"`, `import . "time"`
	tests := []struct {
		file, imports, body string
		fault               string
	}{
		{"traveler/a.go", plain, "var t = time.Unix(0, 0)", ""},
		{"traveler/a.go", plain, "var t = time.Now()", "traveler/a.go:3:9: time.Now"},
		{"traveler/a.go", plain, "var now = time.Now", "time.Now"},
		{"traveler/a.go", plain, "func f(t time.Time) any { return time.Since(t) }", "time.Since"},
		{"traveler/a.go", plain, "func f(t time.Time) any { return time.Until(t) }", "time.Until"},
		{"traveler/a.go", renamed, "var t = clock.Now()", "time.Now"},
		{"traveler/a.go", dotted, "var t = Now()", "with a dot"},
		{"traveler/a.go", "", "type s struct{ Now func() }; func f(time s) { time.Now() }", ""},
		{"traveler/a.go", plain, "// time.Now is for cmd\nvar t time.Time", ""},
		{"traveler/a_test.go", plain, "var t = time.Now()", ""},
		{"traveler/a_test.go", plain, "func f() { time.Sleep(1) }", "time.Sleep"},
		{"web/webtest/a.go", plain, "var t = time.Now()", ""},
		{"web/webtest/a.go", plain, "func f() { time.Sleep(1) }", "time.Sleep"},
		{"cmd/tallywalk/a.go", plain, "var t = time.Now()", ""},
		{"web/webtest/a.go", plain, "var t = time.Now()", ""},
		{"web/webtest/a.go", plain, "func f() { time.Sleep(1) }", "time.Sleep"},
		{"web/floor/a.go", plain, "var t = time.Now()", "time.Now"},
		{"cmd/tallywalk/a_test.go", plain, "func f() { time.Sleep(1) }", "time.Sleep"},
	}
	for _, test := range tests {
		t.Run(test.file+" "+test.body, func(t *testing.T) {
			src := fmt.Sprintf("package p; %s\n\n%s\n", test.imports, test.body)
			wantFault(t, houseOf(t, map[string]string{test.file: src}), test.fault)
		})
	}
}

func TestEntries(t *testing.T) {
	for name, fault := range map[string]string{
		"go.mod":              "",
		".golangci.yml":       "",
		".ci/run":             "",
		"testdata/shop.txtar": "",
		"Makefile":            "Makefile: does not belong",
		"util/notes.txt":      "util: does not belong",
		"web/new/notes.txt":   "",
	} {
		wantFault(t, houseOf(t, map[string]string{name: "x\n"}), fault)
	}
	// A folder is named once, however many files it holds.
	wantFault(t, houseOf(t, map[string]string{"util/a": "", "util/b": ""}), "util: does not belong")
	// Go files at the top are no room, and the folder's name is no excuse.
	faults := houseOf(t, map[string]string{"main.go": "package main\n"})
	if len(faults) != 2 || !strings.Contains(faults[1], "one of the rooms") {
		t.Errorf("a Go file at the top: %q", faults)
	}
}

func TestLengths(t *testing.T) {
	const limit, module = 500, 450
	goFile := func(lines int) string { return "package p\n" + strings.Repeat("\n", lines-1) }
	for _, test := range []struct{ name, src, fault string }{
		{"web/a.go", goFile(limit), ""},
		{"web/a.go", goFile(limit + 1), "501 lines"},
		{"web/a_test.go", goFile(limit + 1), ""},
		{"web/lib/a.js", strings.Repeat("\n", module), ""},
		{"web/lib/a.js", strings.Repeat("\n", module+1), "451 lines"},
		{"web/lib/a.mjs", strings.Repeat("\n", module+1), "451 lines"},
		{"web/lib/a.test.js", strings.Repeat("\n", limit+1), ""},
		{"web/lib/vendor/a.js", strings.Repeat("\n", limit+1), ""},
		{"web/lib/a.css", strings.Repeat("\n", limit+1), ""},
	} {
		wantFault(t, houseOf(t, map[string]string{test.name: test.src}), test.fault)
	}
}

func TestUnparsableFileIsAnError(t *testing.T) {
	tree := fstest.MapFS{"web/a.go": {Data: []byte("package\n")}}
	if _, err := houseFaults(tree, []string{"web/a.go"}); err == nil ||
		!strings.Contains(err.Error(), "web/a.go") {
		t.Errorf("got %v, want an error that names the file", err)
	}
}

// wantFault wants no fault if want is empty, else exactly one that contains it.
func wantFault(t *testing.T, faults []string, want string) {
	t.Helper()
	switch {
	case want == "" && len(faults) > 0:
		t.Errorf("want no fault, got %q", faults)
	case want != "" && (len(faults) != 1 || !strings.Contains(faults[0], want)):
		t.Errorf("want one fault with %q, got %q", want, faults)
	}
}
