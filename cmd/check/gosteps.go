package main

import (
	"bytes"
	"context"
	"errors"
	"io"
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

// checkTests runs all tests afresh: what a browser or another program answered
// last time is no news.
func checkTests(ctx context.Context, p *project, out io.Writer) error {
	// The race detector is C.
	env := []string{"CGO_ENABLED=1"}
	timeout := testTimeout
	if p.opts.long {
		env, timeout = append(env, "TALLYWALK_LONG=1"), longTimeout
	}
	var said bytes.Buffer
	args := slices.Concat([]string{"test", "-race", "-count=1", "-timeout=" + timeout}, p.opts.packages)
	err := p.run(ctx, io.MultiWriter(out, &said), env, "go", args...)
	if err == nil && testedPackages(said.String()) == 0 {
		return errors.New("no test ran: is the package pattern right?")
	}
	return err
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
