package main

import (
	"fmt"
	"go/ast"
	"go/token"
	"path"
	"slices"
	"strings"
)

// Outside cmd the time is an argument, so that a shop's history can be folded
// again and a test can be at any hour. Since and Until read the clock as Now
// does, only less visibly.
var clockReaders = []string{"Now", "Since", "Until"}

// clockFaults looks for the clock in code outside cmd, and for sleep in tests,
// where it makes a slow test that fails on a slower machine.
func clockFaults(fset *token.FileSet, name string, file *ast.File) []string {
	refused, why := clockReaders, "the time is an argument outside cmd"
	switch {
	case isTest(name), strings.HasSuffix(path.Dir(name), "test"): // rooms for tests alone are tests
		refused, why = []string{"Sleep"}, "a test waits for what it wants to see, or uses testing/synctest"
	case within(name, "cmd"):
		return nil
	}
	local := timeName(file)
	if local == "." {
		return []string{name + `: imports "time" with a dot, which hides the clock`}
	}
	var faults []string
	ast.Inspect(file, func(n ast.Node) bool {
		sel, ok := n.(*ast.SelectorExpr)
		if !ok {
			return true
		}
		if pkg, ok := sel.X.(*ast.Ident); ok && pkg.Name == local && slices.Contains(refused, sel.Sel.Name) {
			faults = append(faults,
				fmt.Sprintf("%s: time.%s: %s", fset.Position(sel.Pos()), sel.Sel.Name, why))
		}
		return true
	})
	return faults
}

// timeName returns the name under which the file knows package time, "" if it
// does not.
func timeName(file *ast.File) string {
	for _, spec := range file.Imports {
		switch {
		case importPath(spec) != "time":
		case spec.Name != nil:
			return spec.Name.Name
		default:
			return "time"
		}
	}
	return ""
}
