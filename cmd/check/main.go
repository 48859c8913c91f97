// Command check is the project's one test command: whatever has to hold before
// a change goes in, held by one call.
//
//	go run ./cmd/check [--install] [--long] [--fix] [step or ./package ...]
//
// It first looks for the programs that the chosen steps need, then runs the
// steps one after the other and says of each whether it passed and how long it
// took; what a step printed is shown when it failed. The exit status is 0 when
// all passed, 1 when something failed or is missing, 2 when the call made no
// sense.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	status := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(status)
}

// run is main with its surroundings as arguments. It returns the exit status.
func run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	opts, err := parseOptions(args, stdout)
	if errors.Is(err, flag.ErrHelp) {
		return 0
	}
	if err != nil {
		fmt.Fprintln(stderr, "check:", err)
		return 2
	}
	root, err := findRoot(".")
	if err != nil {
		fmt.Fprintln(stderr, "check:", err)
		return 2
	}
	if err := provide(ctx, opts, thisMachine(ctx), stdout); err != nil {
		fmt.Fprintln(stderr, "check:", err)
		return 1
	}
	p := &project{root: root, opts: opts}
	t := runSteps(ctx, p, opts.steps, stdout)
	fmt.Fprint(stdout, closing(table, opts, t))
	return t.exitStatus()
}
