package main

import (
	"context"
	"debug/elf"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"golang.org/x/tools/go/packages"
)

// What the program may weigh, in bytes, without its tables for debuggers: with the engine of a record on
// several computers in it, and without (-tags noengine). It is a quarter more as soon as any code that is
// reached finds methods by names that are made when it runs, as text/template does: then the linker keeps
// all methods. Which code that is, -ldflags=-dumpdep says: ReflectMethod.
const (
	maxBinary = 39_000_000
	maxSmall  = 30_000_000
)

// checkBuild builds the program as a shop would run it: for Linux and without C, so that one file can be
// copied to any machine there; with the engine and without. For Windows only its types are checked, so that
// what is written for one system does not leave the other without: to compile all that it imports once more
// takes a minute. The step pack builds a release for each system.
func checkBuild(ctx context.Context, p *project, out io.Writer) (err error) {
	dir, err := os.MkdirTemp("", "tallywalk-check-")
	if err != nil {
		return fmt.Errorf("no room for the binary: %w", err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	binary := filepath.Join(dir, "tallywalk")
	for _, b := range []struct {
		tags  string
		limit int64
	}{{"", maxBinary}, {"noengine", maxSmall}} {
		env := []string{"GOOS=linux"}
		if err := p.run(ctx, out, env, "go", "build", "-tags="+b.tags, "-ldflags=-s -w", "-o", binary,
			"./cmd/tallywalk"); err != nil {
			return err
		}
		if err := checkBinary(binary, b.limit); err != nil {
			return fmt.Errorf("with the tags %q: %w", b.tags, err)
		}
	}
	return p.checkWindows(ctx, out)
}

// checkWindows fails when the program, or what it imports, has a fault of types when it
// is read for Windows; each is printed.
func (p *project) checkWindows(ctx context.Context, out io.Writer) error {
	roots, err := packages.Load(&packages.Config{
		Context: ctx, Dir: p.root, Env: append(os.Environ(), "CGO_ENABLED=0", "GOOS=windows", "GOARCH=amd64"),
		Mode: packages.NeedName | packages.NeedFiles | packages.NeedCompiledGoFiles | packages.NeedImports |
			packages.NeedDeps | packages.NeedTypes | packages.NeedSyntax | packages.NeedTypesSizes,
	}, "./cmd/tallywalk")
	if err != nil {
		return fmt.Errorf("for Windows: %w", err)
	}
	faults := 0
	packages.Visit(roots, nil, func(found *packages.Package) {
		for _, e := range found.Errors {
			faults++
			fmt.Fprintln(out, e)
		}
	})
	if len(roots) == 0 || faults > 0 {
		return fmt.Errorf("for Windows: %d packages to read, %d faults", len(roots), faults)
	}
	return nil
}

// checkBinary wants a file of at most limit bytes that needs no other file to
// run.
func checkBinary(path string, limit int64) error {
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	if info.Size() > limit {
		return fmt.Errorf(
			"the binary has %d bytes, %d are the limit: see maxBinary and maxSmall in cmd/check/build.go",
			info.Size(), limit)
	}
	file, err := elf.Open(path)
	if err != nil {
		return fmt.Errorf("the binary is no Linux program: %w", err)
	}
	libs, err := file.ImportedLibraries()
	err = errors.Join(err, file.Close())
	if err != nil {
		return fmt.Errorf("the binary's libraries: %w", err)
	}
	if len(libs) > 0 {
		return fmt.Errorf("the binary is not static: it needs %q", libs)
	}
	for _, prog := range file.Progs {
		if prog.Type == elf.PT_INTERP {
			return errors.New("the binary is not static: it asks for a loader")
		}
	}
	return nil
}
