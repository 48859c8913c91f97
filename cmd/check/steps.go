package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
)

// step is one thing that has to hold.
type step struct {
	name  string
	about string
	needs []string // programs, by their names in needs.go
	long  bool     // only with --long, or when named
	less  string   // what of it only --long runs
	live  bool     // show the output as it comes, because the step takes minutes
	run   func(ctx context.Context, p *project, out io.Writer) error
}

// forTests are the programs that the project's own tests call.
var forTests = []string{"gcc", "headers", "git", "node", "npm", "chromium", "font", "certutil", "openssl", "zbarimg",
	"pdftoppm", "pdftotext", "ippeveprinter", "dbus-daemon", "datamash", "mlr", "systemd-analyze"}

// table holds all steps, quick ones first, so that a slip shows at once.
var table = []step{
	{name: "format", about: "Go files are formatted", needs: []string{"git"}, run: checkFormat},
	{name: "arrows",
		about: "who imports whom, in Go and in the pages; the clock, top-level entries, lengths of files",
		needs: []string{"git"}, run: checkHouse},
	{name: "sentences",
		about: "what people read: every key has a sentence, every sentence a user, every language all of its own", needs: []string{"git"}, run: checkSentences},
	{name: "tidy", about: "go.mod and go.sum say what is used", run: checkTidy},
	{name: "vet", about: "go vet, which lint has as well", long: true, run: checkVet},
	{name: "build", about: "one static binary under its limit, with the engine and without; types for Windows", run: checkBuild},
	{name: "lint", about: "golangci-lint as pinned in .tools/go.mod", run: checkLint},
	{name: "page", about: "format, types and tests of the pages' own code, with the tools that .tools/package-lock.json pins", needs: []string{"git", "node", "npm"}, run: checkPage},
	{name: "test", about: "all tests, with the race detector but for what is drawn and for whole days of the program and its browser", needs: forTests, live: true, run: checkTests,
		less: "500 rounds of kill -9, 1,000 histories a setting, a year of the demo, every page and glass size in each theme, and the race detector over whole days of the program, over what is drawn and what only reckons"},
	{name: "pack", about: "a release for every system: headers, checksums, a start, and the same bytes from another folder", needs: []string{"git"}, long: true, run: checkPack},
	{name: "fuzz", about: "every fuzz target for ten minutes", needs: []string{"git"}, long: true, live: true,
		run: checkFuzz},
	{name: "bench", about: "every benchmark once", needs: forTests, long: true, live: true, run: checkBench},
}

// chooseSteps returns the named steps in the order of the table; without names,
// all of them, the long ones only if asked for.
func chooseSteps(table []step, names []string, long bool) ([]step, error) {
	for _, name := range names {
		if !slices.ContainsFunc(table, func(s step) bool { return s.name == name }) {
			return nil, fmt.Errorf("no step is called %q: choose from %s, and begin a package with ./",
				name, strings.Join(stepNames(table), ", "))
		}
	}
	var chosen []step
	for _, s := range table {
		switch {
		case len(names) > 0 && slices.Contains(names, s.name):
			chosen = append(chosen, s)
		case len(names) == 0 && (long || !s.long):
			chosen = append(chosen, s)
		}
	}
	return chosen, nil
}

// notRun says what of the table was not run, and why; empty when all of it was.
func notRun(table []step, opts options) string {
	var out, others []string
	for _, s := range table {
		chosen := slices.ContainsFunc(opts.steps, func(o step) bool { return o.name == s.name })
		switch {
		case !chosen && (opts.named || !s.long):
			others = append(others, s.name)
		case !chosen:
			out = append(out, fmt.Sprintf("%s (%s): only with --long, or when named", s.name, s.about))
		case s.less != "" && !opts.long:
			out = append(out, fmt.Sprintf("of %s: %s: only with --long", s.name, s.less))
		}
	}
	if len(others) > 0 {
		out = append(out, strings.Join(others, ", ")+": not named")
	}
	if len(opts.packages) > 0 && !slices.Equal(opts.packages, everything) {
		out = append(out, "other packages than "+strings.Join(opts.packages, " ")+": not named")
	}
	return strings.Join(out, "\n  ")
}

func stepNames(steps []step) []string {
	names := make([]string, 0, len(steps))
	for _, s := range steps {
		names = append(names, s.name)
	}
	return names
}
