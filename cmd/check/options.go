package main

import (
	"flag"
	"fmt"
	"io"
	"strings"
)

// options are what the caller asked for.
type options struct {
	install  bool     // get what is missing
	long     bool     // add the steps and tests that take long
	fix      bool     // mend the formatting instead of complaining
	steps    []step   // in the order of the table
	named    bool     // the caller named steps
	packages []string // package patterns for vet, lint, test and bench
}

// everything is all packages.
var everything = []string{"./..."}

// parseOptions reads the command line. Arguments that begin with a dot are
// package patterns, all others are names of steps.
func parseOptions(args []string, out io.Writer) (options, error) {
	var opts options
	flags := flag.NewFlagSet("check", flag.ContinueOnError)
	flags.SetOutput(io.Discard)
	flags.BoolVar(&opts.install, "install", false, "get missing programs with apt-get (Debian, as root)")
	flags.BoolVar(&opts.long, "long", false, "also run fuzz targets, benchmarks and the long tests")
	flags.BoolVar(&opts.fix, "fix", false, "format the Go files and the scripts that need it")
	flags.Usage = func() { usage(flags, out) }
	if err := flags.Parse(args); err != nil {
		return options{}, err
	}
	var names []string
	for _, arg := range flags.Args() {
		switch {
		case strings.HasPrefix(arg, "-"):
			return options{}, fmt.Errorf("write %s before the names of steps", arg)
		case strings.HasPrefix(arg, "."):
			opts.packages = append(opts.packages, arg)
		default:
			names = append(names, arg)
		}
	}
	if len(opts.packages) == 0 {
		opts.packages = everything
	}
	opts.named = len(names) > 0
	var err error
	opts.steps, err = chooseSteps(table, names, opts.long)
	return opts, err
}

func usage(flags *flag.FlagSet, out io.Writer) {
	fmt.Fprint(out, "usage: go run ./cmd/check [flags] [step or ./package ...]\n\nflags:\n")
	flags.SetOutput(out)
	flags.PrintDefaults()
	fmt.Fprint(out, "\nsteps:\n")
	for _, s := range table {
		about := s.about
		if s.long {
			about += " (only with --long, or when named)"
		}
		fmt.Fprintf(out, "  %-8s %s\n", s.name, about)
	}
}
