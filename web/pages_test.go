package web

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"io"
	"io/fs"
	"log/slog"
	"net/http"
	"os"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"tallywalk/traveler/rows/rowstest"
	"tallywalk/web/bigfloor"
	"tallywalk/web/page"
)

// repository is where the pages' files lie in the repository, the station's too:
// what joins both halves in the program is cmd.
func repository() page.Sources {
	root := os.DirFS("..")
	return page.Sources{"web/lib": sub(root, "web/lib"), "web/pages": sub(root, "web/pages"),
		"kiosk/page": sub(root, "kiosk/page")}
}

// allPages are all pages that the server has, by their addresses.
func allPages() map[string]page.Page {
	all := map[string]page.Page{"/station": station, "nothing": nothing, "barred": barred}
	for _, p := range pages {
		all[p.path] = p.page
	}
	return all
}

// pageServer serves the repository's pages and answers requests without a port.
type pageServer struct {
	t *testing.T
	s *Server
}

func newPageServer(t *testing.T, dir string) pageServer {
	t.Helper()
	return pageServer{t, New(Config{
		Desk: &fullDesk{Floor: bigfloor.New(bigfloor.Batches)}, Tables: &rowstest.Tables{}, Now: time.Now,
		Real: time.Now,
		Log:  slog.New(slog.DiscardHandler), Open: true, PublicURL: "http://localhost", Zone: time.UTC,
		Pages: dir,
		Kiosk: os.DirFS("../kiosk/page"),
	})}
}

type answer struct {
	status int
	body   []byte
	header http.Header
}

// get asks for an address; headers are pairs.
func (p pageServer) get(path string, headers ...string) answer {
	p.t.Helper()
	req, err := http.NewRequest(http.MethodGet, path, nil)
	if err != nil {
		p.t.Fatal(err)
	}
	req.Host = "localhost"
	for i := 0; i < len(headers); i += 2 {
		req.Header.Set(headers[i], headers[i+1])
	}
	resp, err := p.s.app.Test(req, -1)
	if err != nil {
		p.t.Fatal(err)
	}
	defer func() { _ = resp.Body.Close() }()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		p.t.Fatal(err)
	}
	return answer{resp.StatusCode, body, resp.Header}
}

var linkPattern = regexp.MustCompile(`(?:href|src)="(/static/[^"]+)"`)

// links are the files that a page names.
func links(body []byte) []string {
	var list []string
	for _, m := range linkPattern.FindAllSubmatch(body, -1) {
		list = append(list, string(m[1]))
	}
	return list
}

// A page that is opened again costs a question and no file (RFC 9110, 13.1.2 and
// 15.4.5); a file is kept for good (RFC 8246), packed on the wire or not.
func TestFilesAreSentOnce(t *testing.T) {
	p := newPageServer(t, "")
	for _, packed := range []string{"", "gzip"} {
		first := p.get("/waits", "Accept-Encoding", packed)
		tag := first.header.Get("ETag")
		if first.status != http.StatusOK || len(first.body) == 0 || tag == "" ||
			first.header.Get("Cache-Control") != "no-cache" {
			t.Fatalf("%d, %d bytes, %v", first.status, len(first.body), first.header)
		}
		if a := p.get("/waits", "Accept-Encoding", packed, "If-None-Match",
			tag); a.status != http.StatusNotModified || len(a.body) != 0 {
			t.Errorf("again: %d with %d bytes", a.status, len(a.body))
		}
		if a := p.get("/waits", "Accept-Encoding", packed, "If-None-Match",
			`W/"0"`); a.status != http.StatusOK || len(a.body) == 0 {
			t.Errorf("another version: %d with %d bytes", a.status, len(a.body))
		}
	}
	for _, name := range links(p.get("/waits").body) {
		a := p.get(name)
		if a.status != http.StatusOK || len(a.body) == 0 ||
			!strings.Contains(a.header.Get("Cache-Control"), "immutable") ||
			a.header.Get("Content-Type") == "" {
			t.Errorf("%s: %d, %d bytes, %v", name, a.status, len(a.body), a.header)
		}
		packed := p.get(name, "Accept-Encoding", "gzip")
		if packed.header.Get("Content-Encoding") != "gzip" {
			continue
		}
		r, err := gzip.NewReader(bytes.NewReader(packed.body))
		if err != nil {
			t.Fatal(err)
		}
		if plain, err := io.ReadAll(r); err != nil || !bytes.Equal(plain, a.body) {
			t.Errorf("%s: packed it is something else (%v)", name, err)
		}
	}
}

