package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// asvsLevels is how many requirements of each level OWASP ASVS 5.0.0 has: 70, 183 and 92
// of 345 (its release notes).
var asvsLevels = map[string]int{"1": 70, "2": 183}

// requirement is a row of the table of what the standard asks.
type requirement struct{ id, level, asks, state, held string }

// rowsOf reads the table: how many rows each chapter has, and the rows.
func rowsOf(t *testing.T, text string) (counts map[string]int, all []requirement) {
	t.Helper()
	counts = map[string]int{}
	for i, line := range strings.Split(strings.TrimSuffix(text, "\n"), "\n") {
		cells := strings.Split(line, "\t")
		switch {
		case cells[0] == "#count" && len(cells) == 3:
			n, err := strconv.Atoi(cells[2])
			if err != nil {
				t.Fatalf("line %d: %v", i+1, err)
			}
			counts[cells[1]] = n
		case strings.HasPrefix(line, "#"):
		case len(cells) != 5:
			t.Fatalf("line %d has %d cells, not 5", i+1, len(cells))
		default:
			all = append(all, requirement{cells[0], cells[1], cells[2], cells[3], cells[4]})
		}
	}
	return counts, all
}

// faults says what is wrong with a row, tests apart.
func (r requirement) faults() string {
	switch {
	case !regexp.MustCompile(`^V\d+\.\d+\.\d+$`).MatchString(r.id):
		return "no id"
	case r.asks == "" || asvsLevels[r.level] == 0:
		return "asks nothing, or has no level"
	case r.state == "applies":
		return ""
	case r.state != "does not apply" && r.state != "not met":
		return "no state: " + r.state
	case !strings.HasSuffix(r.held, ".") || len(r.held) < 10:
		return "no reason"
	}
	return ""
}

// testIn reports whether a package has a test of that name.
func testIn(t *testing.T, tree fs.FS, folder, name string) bool {
	t.Helper()
	files, err := fs.Glob(tree, path.Join(folder, "*_test.go"))
	if err != nil {
		t.Fatal(err)
	}
	return slices.ContainsFunc(files, func(file string) bool {
		text, err := fs.ReadFile(tree, file)
		if err != nil {
			t.Fatal(err)
		}
		return strings.Contains(string(text), "\nfunc "+name+"(")
	})
}

// Every requirement of levels 1 and 2 stands in the table once, in order; what applies
// is held by tests that there are, of the rest it is said why.
func TestASVS(t *testing.T) {
	root, err := findRoot(".")
	if err != nil {
		t.Fatal(err)
	}
	tree := os.DirFS(root)
	text, err := fs.ReadFile(tree, "testdata/asvs.tsv")
	if err != nil {
		t.Fatal(err)
	}
	counts, all := rowsOf(t, string(text))
	seen, levels, chapters := map[string]bool{}, map[string]int{}, map[string]int{}
	for _, r := range all {
		if fault := r.faults(); fault != "" || seen[r.id] {
			t.Errorf("%s: %s, or twice", r.id, fault)
		}
		seen[r.id] = true
		levels[r.level]++
		chapter, _, _ := strings.Cut(r.id, ".")
		chapters[chapter]++
		if r.state != "applies" {
			continue
		}
		for held := range strings.SplitSeq(r.held, "; ") {
			folder, name, _ := strings.Cut(held, " ")
			if !regexp.MustCompile(`^(Test|Fuzz)\w+$`).MatchString(name) || !testIn(t, tree, folder, name) {
				t.Errorf("%s: there is no test %q", r.id, held)
			}
		}
	}
	for level, n := range asvsLevels {
		if levels[level] != n {
			t.Errorf("%d rows of level %s, not %d", levels[level], level, n)
		}
	}
	if len(counts) != 17 || len(chapters) != 17 {
		t.Errorf("%d chapters are counted, %d are there; the standard has 17", len(counts), len(chapters))
	}
	for chapter, n := range counts {
		if chapters[chapter] != n {
			t.Errorf("%s has %d rows, not %d", chapter, chapters[chapter], n)
		}
	}
}

