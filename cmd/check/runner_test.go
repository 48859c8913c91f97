package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"testing"
)

func says(text string, err error) func(context.Context, *project, io.Writer) error {
	return func(_ context.Context, _ *project, out io.Writer) error {
		fmt.Fprint(out, text)
		return err
	}
}

func TestRunSteps(t *testing.T) {
	steps := []step{
		{name: "quiet", run: says("of no interest\n", nil)},
		{name: "broken", run: says("a.go:1: broken\n", errors.New("1 broken file"))},
		{name: "live", live: true, run: says("ok  \ttallywalk/a\t0.1s\n", nil)},
	}
	var out strings.Builder
	got := runSteps(t.Context(), &project{}, steps, &out)
	if got != (tally{passed: 2, failed: 1}) {
		t.Errorf("got %+v", got)
	}
	want := regexp.MustCompile(`^quiet    +[\d.]+ s  passed
broken   +[\d.]+ s  FAILED: 1 broken file
a.go:1: broken

ok  \ttallywalk/a\t0.1s
live     +[\d.]+ s  passed
all      +[\d.]+ s
$`)
	if !want.MatchString(out.String()) {
		t.Errorf("got\n%s\nwant\n%s", out.String(), want)
	}
}

// The end names what did not run; the tally stands alone on the last line.
func TestClosing(t *testing.T) {
	all := []step{{name: "quick", less: "the slow half"}, {name: "slow", about: "takes hours", long: true},
		{name: "other"}}
	for _, x := range []struct {
		opts options
		want string
	}{
		{options{steps: []step{all[0], all[2]}, packages: everything}, `not run:
  of quick: the slow half: only with --long
  slow (takes hours): only with --long, or when named
1 passed, 0 failed
`},
		{options{steps: []step{all[1]}, named: true, packages: []string{"./a"}}, `not run:
  quick, other: not named
  other packages than ./a: not named
1 passed, 0 failed
`},
		{options{steps: all, long: true, packages: everything}, "1 passed, 0 failed\n"},
	} {
		if got := closing(all, x.opts, tally{passed: 1}); got != x.want {
			t.Errorf("got\n%s\nwant\n%s", got, x.want)
		}
	}
}

func TestInterruptedStepFails(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	var out strings.Builder
	got := runSteps(ctx, &project{}, []step{{name: "a", run: says("", nil)}}, &out)
	if got.exitStatus() != 1 || !strings.Contains(out.String(), "interrupted") {
		t.Errorf("got %+v and %q", got, out.String())
	}
}

func TestExitStatus(t *testing.T) {
	for _, test := range []struct {
		tally  tally
		status int
	}{
		{tally{passed: 3}, 0},
		{tally{passed: 3, failed: 1}, 1},
		{tally{failed: 1}, 1},
		{tally{}, 1}, // nothing ran: nothing is known
	} {
		if got := test.tally.exitStatus(); got != test.status {
			t.Errorf("%v: exit status %d, want %d", test.tally, got, test.status)
		}
	}
}

func TestRunStatus(t *testing.T) {
	for _, test := range []struct {
		args   []string
		status int
		stdout string
		stderr string
	}{
		{[]string{"-h"}, 0, "arrows   who imports whom", ""},
		{[]string{"--fast"}, 2, "", "fast"},
		{[]string{"polish"}, 2, "", "no step is called \"polish\""},
		{[]string{"vet", "--long"}, 2, "", "write --long before"},
		{[]string{"vet", "./nowhere"}, 1, "0 passed, 1 failed\n", ""},
		{[]string{"vet", "./cmd/check"}, 0, "1 passed, 0 failed\n", ""},
	} {
		t.Run(strings.Join(test.args, " "), func(t *testing.T) {
			var stdout, stderr strings.Builder
			status := run(t.Context(), test.args, &stdout, &stderr)
			if status != test.status || !strings.Contains(stdout.String(), test.stdout) ||
				!strings.Contains(stderr.String(), test.stderr) {
				t.Errorf("exit status %d, want %d\nstdout: %s\nstderr: %s", status, test.status, &stdout,
					&stderr)
			}
		})
	}
}

func TestChooseSteps(t *testing.T) {
	list := []step{{name: "a"}, {name: "b"}, {name: "c", long: true}}
	for _, test := range []struct {
		names []string
		long  bool
		want  []string
	}{
		{nil, false, []string{"a", "b"}},
		{nil, true, []string{"a", "b", "c"}},
		{[]string{"b", "a", "b"}, false, []string{"a", "b"}},
		{[]string{"c"}, false, []string{"c"}},
		{[]string{"a"}, true, []string{"a"}},
	} {
		got, err := chooseSteps(list, test.names, test.long)
		if err != nil || !slices.Equal(stepNames(got), test.want) {
			t.Errorf("%q, long %v: got %q, %v", test.names, test.long, stepNames(got), err)
		}
	}
}

func TestParseOptions(t *testing.T) {
	opts, err := parseOptions([]string{"--fix", "format", "./web/...", "vet"}, io.Discard)
	if err != nil {
		t.Fatal(err)
	}
	if !opts.fix || opts.install || opts.long {
		t.Errorf("flags: %+v", opts)
	}
	if !slices.Equal(stepNames(opts.steps), []string{"format", "vet"}) ||
		!slices.Equal(opts.packages, []string{"./web/..."}) {
		t.Errorf("steps %q, packages %q", stepNames(opts.steps), opts.packages)
	}
	opts, err = parseOptions(nil, io.Discard)
	if err != nil || !slices.Equal(opts.packages, []string{"./..."}) {
		t.Errorf("without arguments: packages %q, %v", opts.packages, err)
	}
}