// Another version's address leads to the file as it is now; what is no file, or
// none that a browser loads, is a problem (RFC 9457).
func TestAddressesOfAnotherVersion(t *testing.T) {
	p := newPageServer(t, "")
	names := links(p.get("/waits").body)
	_, rest, _ := strings.Cut(strings.TrimPrefix(names[0], "/static/"), "/")
	a := p.get("/static/000000000000/" + rest)
	if a.status != http.StatusTemporaryRedirect || a.header.Get("Location") != names[0] ||
		a.header.Get("Cache-Control") != "no-store" {
		t.Errorf("%d, %v", a.status, a.header)
	}
	now := strings.TrimSuffix(names[0], rest)
	for _, name := range []string{"web/lib/none.js", "web/pages/page.html", "web/lib/words/en/shared.json",
		"web/lib/_words.test.js", "", "web/lib/../lib/api.js"} {
		if a := p.get(now + name); a.status != http.StatusNotFound ||
			!strings.Contains(a.header.Get("Content-Type"), "problem+json") {
			t.Errorf("%q: %d, %v", name, a.status, a.header)
		}
	}
}

// With a folder the pages are read again at each look: another content is
// another version at once.
func TestPagesFromFolderFollowEdits(t *testing.T) {
	dir := t.TempDir()
	for from, files := range repository() {
		if err := os.CopyFS(path.Join(dir, from), files); err != nil {
			t.Fatal(err)
		}
	}
	p := newPageServer(t, dir)
	before := p.get("/sign-in")
	if again := p.get("/sign-in"); !bytes.Equal(again.body, before.body) {
		t.Error("another page though nothing changed")
	}
	if err := os.WriteFile(path.Join(dir, "web/lib/css/base.css"), []byte("/* edited */"),
		0o600); err != nil {
		t.Fatal(err)
	}
	after := p.get("/sign-in")
	if bytes.Equal(after.body, before.body) || after.header.Get("ETag") == before.header.Get("ETag") {
		t.Error("the edit does not show")
	}
	names := links(after.body)
	base := names[slices.IndexFunc(names,
		func(name string) bool { return strings.HasSuffix(name, "/css/base.css") })]
	if a := p.get(base); string(a.body) != "/* edited */" {
		t.Errorf("%s is %.100q", base, a.body)
	}
}

// What a first visit to a page of the office takes, and a second one, as sent, the
// type that it preloads with it; 300 bytes an answer are allowed for headers.
func TestPagesAreSmall(t *testing.T) {
	const first, headers = 150_000, 300
	p := newPageServer(t, "")
	sizes := map[string]int{} // of the files that were asked for; many pages have the same
	size := func(name string) int {
		if _, known := sizes[name]; !known {
			sizes[name] = len(p.get(name, "Accept-Encoding", "gzip").body)
		}
		return sizes[name]
	}
	for _, at := range pages {
		at := strings.ReplaceAll(at.path, ":code", "X")
		page := p.get(at, "Accept-Encoding", "gzip")
		names := links(p.get(at).body)
		sum := len(page.body) + headers
		for _, name := range names {
			sum += size(name) + headers
		}
		again := p.get(at, "Accept-Encoding", "gzip", "If-None-Match", page.header.Get("ETag"))
		if len(names) < 5 || sum > first || again.status != http.StatusNotModified {
			t.Errorf("%s: %d bytes in %d files at first, %d again", at, sum, len(names), again.status)
		}
		t.Logf("%s: %d bytes in %d files", at, sum, len(names))
	}
}

var laterPattern = regexp.MustCompile(`= import\("(\./[^"]+)"\)`)

// loadedLater are the modules that those of a page load when they need them, with what
// these need.
func loadedLater(t *testing.T, files *page.Files, modules []string) (later []string) {
	t.Helper()
	for _, name := range modules {
		if strings.Contains(name, "/vendor/") {
			continue
		}
		src, err := os.ReadFile(path.Join("..", name))
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range laterPattern.FindAllSubmatch(src, -1) {
			later = append(later, files.Modules(path.Join(path.Dir(name), string(m[1])))...)
		}
	}
	return later
}

// What reads codes is not loaded before the camera is opened, comes from this server as
// what browsers run (WebAssembly Web API, 3), and may run on the station's page alone.
func TestReaderOfCodes(t *testing.T) {
	p := newPageServer(t, "")
	for _, at := range []string{"/station", "/waits"} {
		a := p.get(at)
		policy := a.header.Get("Content-Security-Policy")
		if strings.Contains(policy, "script-src 'self' 'wasm-unsafe-eval';") != (at == "/station") ||
			strings.Contains(policy, "'unsafe-eval'") {
			t.Errorf("%s: %s", at, policy)
		}
		if bytes.Contains(a.body, []byte("zxing")) || bytes.Contains(a.body, []byte("decoder.js")) {
			t.Errorf("%s loads it at once", at)
		}
	}
	own := links(p.get("/station").body)[0]
	version, _, _ := strings.Cut(strings.TrimPrefix(own, "/static/"), "/")
	a := p.get("/static/"+version+"/web/lib/vendor/zxing/zxing_reader.wasm", "Accept-Encoding", "gzip")
	if a.status != http.StatusOK || a.header.Get("Content-Type") != "application/wasm" ||
		a.header.Get("Content-Encoding") != "gzip" {
		t.Errorf("%d %v", a.status, a.header)
	}
}