// neverImported is what no code that a shop runs imports: code of other languages,
// commands, templates, formats that make any type, mail, hashes and chance that are
// broken, and what is for debugging.
var neverImported = []string{
	"C", "unsafe", "plugin", "os/exec", "text/template", "html/template", "encoding/gob", "database/sql",
	"net/smtp",
	"crypto/md5", "crypto/sha1", "crypto/des", "crypto/rc4", "crypto/dsa", "math/rand", "net/http/pprof",
	"expvar",
}

// byChance are the folders that draw figures by chance, or a demo: no secrets.
var byChance = []string{"traveler/ahead", "traveler/study", "web/compare", "web/bigfloor", "web/webtest",
	"cmd/tallywalk/demo"}

// evaluated is how a page would make code or markup of a text.
var evaluated = regexp.MustCompile(
	`\.(inner|outer)HTML\b|insertAdjacentHTML|document\.write|\beval\(|new Function\(|dangerouslySetInnerHTML|javascript:`,
)

// helpersOfTests are the folders whose code only tests import.
var helpersOfTests = []string{"ipptest", "storetest", "engines", "desktest", "webtest"}

// eachFile goes through the files of a kind that a shop runs.
func eachFile(t *testing.T, ending string, do func(name, text string)) {
	t.Helper()
	root, err := findRoot(".")
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, top := range []string{"cmd/tallywalk", "kiosk", "labels", "store", "traveler", "web"} {
		tree := os.DirFS(root)
		err := fs.WalkDir(tree, top, func(name string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(name, ending) ||
				strings.HasSuffix(name, "_test.go") ||
				strings.Contains(name, "/vendor/") ||
				slices.Contains(helpersOfTests, path.Base(path.Dir(name))) {
				return err
			}
			text, err := fs.ReadFile(tree, name)
			n++
			do(name, string(text))
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if n < 50 {
		t.Errorf("%d files of %s are looked at", n, ending)
	}
}

func TestNothingDangerous(t *testing.T) {
	eachFile(t, ".go", func(name, text string) {
		file, err := parser.ParseFile(token.NewFileSet(), name, text, parser.ImportsOnly)
		if err != nil {
			t.Fatal(err)
		}
		for _, spec := range file.Imports {
			of := strings.Trim(spec.Path.Value, `"`)
			chance := of == "math/rand/v2" && !slices.Contains(byChance, path.Dir(name))
			if chance || slices.Contains(neverImported, of) {
				t.Errorf("%s imports %s", name, of)
			}
		}
	})
	eachFile(t, ".js", func(name, text string) {
		if found := evaluated.FindString(text); found != "" {
			t.Errorf("%s: %s", name, found)
		}
	})
	for _, bad := range []string{"a.innerHTML = b", "eval(x)", `href="javascript:go()"`} {
		if !evaluated.MatchString(bad) {
			t.Errorf("%s is not found", bad)
		}
	}
}

// Fields of passwords are masked, say to password managers what they are, and nothing
// stands in the way of pasting.
func TestPasswordFields(t *testing.T) {
	fields := 0
	eachFile(t, ".js", func(name, text string) {
		parts := strings.Split(text, `name: "password"`)
		if len(parts) > 1 && strings.Contains(strings.ToLower(text), "onpaste") {
			t.Errorf("%s looks at what is pasted", name)
		}
		for i, part := range parts[1:] {
			fields++
			field, _, _ := strings.Cut(part, "}")
			kind := regexp.MustCompile(`autocomplete: "(current|new)-password"`)
			if !strings.Contains(field, `type: "password"`) || !kind.MatchString(field) {
				t.Errorf("%s: field %d of a password: %s", name, i+1, field)
			}
		}
	})
	if fields < 2 {
		t.Errorf("%d fields of passwords are found", fields)
	}
}
