package page

import (
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"tallywalk/traveler"
)

func tree(files map[string]string) fstest.MapFS {
	fs := fstest.MapFS{}
	for name, text := range files {
		fs[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return fs
}

// small is a site of a few files.
func small(t *testing.T, more map[string]string) *Files {
	t.Helper()
	all := map[string]string{
		"lib/words.js":               "export const say = 1;\n",
		"lib/words/en/shared.json":   `{"title": "{0} – tallywalk", "waits.title": "Waits </script> & more"}`,
		"lib/_words.test.js":         "import test from \"node:test\";\n",
		"lib/.hidden":                "x",
		"pages/page.html":            `{{head}}<script type="application/json">{{words}}</script>`,
		"pages/waits/waits.js":       "import {\n  say,\n  count,\n} from \"../../lib/words.js\";\nimport \"./wall.js\";\n",
		"pages/waits/wall.js":        "export { say } from \"../../lib/words.js\";\nexport * from './more.js';\n",
		"pages/waits/more.js":        "// import x from \"./comment.js\";\nconst text = 'from \"./text.js\"';\n",
		"pages/_later/unfinished.js": "",
	}
	for name, text := range more {
		all[name] = text
	}
	f, err := Load(Sources{"web": tree(all)})
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func TestGraphOfModules(t *testing.T) {
	f := small(t, nil)
	got := f.Modules("web/pages/waits/waits.js")
	want := []string{"web/pages/waits/waits.js", "web/lib/words.js", "web/pages/waits/wall.js",
		"web/pages/waits/more.js"}
	if !slices.Equal(got, want) {
		t.Errorf("got %q", got)
	}
	for _, name := range []string{"web/lib/_words.test.js", "web/lib/.hidden",
		"web/pages/_later/unfinished.js"} {
		if f.Has(name) {
			t.Errorf("%s is there", name)
		}
	}
}

// The version is of names and contents, whatever order they are read in.
func TestVersion(t *testing.T) {
	one := small(t, nil)
	if again := small(t, nil); again.Version != one.Version || len(one.Version) != 12 {
		t.Errorf("%q and %q", one.Version, again.Version)
	}
	for name, text := range map[string]string{"lib/words.js": "export const say = 2;\n", "lib/new.css": ""} {
		if other := small(t, map[string]string{name: text}); other.Version == one.Version {
			t.Errorf("another %s, the same version", name)
		}
	}
}

func TestRender(t *testing.T) {
	f := small(t, nil)
	p := Page{Main: "web/pages/waits/waits.js", Title: "waits.title", Words: []string{"shared"}}
	r, err := f.render(p, traveler.English)
	if err != nil {
		t.Fatal(err)
	}
	body := string(r.body)
	if strings.Count(body, "</script>") != 2 ||
		!strings.Contains(body, "Waits &lt;/script&gt; &amp; more – tallywalk") {
		t.Errorf("a sentence ends the script: %s", body)
	}
	if !strings.Contains(body, "/static/"+f.Version+"/web/lib/words.js") ||
		strings.Count(body, "waits.js") != 1 {
		t.Errorf("the modules beside the page's own: %s", body)
	}
	for _, p := range []Page{{Words: []string{"none"}}, {Words: []string{"shared"}}} {
		broken := f
		if len(p.Words) == 1 && p.Words[0] == "shared" {
			broken = small(t, map[string]string{"lib/words/en/shared.json": "{"})
		}
		if _, err := broken.render(p, traveler.English); err == nil {
			t.Errorf("%v: no error", p.Words)
		}
	}
}

// What gets longer by it is not compressed.
func TestPack(t *testing.T) {
	if pack([]byte("ab")) != nil || pack([]byte(strings.Repeat("ab", 1000))) == nil {
		t.Error("compressed when it should not, or the other way round")
	}
}
