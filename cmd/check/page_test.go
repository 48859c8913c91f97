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
	got := pageTests([]string{"kiosk/page/_a.test.js", "kiosk/page/a.js", "web/static/vendor/b.test.js", "kiosk/a_test.go"})
	if !slices.Equal(got, []string{"kiosk/page/_a.test.js"}) {
		t.Errorf("got %q", got)
	}
}

// A page's test that fails fails the step, and what it printed is shown.
func TestCheckPageSaysWhatFails(t *testing.T) {
	dir := t.TempDir()
	for name, text := range map[string]string{
		"go.mod":       "module x\n",
		"package.json": `{"type": "module"}`,
		"_a.test.js":   "import test from 'node:test';\ntest('the wheel turns', () => { throw new Error('it stands'); });\n",
	} {
		write(t, dir, name, text)
	}
	p := &project{root: dir}
	if err := exec.CommandContext(t.Context(), "git", "-C", dir, "init", "-q").Run(); err != nil {
		t.Fatal(err)
	}
	var out strings.Builder
	err := checkPage(t.Context(), p, &out)
	if err == nil || !strings.Contains(out.String(), "the wheel turns") || !strings.Contains(out.String(), "it stands") {
		t.Errorf("got %v and %q", err, out.String())
	}
	write(t, dir, "_a.test.js", "import test from 'node:test';\ntest('the wheel turns', () => {});\n")
	if err := checkPage(t.Context(), p, &out); err != nil {
		t.Errorf("a test that passes: %v", err)
	}
}

func write(t *testing.T, dir, name, text string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}
