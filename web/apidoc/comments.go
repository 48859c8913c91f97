package apidoc

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
)

// module is the project's own: comments and constants of other modules are not
// read.
const module = "tallywalk"

// source is what the text of a package says and its compiled form does not:
// comments, and which constants a type has.
type source struct {
	types  map[string]string            // of a type, its comment
	fields map[string]map[string]string // of a type's field, its comment
	values map[string][]string          // of a type of text, its constants in order
}

// sources reads packages of the module, each once. root is the module's folder.
type sources struct {
	root string
	read map[string]*source
}

// of is the source of a type's package; nil where that is not the module's. It
// fails as the parser does.
func (s *sources) of(t reflect.Type) (*source, error) {
	path, ok := strings.CutPrefix(t.PkgPath(), module+"/")
	if !ok {
		return nil, nil
	}
	if x := s.read[path]; x != nil {
		return x, nil
	}
	x := &source{types: map[string]string{}, fields: map[string]map[string]string{}, values: map[string][]string{}}
	names, err := filepath.Glob(filepath.Join(s.root, filepath.FromSlash(path), "*.go"))
	if err != nil || len(names) == 0 {
		return nil, fmt.Errorf("no source of %s: %w", path, err)
	}
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ParseComments|parser.SkipObjectResolution)
		if err != nil {
			return nil, err
		}
		for _, d := range file.Decls {
			if g, ok := d.(*ast.GenDecl); ok {
				x.decl(g)
			}
		}
	}
	s.read[path] = x
	return x, nil
}

func (x *source) decl(g *ast.GenDecl) {
	switch g.Tok {
	case token.TYPE:
		for _, spec := range g.Specs {
			if t, ok := spec.(*ast.TypeSpec); ok {
				x.types[t.Name.Name] = text(t.Name.Name, t.Doc, g.Doc, t.Comment)
				if st, ok := t.Type.(*ast.StructType); ok {
					x.structure(t.Name.Name, st)
				}
			}
		}
	case token.CONST:
		x.constants(g)
	}
}

// structure reads the fields of a type; those of a structure within it go by
// Outer.Inner.
func (x *source) structure(name string, st *ast.StructType) {
	fields := map[string]string{}
	for _, f := range st.Fields.List {
		for _, n := range f.Names {
			fields[n.Name] = text(n.Name, f.Doc, f.Comment)
			of := f.Type
			if list, ok := of.(*ast.ArrayType); ok {
				of = list.Elt
			}
			if in, ok := of.(*ast.StructType); ok {
				x.structure(name+"."+n.Name, in)
			}
		}
	}
	x.fields[name] = fields
}

// constants reads a block of constants of one type: that type takes those values.
func (x *source) constants(g *ast.GenDecl) {
	var of string
	var values []string
	for _, spec := range g.Specs {
		v, ok := spec.(*ast.ValueSpec)
		if !ok || len(v.Values) != 1 || len(v.Names) != 1 {
			return
		}
		id, ok := v.Type.(*ast.Ident)
		lit, isLit := v.Values[0].(*ast.BasicLit)
		if !ok || !isLit || lit.Kind != token.STRING || of != "" && of != id.Name {
			return
		}
		value, err := strconv.Unquote(lit.Value)
		if err != nil {
			return
		}
		of, values = id.Name, append(values, value)
	}
	if len(values) > 1 {
		x.values[of] = append(x.values[of], slices.DeleteFunc(values, func(v string) bool { return slices.Contains(x.values[of], v) })...)
	}
}

// text is the first comment there is, as one line that does not begin with the
// name of what it is about.
func text(name string, groups ...*ast.CommentGroup) string {
	for _, g := range groups {
		if g == nil {
			continue
		}
		t := strings.Join(strings.Fields(g.Text()), " ")
		for _, verb := range []string{" is ", " are "} {
			t = strings.TrimPrefix(t, name+verb)
		}
		return strings.TrimSuffix(t, ".")
	}
	return ""
}
