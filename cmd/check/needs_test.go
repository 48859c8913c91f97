package main

import (
	"context"
	"errors"
	"io"
	"slices"
	"strings"
	"testing"
)

func has(yes bool) func(context.Context) bool {
	return func(context.Context) bool { return yes }
}

func TestMissing(t *testing.T) {
	list := []need{
		{"press", "press-tools", "squeezes", has(false)},
		{"saw", "saws", "cuts", has(true)},
		{"file", "press-tools", "smooths", has(false)},
		{"drill", "drills", "bores", has(false)},
	}
	steps := []step{{name: "a", needs: []string{"file", "saw"}},
		{name: "b", needs: []string{"press", "file"}}}
	lacking := missing(t.Context(), list, steps)
	want := "missing: press, squeezes (Debian package press-tools)\nmissing: file, smooths (Debian package press-tools)\n"
	if got := describe(lacking); got != want {
		t.Errorf("got\n%swant\n%s", got, want)
	}
	if got := debs(lacking); !slices.Equal(got, []string{"press-tools"}) {
		t.Errorf("packages %q: each is to be named once", got)
	}
	if got := missing(t.Context(), list, []step{{name: "c", needs: []string{"saw"}}}); len(got) != 0 {
		t.Errorf("nothing is missing for the saw alone, got %v", got)
	}
}

// TestTableNeedsAreKnown catches a need that no entry explains, which would
// never be found missing.
func TestTableNeedsAreKnown(t *testing.T) {
	for _, s := range table {
		for _, name := range s.needs {
			if !slices.ContainsFunc(needs, func(n need) bool { return n.name == name }) {
				t.Errorf("step %s needs %q, which needs.go does not list", s.name, name)
			}
		}
	}
}

func TestOnPath(t *testing.T) {
	if !onPath("go")(t.Context()) {
		t.Error("go is not found, though it runs this test")
	}
	t.Setenv("PATH", t.TempDir())
	if onPath("go")(t.Context()) || preprocesses(t.Context()) {
		t.Error("something is found on an empty PATH")
	}
}

// The lines are those of os-release(5); the values are invented.
func TestReadRelease(t *testing.T) {
	tests := []struct {
		text, system string
		debian       bool
	}{
		{"PRETTY_NAME=\"Debian GNU/Linux 12 (bookworm)\"\nVERSION_ID=\"12\"\nID=debian\n",
			"Debian GNU/Linux 12 (bookworm)", true},
		{"ID='debian'\n", "an unknown system", true},
		{"PRETTY_NAME='Cousin 1'\nID=cousin\nID_LIKE=debian\n", "Cousin 1", false},
		{"", "an unknown system", false},
	}
	for _, test := range tests {
		system, debian := readRelease(test.text)
		if system != test.system || debian != test.debian {
			t.Errorf("%q: got %q, %v", test.text, system, debian)
		}
	}
}

// fakeMachine lacks a press until apt-get has installed it, if it can.
func fakeMachine(debian, root, installs bool) (m machine, calls *[]string) {
	calls = new([]string)
	press := need{"press", "press-tools", "squeezes", nil}
	lacking := []need{press}
	m = machine{system: "Cousin 1", debian: debian, root: root}
	m.lacking = func([]step) []need { return lacking }
	m.apt = func(args ...string) error {
		*calls = append(*calls, args[0]+" "+args[len(args)-1])
		if installs && args[0] == "install" {
			lacking = nil
		}
		return nil
	}
	return m, calls
}

func TestProvide(t *testing.T) {
	tests := []struct {
		about                           string
		debian, root, install, installs bool
		err                             string // part of it; "" = none
		calls                           []string
	}{
		{"installs", true, true, true, true, "", []string{"update -q", "install press-tools"}},
		{"installed in vain", true, true, true, false, "missing: press",
			[]string{"update -q", "install press-tools"}},
		{"not asked, as root", true, true, false, true,
			"--install, or run\n\tapt-get update && apt-get install -y --no-install-recommends press-tools",
			nil},
		{"not asked, not root", true, false, false, true,
			"--install as root, or run\n\tsudo apt-get update && sudo apt-get install", nil},
		{"asked, not root", true, false, true, true, "only root can install: run\n\tsudo apt-get", nil},
		{"another system", false, true, true, true, "this is Cousin 1 and not Debian", nil},
	}
	for _, test := range tests {
		t.Run(test.about, func(t *testing.T) {
			m, calls := fakeMachine(test.debian, test.root, test.installs)
			var out strings.Builder
			err := provide(t.Context(), options{install: test.install}, m, &out)
			if (err == nil) != (test.err == "") || err != nil && !strings.Contains(err.Error(), test.err) {
				t.Errorf("got error %v, want %q", err, test.err)
			}
			if !slices.Equal(*calls, test.calls) {
				t.Errorf("apt-get was called %q, want %q", *calls, test.calls)
			}
			if !strings.HasPrefix(out.String(), "missing: press, squeezes") {
				t.Errorf("does not say what is missing: %q", out.String())
			}
		})
	}
}

func TestProvideSaysWhyAptFailed(t *testing.T) {
	m, _ := fakeMachine(true, true, true)
	m.apt = func(...string) error { return errors.New("no network") }
	err := provide(t.Context(), options{install: true}, m, io.Discard)
	if err == nil || !strings.Contains(err.Error(), "apt-get update: no network") {
		t.Errorf("got %v", err)
	}
}

func TestProvideLeavesACompleteMachineAlone(t *testing.T) {
	m, calls := fakeMachine(false, false, false)
	m.lacking = func([]step) []need { return nil }
	var out strings.Builder
	if err := provide(t.Context(), options{install: true}, m, &out); err != nil || len(*calls) > 0 ||
		out.Len() > 0 {
		t.Errorf("got %v, %q, calls %q; want nothing at all", err, out.String(), *calls)
	}
}
