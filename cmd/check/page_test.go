package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

func TestPageTests(t *testing.T) {
	got := pageTests(
		[]string{"kiosk/page/_a.test.js", "kiosk/page/a.js", "web/lib/vendor/b.test.js", "kiosk/a_test.go"})
	if !slices.Equal(got, []string{"kiosk/page/_a.test.js"}) {
		t.Errorf("got %q", got)
	}
}

// A page's test that fails fails the step, and what it printed is shown.
func TestPageTestsSayWhatFails(t *testing.T) {
	dir := t.TempDir()
	write(t, dir, "package.json", `{"type": "module"}`)
	write(t, dir, "_a.test.js",
		"import test from 'node:test';\ntest('the wheel turns', () => { throw new Error('it stands'); });\n")
	p := &project{root: dir}
	var out strings.Builder
	err := p.pageTests(t.Context(), &out, []string{"_a.test.js"})
	if err == nil || !strings.Contains(out.String(), "the wheel turns") ||
		!strings.Contains(out.String(), "it stands") {
		t.Errorf("got %v and %q", err, out.String())
	}
	write(t, dir, "_a.test.js", "import test from 'node:test';\ntest('the wheel turns', () => {});\n")
	if err := p.pageTests(t.Context(), &out, []string{"_a.test.js"}); err != nil {
		t.Errorf("a test that passes: %v", err)
	}
	if err := p.pageTests(t.Context(), &out, nil); err == nil {
		t.Error("no test at all passes")
	}
}

// npm is asked once for what the lock file pins, and again when that changes;
// when it fails, so does the step.
func TestNpmToolsAreInstalledOnce(t *testing.T) {
	dir, programs := t.TempDir(), t.TempDir()
	write(t, dir, ".tools/package-lock.json", "one")
	// This npm only counts how often it was asked for an install.
	write(t, programs, "npm", "#!/bin/sh\nmkdir -p node_modules\necho x >> ../asked\ntest ! -e ../fails\n")
	if err := os.Chmod(filepath.Join(programs, "npm"), 0o700); err != nil {
		t.Fatal(err)
	}
	t.Setenv("PATH", programs+string(os.PathListSeparator)+os.Getenv("PATH"))
	p := &project{root: dir}
	asked := func() int {
		b, err := os.ReadFile(filepath.Join(dir, "asked"))
		if err != nil {
			t.Fatal(err)
		}
		return strings.Count(string(b), "x")
	}
	for _, lock := range []string{"one", "one", "two"} {
		write(t, dir, ".tools/package-lock.json", lock)
		if err := p.npmTools(t.Context(), &strings.Builder{}); err != nil {
			t.Fatal(err)
		}
	}
	if n := asked(); n != 2 {
		t.Errorf("asked %d times", n)
	}
	write(t, dir, "fails", "")
	write(t, dir, ".tools/package-lock.json", "three")
	for range 2 {
		if err := p.npmTools(t.Context(), &strings.Builder{}); err == nil {
			t.Error("an install that failed counts as done")
		}
	}
}

// The formatter's own part: templates get lines where the template language lets
// them be, and a formatted one stays as it is.
func TestTemplatesAreFormatted(t *testing.T) {
	root, err := findRoot(".")
	if err != nil {
		t.Fatal(err)
	}
	p := &project{root: root}
	if err := p.npmTools(t.Context(), &strings.Builder{}); err != nil {
		t.Fatal(err)
	}
	format := func(text string) string {
		cmd := exec.CommandContext(t.Context(), "node", npmTool("prettier/bin/prettier.cjs"),
			"--stdin-filepath=web/lib/a.js")
		cmd.Dir, cmd.Stdin = root, strings.NewReader(text)
		out, err := cmd.Output()
		if err != nil {
			t.Fatalf("%v", err)
		}
		return string(out)
	}
	long := strings.Repeat("word ", 25)
	const want = "const a = html`<p\n  class=${one}\n"
	for _, test := range []struct{ text, want string }{
		{"html`<p>a</p>`", "html`<p>a</p>`;\n"},
		{"html`<b>a</b> ${x}`", "html`<b>a</b> ${x}`;\n"},
		{"html`<i>" + long + "</i>`", "html`<i>\n  word word"},
		{"const a = html`<p class=${one} data-a=\"" + strings.Repeat("x", 100) + "\">a</p>`", want},
		{"html`<b>" + strings.Repeat("x", 60) + "</b> <b>" + strings.Repeat("y", 60) + "</b>`",
			"</b>${\" \"}\n"},
	} {
		got := format(test.text)
		if !strings.Contains(got, test.want) {
			t.Errorf("%s\nis formatted\n%s\nwant %s", test.text, got, test.want)
		}
		if again := format(got); again != got {
			t.Errorf("formatted again it is\n%s\nand was\n%s", again, got)
		}
	}
}

func write(t *testing.T, dir, name, text string) {
	t.Helper()
	name = filepath.Join(dir, name)
	if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}
