package main

import (
	"context"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"io/fs"
	"os"
	"path"
	"slices"
	"strings"
)

// The length of the longest file, tests and vendored files apart.
const (
	maxLines       = 500 // Go
	maxModuleLines = 450 // JavaScript
)

// entries are the names allowed at the top of the checkout, beside dot-files: a
// newcomer sees at one glance where everything is.
var entries = []string{
	"cmd", "kiosk", "labels", "store", "testdata", "traveler", "web",
	"go.mod", "go.sum", "README.md", "DEVELOPERS.md", "LICENSE",
}

// checkHouse holds the rules on how the project is laid out, on the real tree.
func checkHouse(ctx context.Context, p *project, out io.Writer) error {
	return p.holds(ctx, out, houseFaults,
		"the rules are in cmd/check/house.go, rooms.go, modules.go, width.go, errdocs.go and clock.go")
}

// holds looks for the faults of the real tree, prints a line for each, and fails when
// there are any; where says where to look.
func (p *project) holds(
	ctx context.Context, out io.Writer, faultsOf func(fs.FS, []string) ([]string, error), where string,
) error {
	files, err := p.files(ctx)
	if err != nil {
		return err
	}
	faults, err := faultsOf(os.DirFS(p.root), files)
	if err != nil {
		return err
	}
	if len(faults) > 0 {
		fmt.Fprintln(out, strings.Join(faults, "\n"))
		return fmt.Errorf("%d faults; %s", len(faults), where)
	}
	return nil
}

// houseFaults returns one line for each breach, with the file it is in. A file
// that cannot be read or parsed is an error.
func houseFaults(fsys fs.FS, files []string) ([]string, error) {
	faults := entryFaults(files)
	for _, name := range files {
		if isFixture(name) {
			continue
		}
		switch path.Ext(name) {
		case ".go", ".js", ".mjs":
		default:
			continue
		}
		src, err := fs.ReadFile(fsys, name)
		if err != nil {
			return nil, err
		}
		faults = append(faults, lengthFaults(name, src)...)
		if path.Ext(name) != ".go" {
			continue
		}
		fset := token.NewFileSet()
		file, err := parser.ParseFile(fset, name, src, parser.SkipObjectResolution|parser.ParseComments)
		if err != nil {
			return nil, err
		}
		faults = append(faults, goWidthFaults(name, src)...)
		faults = append(faults, importFaults(name, file)...)
		faults = append(faults, clockFaults(fset, name, file)...)
		faults = append(faults, errorFaults(fset, name, file)...)
	}
	more, err := moduleFaults(fsys, files)
	return append(faults, more...), err
}

// entryFaults looks at the top-level names only.
func entryFaults(files []string) []string {
	var faults []string
	for _, name := range files {
		top, _, _ := strings.Cut(name, "/")
		if strings.HasPrefix(top, ".") || slices.Contains(entries, top) {
			continue
		}
		fault := fmt.Sprintf("%s: does not belong at the top: what it is for has a place in one of %s", top,
			strings.Join(entries, ", "))
		if !slices.Contains(faults, fault) {
			faults = append(faults, fault)
		}
	}
	return faults
}

func lengthFaults(name string, src []byte) []string {
	if isTest(name) {
		return nil
	}
	limit := maxLines
	if path.Ext(name) != ".go" {
		limit = maxModuleLines
	}
	lines := strings.Count(string(src), "\n")
	if lines <= limit {
		return nil
	}
	return []string{
		fmt.Sprintf("%s: %d lines, %d are the limit: split it by what its parts are about", name, lines,
			limit)}
}

// isTest reports whether a Go or JavaScript file holds tests.
func isTest(name string) bool {
	return strings.HasSuffix(name, "_test.go") || strings.HasSuffix(name, ".test.js") ||
		strings.HasSuffix(name, ".test.mjs")
}

// isFixture reports whether a file is kept as it is, as input of a test or as
// someone else's work.
func isFixture(name string) bool {
	dirs := strings.Split(path.Dir(name), "/")
	return slices.Contains(dirs, "testdata") || slices.Contains(dirs, "vendor")
}

// importPath returns the path that a parsed import names.
func importPath(spec *ast.ImportSpec) string {
	return strings.Trim(spec.Path.Value, "`\"")
}
