package main

import (
	"context"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"io/fs"
	"os"
	"path"
	"strings"
)

// fuzzTime is how long each target gets. What a run finds new ways with, go keeps in
// its build cache, so the next run begins where this one ended; what fails, it writes
// to testdata/fuzz of the package, to be committed with the repair.
const fuzzTime = "10m"

// fuzzTarget is one fuzz function and the folder of its package.
type fuzzTarget struct {
	dir, name string
}

// checkFuzz gives every fuzz target its time, one by one, because go test takes
// only one target a call.
func checkFuzz(ctx context.Context, p *project, out io.Writer) error {
	files, err := p.files(ctx)
	if err != nil {
		return err
	}
	targets, err := fuzzTargets(os.DirFS(p.root), files)
	if err != nil {
		return err
	}
	if len(targets) == 0 {
		return errors.New("no fuzz target found in any test file")
	}
	var faults []error
	for _, t := range targets {
		fmt.Fprintf(out, "fuzz     %s %s for %s\n", t.dir, t.name, fuzzTime)
		faults = append(faults, p.run(ctx, out, nil, "go", "test", "-run=^$", "-fuzz=^"+t.name+"$",
			"-fuzztime="+fuzzTime, "-timeout="+longTimeout, "./"+t.dir))
	}
	return errors.Join(faults...)
}

// fuzzTargets finds the fuzz functions in the test files among files.
func fuzzTargets(fsys fs.FS, files []string) ([]fuzzTarget, error) {
	var targets []fuzzTarget
	for _, name := range files {
		if !strings.HasSuffix(name, "_test.go") || isFixture(name) {
			continue
		}
		src, err := fs.ReadFile(fsys, name)
		if err != nil {
			return nil, err
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, src, parser.SkipObjectResolution)
		if err != nil {
			return nil, err
		}
		for _, decl := range file.Decls {
			if f, ok := decl.(*ast.FuncDecl); ok && f.Recv == nil && strings.HasPrefix(f.Name.Name, "Fuzz") {
				targets = append(targets, fuzzTarget{dir: path.Dir(name), name: f.Name.Name})
			}
		}
	}
	return targets, nil
}