// Every module that a page needs is there, named by the page before it is asked
// for, and every module belongs to a page.
func TestModules(t *testing.T) {
	files, err := page.Load(repository())
	if err != nil {
		t.Fatal(err)
	}
	used := map[string]bool{}
	for at, p := range allPages() {
		for _, name := range slices.Concat(p.Styles, []string{"web/lib/mark.svg"}) {
			if !files.Has(name) {
				t.Errorf("%s: %s is missing", at, name)
			}
		}
		if p.Main == "" {
			continue
		}
		first := files.Modules(p.Main)
		for _, name := range slices.Concat(first, loadedLater(t, files, first)) {
			if used[name] = true; !files.Has(name) {
				t.Errorf("%s needs %s, which is missing", at, name)
			}
		}
	}
	for _, name := range files.Names() {
		if path.Ext(name) == ".js" && !used[name] && name != "kiosk/page/worker.js" { // at an address of its own
			t.Errorf("no page needs %s", name)
		}
	}
	if len(used) < 50 {
		t.Errorf("only %d modules", len(used))
	}
}

// Literals of a module, and how it asks for a sentence.
var (
	literalPattern = regexp.MustCompile("\"((?:[^\"\\\\\n]|\\\\.)*)\"|[`}]([^`${}\n]*)(?:\\$\\{|`)")
	sayPattern     = regexp.MustCompile(`\b(?:say|count)\(\s*"([\w.-]+)"`)
	formPattern    = regexp.MustCompile(`\.(?:zero|one|two|few|many|other)$`)
)

// sentencesOf are the keys that a module asks for as they are, and all its
// literals: a key that is put together begins with one of them.
func sentencesOf(t *testing.T, files fs.FS, name string) (said, literals []string) {
	t.Helper()
	text, err := fs.ReadFile(files, name)
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range sayPattern.FindAllSubmatch(text, -1) {
		if !bytes.HasSuffix(m[1], []byte(".")) && !bytes.HasSuffix(m[1], []byte("-")) {
			said = append(said, string(m[1]))
		}
	}
	for _, m := range literalPattern.FindAllSubmatch(text, -1) {
		literals = append(literals, string(m[1])+string(m[2]))
	}
	return said, literals
}

// speaker is what a module says: keys of sentences, and strings that may be one, or, as
// heads that end in . or -, the beginning of one.
type speaker struct {
	said     []string
	literals map[string]bool
	heads    []string
}

func speakerOf(t *testing.T, root fs.FS, name string) *speaker {
	t.Helper()
	said, literals := sentencesOf(t, root, name)
	s := &speaker{said: said, literals: map[string]bool{}}
	for _, l := range literals {
		s.literals[l] = true
		if strings.HasSuffix(l, ".") || strings.HasSuffix(l, "-") {
			s.heads = append(s.heads, l)
		}
	}
	return s
}

// Every sentence that a page asks for by its key is among its words, and every
// sentence is asked for by a module that has it.
func TestSentences(t *testing.T) {
	root := os.DirFS("..")
	files, err := page.Load(repository())
	if err != nil {
		t.Fatal(err)
	}
	group := func(name string) map[string]string {
		text, err := fs.ReadFile(root, "web/lib/words/en/"+name+".json")
		if err != nil {
			t.Fatal(err)
		}
		all := map[string]string{}
		if err := json.Unmarshal(text, &all); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		return all
	}
	modules := map[string]*speaker{}
	read := func(name string) *speaker {
		if modules[name] == nil {
			modules[name] = speakerOf(t, root, name)
		}
		return modules[name]
	}
	asked := map[string]map[string]bool{} // by group
	bases := map[string]string{}          // keys without the form of a number
	for at, p := range allPages() {
		words := map[string]string{} // key, group
		for _, g := range p.Words {
			if asked[g] == nil {
				asked[g] = map[string]bool{"noscript": true, "home": true}
			}
			for key := range group(g) {
				if was, twice := words[key]; twice {
					t.Errorf("%s: the sentence %s is in %s and in %s", at, key, was, g)
				}
				words[key] = g
				bases[key] = formPattern.ReplaceAllString(key, "")
			}
		}
		asked[words[p.Title]][p.Title] = true
		if p.Main == "" {
			continue
		}
		names := files.Modules(p.Main)
		if at == "/station" {
			names = append(names, "kiosk/words.go") // steps come from the program with their keys
		}
		for _, name := range names {
			m := read(name)
			for _, key := range m.said {
				_, plain := words[key]
				if _, counts := words[key+".other"]; !plain && !counts {
					t.Errorf("%s: %s says %q, which %v lack", at, name, key, p.Words)
				}
			}
			for key, g := range words {
				if m.literals[bases[key]] || m.literals[key] ||
					slices.ContainsFunc(m.heads,
						func(head string) bool { return strings.HasPrefix(key, head) }) {
					asked[g][key] = true
				}
			}
		}
	}
	for g, used := range asked {
		for key := range group(g) {
			if !used[key] {
				t.Errorf("%s: nobody says %s", g, key)
			}
		}
	}
}
