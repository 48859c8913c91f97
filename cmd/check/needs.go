package main

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"slices"
	"strings"
)

// need is something that a step wants on the machine.
type need struct {
	name  string
	pkg   string // the Debian package that brings it
	why   string
	there func(context.Context) bool
}

// needs lists all there are. The browser without a window takes a third of the time of the one with it, which
// will do where it is there already; it brings no font.
var needs = []need{
	{"git", "git", "to know which files are the project's", onPath("git")},
	{"gcc", "gcc", "for the race detector", onPath("gcc")},
	{"headers", "libc6-dev", "C's own headers, for the race detector", preprocesses},
	{"node", "nodejs", "checks the pages' own code and runs its tests", onPath("node")},
	{"npm", "npm", "gets the tools for the pages' own code", onPath("npm")},
	{"chromium", "chromium-headless-shell", "for the browser tests",
		onPath("chromium-headless-shell", "chromium")},
	{"font", "fonts-dejavu-core", "for what a page shows in a letter that is not of its own font",
		inFolder("/usr/share/fonts")},
	{"certutil", "libnss3-tools", "puts an authority into a browser's store", onPath("certutil")},
	{"openssl", "openssl", "reads certificates a second way", onPath("openssl")},
	{"zbarimg", "zbar-tools", "reads the printed codes back", onPath("zbarimg")},
	{"pdftoppm", "poppler-utils", "turns printed cards into pictures", onPath("pdftoppm")},
	{"pdftotext", "poppler-utils", "reads the text of printed cards", onPath("pdftotext")},
	{"ippeveprinter", "cups-ipp-utils", "a printer by others, to print to", onPath("ippeveprinter")},
	{"dbus-daemon", "dbus-daemon", "which that printer cannot do without", onPath("dbus-daemon")},
	{"datamash", "datamash", "works figures out a second time", onPath("datamash")},
	{"mlr", "miller", "works figures out a second time", onPath("mlr")},
	{"systemd-analyze", "systemd", "reads the unit file, and judges what the service may do",
		onPath("systemd-analyze")},
}

// onPath finds one of several programs that do the same.
func onPath(programs ...string) func(context.Context) bool {
	return func(context.Context) bool {
		return slices.ContainsFunc(programs, func(program string) bool {
			_, err := exec.LookPath(program)
			return err == nil
		})
	}
}

// inFolder finds anything in a folder.
func inFolder(dir string) func(context.Context) bool {
	return func(context.Context) bool {
		entries, err := os.ReadDir(dir)
		return err == nil && len(entries) > 0
	}
}

// preprocesses asks the compiler for a header, since where it keeps them is its
// own affair.
func preprocesses(ctx context.Context) bool {
	cmd := exec.CommandContext(ctx, "gcc", "-E", "-x", "c", "-")
	cmd.Stdin = strings.NewReader("#include <stdlib.h>\n")
	return cmd.Run() == nil
}

// missing returns what the steps need and the machine lacks, each once.
func missing(ctx context.Context, needs []need, steps []step) []need {
	var lacking []need
	for _, n := range needs {
		wanted := slices.ContainsFunc(steps, func(s step) bool { return slices.Contains(s.needs, n.name) })
		if wanted && !n.there(ctx) {
			lacking = append(lacking, n)
		}
	}
	return lacking
}

// describe lists what is missing, one a line.
func describe(lacking []need) string {
	var b strings.Builder
	for _, n := range lacking {
		fmt.Fprintf(&b, "missing: %s, %s (Debian package %s)\n", n.name, n.why, n.pkg)
	}
	return b.String()
}

// debs names the Debian packages that bring what is missing, each once.
func debs(lacking []need) []string {
	var names []string
	for _, n := range lacking {
		names = append(names, n.pkg)
	}
	slices.Sort(names)
	return slices.Compact(names)
}
