// Package page serves the program's own pages: modules and styles under
// addresses that change with what is in the files, and pages made from one
// template that name all that they load.
//
// # Decisions, with their reasons
//
//   - Files of pages are kept by browsers for good, pages are asked for each time: a
//     file's address carries a hash of all files, a page names the whole graph of its
//     modules, so nothing is asked twice and an update shows at the next look. An
//     address of another version leads to the file as it is now: a page that was open
//     while the program was replaced still finds what it asks for later.
//   - A device keeps one whole version of the station page, under a service worker at a
//     fixed address that is never cached; a new version is fetched beside it and takes
//     over when the page says that nobody is in the middle of something. The version
//     before stays for pages that are still open. While pages are edited (--pages)
//     nothing is kept.
//   - A span is said in its two largest units, rounded; from thirty days on in days.
//     What goes on moves in whole minutes from ten minutes on.
//   - Figures of another choice are never shown as those of this one: while useAnswer
//     (web/lib/form.js) asks again, the page is dimmed, and after 300 ms it says so and
//     can be left. Dots of a chart are one tab stop (dotKeys in web/lib/charts.js);
//     paper names the filters.
package page

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io/fs"
	"maps"
	"mime"
	"path"
	"regexp"
	"slices"
	"strings"
	"sync"
)

// Files is one version of what pages are made of. It is never changed.
type Files struct {
	// Version names the content of all files: other content, another version.
	Version string

	files   map[string]*file
	imports map[string][]string // of a module: the modules that it imports
}

// file is a file's content with its address's parts.
type file struct {
	data   []byte
	kind   string // its media type
	packed func() []byte
}

// Sources are folders of the repository and the files in them.
type Sources map[string]fs.FS

// Load reads the files of all folders. It fails where one can't be read. Names
// that begin with _ or . are left out, as embedding leaves them out.
func Load(sources Sources) (*Files, error) {
	f := &Files{files: map[string]*file{}, imports: map[string][]string{}}
	for dir, from := range sources {
		err := fs.WalkDir(from, ".", func(name string, d fs.DirEntry, err error) error {
			switch {
			case err != nil:
				return err
			case isHidden(name) && d.IsDir():
				return fs.SkipDir
			case isHidden(name), d.IsDir():
				return nil
			}
			data, err := fs.ReadFile(from, name)
			if err == nil {
				f.add(path.Join(dir, name), data)
			}
			return err
		})
		if err != nil {
			return nil, fmt.Errorf("the files of %s: %w", dir, err)
		}
	}
	f.Version = f.version()
	return f, nil
}

// isHidden reports names that embedding leaves out.
func isHidden(name string) bool {
	return name != "." && strings.ContainsAny(path.Base(name)[:1], "_.")
}

func (f *Files) add(name string, data []byte) {
	f.files[name] = &file{data: data, kind: kindOf(name),
		packed: sync.OnceValue(func() []byte { return pack(data) })}
	if strings.HasSuffix(name, ".js") {
		f.imports[name] = importsOf(name, data)
	}
}

// version is a hash of all names and contents.
func (f *Files) version() string {
	sum := sha256.New()
	for _, name := range slices.Sorted(maps.Keys(f.files)) {
		// A hash does not fail.
		_, _ = fmt.Fprintf(sum, "%s %d\n", name, len(f.files[name].data))
		_, _ = sum.Write(f.files[name].data)
	}
	return hex.EncodeToString(sum.Sum(nil)[:6])
}

// kindOf is a file's media type, whatever this computer's own list says.
func kindOf(name string) string {
	switch ext := path.Ext(name); ext {
	case ".js":
		return "text/javascript; charset=utf-8"
	case ".css":
		return "text/css; charset=utf-8"
	case ".svg":
		return "image/svg+xml"
	case ".png":
		return "image/png"
	case ".woff2":
		return "font/woff2"
	case ".wasm":
		return "application/wasm"
	default:
		return mime.TypeByExtension(ext)
	}
}

// pack compresses what gets shorter by it; nil is for what does not.
func pack(data []byte) []byte {
	var b bytes.Buffer
	w, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if err != nil {
		return nil
	}
	if _, err := w.Write(data); err != nil || w.Close() != nil || b.Len() >= len(data) {
		return nil
	}
	return b.Bytes()
}

// fromPattern finds the modules that a module imports, as they are written: the
// formatter holds each import to one form.
var fromPattern = regexp.MustCompile(`(?m)^(?:import|export|\})[^"';]*["'](\.{1,2}/[^"']+)["'];?$`)

// importsOf are the modules that a module imports, by their places.
func importsOf(name string, data []byte) []string {
	var list []string
	for _, m := range fromPattern.FindAllSubmatch(data, -1) {
		list = append(list, path.Join(path.Dir(name), string(m[1])))
	}
	return list
}

// Modules are all modules that a module needs, itself first, each once.
func (f *Files) Modules(main string) []string {
	list := []string{main}
	for i := 0; i < len(list); i++ {
		for _, name := range f.imports[list[i]] {
			if !slices.Contains(list, name) {
				list = append(list, name)
			}
		}
	}
	return list
}

// Address is where a file of this version is served.
func (f *Files) Address(name string) string { return "/static/" + f.Version + "/" + name }

// words are the sentences of a language, of the groups named.
func (f *Files) words(language string, groups []string) (map[string]string, error) {
	all := map[string]string{}
	for _, g := range groups {
		name := wordsDir + language + "/" + g + ".json"
		w, ok := f.files[name]
		if !ok {
			return nil, fmt.Errorf("%s: %w", name, fs.ErrNotExist)
		}
		if err := json.Unmarshal(w.data, &all); err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
	}
	return all, nil
}

// Languages are those that have all of some groups of sentences, in order.
func (f *Files) Languages(groups []string) []string {
	var list []string
	for name := range f.files {
		rest, ok := strings.CutPrefix(name, wordsDir)
		if language, _, isFile := strings.Cut(rest, "/"); ok && isFile && !slices.Contains(list, language) {
			list = append(list, language)
		}
	}
	list = slices.DeleteFunc(list, func(language string) bool {
		return slices.ContainsFunc(groups,
			func(g string) bool { return !f.Has(wordsDir + language + "/" + g + ".json") })
	})
	slices.Sort(list)
	return list
}

// wordsDir holds a folder for each language.
const wordsDir = "web/lib/words/"

// Has reports whether there is a file of that name.
func (f *Files) Has(name string) bool { return f.files[name] != nil }

// Names are the names of all files, in order.
func (f *Files) Names() []string { return slices.Sorted(maps.Keys(f.files)) }
