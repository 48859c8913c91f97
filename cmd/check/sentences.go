package main

import (
	"context"
	"encoding/json"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strconv"
	"strings"
)

// sentences are the folders whose JSON files hold what people read, by key.
var sentences = []string{"traveler/words/en", "labels/words"}

// makers are the functions that take the key of a sentence.
var makers = []string{"Fail", "Invalid", "no", "ask", "miscount", "corrupt", "bad", "say"}

// checkSentences finds keys that no sentence has, sentences that no code names, and
// what a language lacks.
func checkSentences(ctx context.Context, p *project, out io.Writer) error {
	both := func(fsys fs.FS, files []string) ([]string, error) {
		faults, err := sentenceFaults(fsys, files)
		if err != nil {
			return nil, err
		}
		more, err := tongueFaults(fsys, files)
		return append(faults, more...), err
	}
	return p.holds(ctx, out, both, "the sentences lie in "+strings.Join(sentences, " and "))
}

// sentenceFaults returns one line for each fault. A file that cannot be read is an
// error.
func sentenceFaults(fsys fs.FS, files []string) (faults []string, err error) {
	known := map[string]string{} // key -> file
	for _, name := range files {
		if path.Ext(name) != ".json" || !slices.Contains(sentences, path.Dir(name)) ||
			path.Base(path.Dir(name)) == "words" && path.Base(name) != "en.json" {
			continue
		}
		text, err := fs.ReadFile(fsys, name)
		if err != nil {
			return nil, err
		}
		all := map[string]string{}
		if err := json.Unmarshal(text, &all); err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		if n := strings.Count(strings.TrimSpace(string(text)), "\n") - 1; n != len(all) {
			faults = append(faults,
				fmt.Sprintf("%s: %d sentences on %d lines: one sentence a line, each key once", name,
					len(all), n))
		}
		for key := range all {
			if other, twice := known[key]; twice {
				faults = append(faults, fmt.Sprintf("%s: %s stands in %s as well", name, key, other))
			}
			known[key] = name
		}
	}
	used := map[string]bool{}
	for _, name := range files {
		if path.Ext(name) != ".go" || isTest(name) || isFixture(name) {
			continue
		}
		missing, err := keysIn(fsys, name, known, used)
		if err != nil {
			return nil, err
		}
		faults = append(faults, missing...)
	}
	for _, key := range slices.Sorted(maps.Keys(known)) {
		if !isUsed(key, used) {
			faults = append(faults, fmt.Sprintf("%s: no code says %q", known[key], key))
		}
	}
	return faults, nil
}

// isUsed reports whether a key is named in code: whole, or by the part up to a dot
// or an underscore that code completes.
func isUsed(key string, used map[string]bool) bool {
	if used[key] {
		return true
	}
	for i := range key {
		if (key[i] == '.' || key[i] == '_') && used[key[:i+1]] {
			return true
		}
	}
	return false
}

// keysIn notes the texts of a Go file, and returns a line for each that is meant as
// the key of a sentence and is none.
func keysIn(fsys fs.FS, name string, known map[string]string, used map[string]bool) (missing []string,
	err error) {
	src, err := fs.ReadFile(fsys, name)
	if err != nil {
		return nil, err
	}
	fset := token.NewFileSet()
	file, err := parser.ParseFile(fset, name, src, parser.SkipObjectResolution)
	if err != nil {
		return nil, err
	}
	text := func(e ast.Expr) (string, bool) {
		l, ok := e.(*ast.BasicLit)
		if !ok || l.Kind != token.STRING {
			return "", false
		}
		s, err := strconv.Unquote(l.Value)
		return s, err == nil
	}
	meant := func(e ast.Expr) {
		if key, ok := text(e); ok && strings.Contains(key, ".") && !strings.ContainsAny(key, " /%") &&
			known[key] == "" {
			missing = append(missing, fmt.Sprintf("%s: there is no sentence %q", fset.Position(e.Pos()), key))
		}
	}
	ast.Inspect(file, func(n ast.Node) bool {
		switch x := n.(type) {
		case *ast.BasicLit:
			if s, ok := text(x); ok {
				used[s] = true
			}
		case *ast.KeyValueExpr:
			if id, ok := x.Key.(*ast.Ident); ok && id.Name == "Key" &&
				within(path.Dir(name), "traveler/story") {
				meant(x.Value)
			}
		case *ast.CallExpr:
			f := x.Fun
			if s, ok := f.(*ast.SelectorExpr); ok {
				f = s.Sel
			}
			if id, ok := f.(*ast.Ident); ok && slices.Contains(makers, id.Name) {
				for _, a := range x.Args {
					meant(a)
				}
			}
		}
		return true
	})
	return missing, nil
}
