package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"maps"
	"slices"
	"strings"
)

// testTimeout stops a package whose tests hang, with the stacks of all its
// goroutines; longTimeout does so under --long, where kill series run.
const (
	testTimeout = "25m"
	longTimeout = "60m"
)

// checkTidy looks at the program's own go.mod only: tidying .tools/go.mod would
// first fetch what the tests of some two hundred modules need.
func checkTidy(ctx context.Context, p *project, out io.Writer) error {
	return p.run(ctx, out, nil, "go", "mod", "tidy", "-diff")
}

func checkVet(ctx context.Context, p *project, out io.Writer) error {
	return p.run(ctx, out, nil, "go", append([]string{"vet"}, p.opts.packages...)...)
}

// checkLint builds the linter on first use (about 75 s on two cores) and has it
// from the build cache afterwards.
func checkLint(ctx context.Context, p *project, out io.Writer) error {
	args := []string{"tool", "-modfile=.tools/go.mod", "golangci-lint", "run"}
	return p.run(ctx, out, nil, "go", append(args, p.opts.packages...)...)
}

// program is the package whose tests play whole days through the program and a
// browser. Under the race detector they take three to four times as long and mostly
// watch one simulation compute, so there only its tests of sockets, floods, kills
// and restores run; --long runs all of them so.
const (
	program      = module + "/cmd/tallywalk"
	programRaces = "^Test(Kill|Guesses|Codes|WhatIsTaken|TokensEnd|ServersClock|StationSends|DiskLost|BackupIs|StationToBoard|SecondServer|HistoryStops)"
)

// alone are packages that start nothing beside themselves: what they draw and read back
// takes the race detector minutes in which nothing can race. --long has them with it.
var alone = []string{module + "/labels", module + "/cmd/check", module + "/cmd/tallywalk/demo"}

// reckoning are tests that only work something out, or read damaged bytes, one after the
// other: the race detector makes minutes of their seconds, and there is nothing to find.
// --long has them with it.
var reckoning = map[string][]string{
	module + "/store":      {"TestScribbledFile"},
	module + "/store/desk": {"TestBitsFlip"},
	module + "/traveler/ahead": {"TestOwnDrawsAreUniform", "TestPennyFabOne", "TestJacksonNetworks",
		"TestMeanWaits", "TestErlangC"},
	module + "/traveler/study": {"TestIntervalsHoldTheTruth", "TestIntervalsSayWhatTheyHold",
		"TestStartQuantityIsEnough"},
	module + "/web/live": {"TestBoardsOfAFullFloorAreSmall"},
}

// reckoningPattern matches the names of those tests, as go test's -run and -skip do.
func reckoningPattern() string {
	return "^(" + strings.Join(
		slices.Sorted(slices.Values(slices.Concat(slices.Collect(maps.Values(reckoning))...))), "|") + ")$"
}

// checkTests runs the tests of all packages with the race detector, and those of
// the program as it is built for a shop. Tests that ask a browser, a disk or other
// programs run each time: what those answered last time is no news. The others are
// pure, and their results are kept until their code changes.
func checkTests(ctx context.Context, p *project, out io.Writer) error {
	packages, err := p.list(ctx)
	if err != nil {
		return err
	}
	tested := 0
	for _, part := range testParts(packages, p.opts.long) {
		var said bytes.Buffer
		if err := p.run(ctx, io.MultiWriter(out, &said), part.env, "go", part.args...); err != nil {
			return err
		}
		tested += testedPackages(said.String())
	}
	if tested == 0 {
		return errors.New("no test ran: is the package pattern right?")
	}
	return nil
}

// testPart is one call of go test.
type testPart struct{ env, args []string }

func testParts(packages []string, long bool) (parts []testPart) {
	part := func(packages []string, race bool, flags ...string) {
		if len(packages) == 0 {
			return
		}
		env, args := []string(nil), []string{"test", "-timeout=" + testTimeout}
		if long {
			env, args = []string{"TALLYWALK_LONG=1"}, []string{"test", "-timeout=" + longTimeout}
		}
		if race {
			env, args = append(env, "CGO_ENABLED=1"), append(args, "-race") // the race detector is C
		}
		parts = append(parts, testPart{env, slices.Concat(args, flags, packages)})
	}
	var pure, outside, single, whole []string
	for _, name := range packages {
		switch {
		case name == program && !long:
			whole = append(whole, name)
		case slices.Contains(alone, name) && !long:
			single = append(single, name)
		case within(name, module+"/traveler"):
			pure = append(pure, name)
		default:
			outside = append(outside, name)
		}
	}
	if long {
		part(pure, true)
		part(outside, true, "-count=1")
		return parts
	}
	slow := reckoningPattern()
	part(pure, true, "-skip="+slow)
	part(outside, true, "-count=1", "-p=4", "-skip="+slow) // half of them wait for a disk, an engine or a clock
	part(slices.DeleteFunc(slices.Concat(pure, outside),
		func(name string) bool { return reckoning[name] == nil }),
		false, "-run="+slow)
	part(whole, true, "-count=1", "-run="+programRaces)
	part(slices.Concat(single, whole), false, "-count=1")
	return parts
}

// testedPackages counts the packages of which go test says that their tests
// passed.
func testedPackages(output string) int {
	n := 0
	for line := range strings.Lines(output) {
		if strings.HasPrefix(line, "ok  \t") && !strings.Contains(line, "[no tests to run]") {
			n++
		}
	}
	return n
}

// checkBench runs every benchmark once, to see that it still runs; the figures
// of a single round mean nothing.
func checkBench(ctx context.Context, p *project, out io.Writer) error {
	args := []string{"test", "-run=^$", "-bench=.", "-benchtime=1x", "-timeout=" + longTimeout}
	return p.run(ctx, out, nil, "go", append(args, p.opts.packages...)...)
}
