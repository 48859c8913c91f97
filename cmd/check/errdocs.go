package main

import (
	"fmt"
	"go/ast"
	"go/token"
	"regexp"
)

// saysError finds that a comment says how something fails.
var saysError = regexp.MustCompile(`\b(fails?|errors?|refuses|refused|Refused|Fault)\b|\bKind[A-Z]`)

// errorFaults wants each exported function that returns an error to say which, and
// when; one that keeps a contract names it ("It fails as story.Log says").
func errorFaults(fset *token.FileSet, name string, file *ast.File) (faults []string) {
	if isTest(name) {
		return nil
	}
	for _, d := range file.Decls {
		f, ok := d.(*ast.FuncDecl)
		if !ok || !f.Name.IsExported() || !exportedReceiver(f) || !returnsError(f) ||
			saysError.MatchString(f.Doc.Text()) {
			continue
		}
		faults = append(faults,
			fmt.Sprintf("%s: %s does not say with which error it fails, and when", fset.Position(f.Pos()),
				f.Name.Name))
	}
	return faults
}

func returnsError(f *ast.FuncDecl) bool {
	if f.Type.Results == nil {
		return false
	}
	list := f.Type.Results.List
	last, ok := list[len(list)-1].Type.(*ast.Ident)
	return ok && last.Name == "error"
}

// exportedReceiver reports whether others can call a method at all: what it belongs
// to has an exported name, or it belongs to nothing.
func exportedReceiver(f *ast.FuncDecl) bool {
	if f.Recv == nil {
		return true
	}
	t := f.Recv.List[0].Type
	if p, ok := t.(*ast.StarExpr); ok {
		t = p.X
	}
	if g, ok := t.(*ast.IndexExpr); ok {
		t = g.X
	}
	id, ok := t.(*ast.Ident)
	return ok && id.IsExported()
}
