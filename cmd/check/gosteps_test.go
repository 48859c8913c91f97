package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
)

// TestTestedPackages reads lines as go test prints them ("go help test",
// package list mode).
func TestTestedPackages(t *testing.T) {
	for _, test := range []struct {
		output string
		want   int
	}{
		{"", 0},
		{"?   \ttallywalk/a\t[no test files]\n", 0},
		{"ok  \ttallywalk/a\t0.012s [no tests to run]\n", 0},
		{"ok  \ttallywalk/a\t0.012s\n?   \ttallywalk/b\t[no test files]\nok  \ttallywalk/c\t(cached)\n", 2},
		{"--- FAIL: TestA (0.00s)\nFAIL\ttallywalk/a\t0.01s\nok  \ttallywalk/b\t0.01s", 1},
		{"it is ok  \twith me\n", 0},
	} {
		if got := testedPackages(test.output); got != test.want {
			t.Errorf("%q: got %d, want %d", test.output, got, test.want)
		}
	}
}

func TestFuzzTargets(t *testing.T) {
	tree := fstest.MapFS{
		"a/code_test.go": {
			Data: []byte("package a\nfunc FuzzCode(f *testing.F) {}\nfunc TestCode(t *testing.T) {}\nfunc FuzzRoute(f *testing.F) {}\n")},
		"a/code.go": {Data: []byte("package a\nfunc FuzzyMatch() {}\n")},
		"b/b_test.go": {
			Data: []byte("package b\n// func FuzzComment(f *testing.F) {}\ntype s struct{}\nfunc (s) FuzzMethod() {}\n")},
		"b/testdata/c_test.go": {
			Data: []byte("package c\nfunc FuzzFixture(f *testing.F) {}\n"),
		},
	}
	files := []string{"a/code.go", "a/code_test.go", "b/b_test.go", "b/testdata/c_test.go"}
	got, err := fuzzTargets(tree, files)
	want := []fuzzTarget{{"a", "FuzzCode"}, {"a", "FuzzRoute"}}
	if err != nil || !slices.Equal(got, want) {
		t.Errorf("got %v, %v; want %v", got, err, want)
	}
	if _, err := fuzzTargets(tree, []string{"a/gone_test.go"}); err == nil {
		t.Error("a file that cannot be read is no error")
	}
}

func TestFormatFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.go")
	write := func(src string) {
		t.Helper()
		if err := os.WriteFile(path, []byte(src), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	want := func(fix, ok bool, after string) {
		t.Helper()
		got, err := formatFile(path, fix)
		if err != nil || got != ok {
			t.Errorf("fix %v: got %v, %v", fix, got, err)
		}
		if src, err := os.ReadFile(path); err != nil || string(src) != after {
			t.Errorf("fix %v: the file holds %q, %v", fix, src, err)
		}
	}
	write("package  a\n")
	want(false, false, "package  a\n")
	want(true, true, "package a\n")
	want(false, true, "package a\n")
	write("package\n")
	if _, err := formatFile(path, true); err == nil {
		t.Error("a file that does not parse is no error")
	}
}

// TestCheckBinary builds a static program, and one that asks for a loader,
// which is what -buildmode=pie makes on Linux.
func TestCheckBinary(t *testing.T) {
	dir := t.TempDir()
	source := filepath.Join(dir, "main.go")
	if err := os.WriteFile(source, []byte("package main\n\nfunc main() {}\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	build := func(mode string) string {
		t.Helper()
		binary := filepath.Join(dir, mode)
		env := []string{"CGO_ENABLED=0", "GOOS=linux", "GOARCH=amd64"}
		var said strings.Builder
		p := &project{root: dir}
		if err := p.run(t.Context(), &said, env, "go", "build", "-buildmode="+mode, "-o", binary,
			source); err != nil {
			t.Fatalf("%v\n%s", err, &said)
		}
		return binary
	}
	static, loaded := build("exe"), build("pie")
	if err := checkBinary(static, maxBinary); err != nil {
		t.Errorf("a static program: %v", err)
	}
	for _, test := range []struct {
		path  string
		limit int64
		want  string
	}{
		{static, 1000, "1000 are the limit"},
		{loaded, maxBinary, "not static"},
		{source, maxBinary, "no Linux program"},
		{filepath.Join(dir, "gone"), maxBinary, "gone"},
	} {
		if err := checkBinary(test.path, test.limit); err == nil ||
			!strings.Contains(err.Error(), test.want) {
			t.Errorf("%s: got %v, want %q", filepath.Base(test.path), err, test.want)
		}
	}
}

func TestFindRoot(t *testing.T) {
	dir := t.TempDir()
	if root, err := findRoot(dir); err == nil {
		t.Errorf("found %s above an empty folder", root)
	}
	deep := filepath.Join(dir, "a", "b")
	if err := os.MkdirAll(deep, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "go.mod"), []byte("module m\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if root, err := findRoot(deep); err != nil || root != dir {
		t.Errorf("got %s, %v; want %s", root, err, dir)
	}
}

// TestTestParts: each package is tested once, the program both as it is built and,
// in part, with the race detector; under --long all of it is.
func TestTestParts(t *testing.T) {
	packages := []string{"tallywalk/cmd/tallywalk", "tallywalk/cmd/tallywalk/demo", "tallywalk/store",
		"tallywalk/traveler", "tallywalk/traveler/stat"}
	var short []string
	for _, p := range testParts(packages, false) {
		short = append(short, strings.Join(p.args, " "))
	}
	want := []string{
		"test -timeout=25m -race -skip=" + reckoningPattern() + " tallywalk/traveler tallywalk/traveler/stat",
		"test -timeout=25m -race -count=1 -p=4 -skip=" + reckoningPattern() + " tallywalk/store",
		"test -timeout=25m -run=" + reckoningPattern() + " tallywalk/store",
		"test -timeout=25m -race -count=1 -run=" + programRaces + " tallywalk/cmd/tallywalk",
		"test -timeout=25m -count=1 tallywalk/cmd/tallywalk/demo tallywalk/cmd/tallywalk",
	}
	if !slices.Equal(short, want) {
		t.Errorf("got %q", short)
	}
	long := testParts(packages, true)
	if len(long) != 2 || !slices.Contains(long[1].args, "tallywalk/cmd/tallywalk") ||
		!slices.Contains(long[1].args, "-race") ||
		!slices.Contains(long[1].env, "TALLYWALK_LONG=1") {
		t.Errorf("long: %+v", long)
	}
	if parts := testParts([]string{"tallywalk/labels"}, false); len(parts) != 1 {
		t.Errorf("one package: %+v", parts)
	}
}

// What is left out of one run must be in the other: each test is where it is said to be.
func TestReckoningTestsAreThere(t *testing.T) {
	for pkg, tests := range reckoning {
		dir := filepath.Join("..", "..", strings.TrimPrefix(pkg, module+"/"))
		names, err := filepath.Glob(filepath.Join(dir, "*_test.go"))
		if err != nil {
			t.Fatal(err)
		}
		var src []byte
		for _, name := range names {
			text, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			src = append(src, text...)
		}
		for _, test := range tests {
			if !strings.Contains(string(src), "\nfunc "+test+"(") {
				t.Errorf("%s has no %s", pkg, test)
			}
		}
	}
}
