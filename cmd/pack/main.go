// Command pack makes what a shop installs: the program as one static file for each
// system, with checksums, a bill of materials and the licences of what is in it.
//
//	go run ./cmd/pack --out dist [--only linux/amd64]
//
// # Decisions, with their reasons
//
//   - The same commit gives the same bytes, wherever and whenever it is packed with the
//     Go that go.mod names: paths are trimmed, no C compiler takes part, and Go's own
//     stamp of the version control is off, since it differs between a clone, a worktree and an
//     unpacked archive. The commit is written into the program here instead; "changed"
//     follows it when files differ from it. The one date, in the bill of materials, is
//     the commit's, or that of SOURCE_DATE_EPOCH (reproducible-builds.org).
//   - It is a command of its own and no step of cmd/check, which changes nothing in the
//     checkout; its step pack, of --long, calls this twice and compares.
//   - The bill is SPDX 2.3 as JSON: an open standard (its 2.2.1 is ISO/IEC 5962:2021)
//     that needs no library. It lists what Go linked, as the binaries themselves say,
//     and what lies in the pages.
//   - A licence that is not recognised stops it: someone has to read that one.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	err := run(ctx, os.Args[1:], os.Stdout)
	stop()
	if err != nil && !errors.Is(err, flag.ErrHelp) {
		fmt.Fprintln(os.Stderr, "pack:", err)
		os.Exit(1)
	}
}

// run packs as args ask, from the working directory, which is the top of the checkout.
// It fails where the call makes no sense or a step of packing does.
func run(ctx context.Context, args []string, stdout io.Writer) error {
	f := flag.NewFlagSet("pack", flag.ContinueOnError)
	out := f.String("out", "dist", "folder for what is made; what is there under the same names is replaced")
	only := f.String("only", "", "one system, such as linux/amd64; all where nothing is said")
	stamp := f.String("stamp", "",
		"commit and its time in seconds since 1970, such as 3f2a91c@1700000000 (git's)")
	if err := f.Parse(args); err != nil {
		return err
	}
	if f.NArg() > 0 {
		return fmt.Errorf("%q is not expected here", f.Arg(0))
	}
	chosen, err := choose(*only)
	if err != nil {
		return err
	}
	r, err := releaseOf(ctx, *stamp)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(*out, 0o755); err != nil {
		return err
	}
	made, err := r.pack(ctx, chosen, *out)
	if err != nil {
		return err
	}
	for _, m := range made {
		fmt.Fprintf(stdout, "%s  %9d bytes  %s\n", m.sum[:16], m.size, m.name)
	}
	fmt.Fprintf(stdout, "version %s, commit %s\n", r.version, r.commit)
	fmt.Fprintf(stdout, "check with: cd %s && sha256sum -c %s\n", *out, sumsName)
	return nil
}

// choose gives the target of a name, all of them for none. It fails for a name that is
// none of theirs.
func choose(only string) ([]target, error) {
	if only == "" {
		return targets, nil
	}
	var names []string
	for _, t := range targets {
		if t.String() == only {
			return []target{t}, nil
		}
		names = append(names, t.String())
	}
	return nil, fmt.Errorf("--only is one of %s, not %q", strings.Join(names, ", "), only)
}
