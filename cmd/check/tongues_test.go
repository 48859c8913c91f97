package main

import (
	"slices"
	"strings"
	"testing"
	"testing/fstest"
)

// The plural forms that pages use are those of Unicode CLDR's chart of cardinals
// (unicode.org/cldr/charts, Language Plural Rules), but for "many" of Spanish, which
// begins at a million.
func TestFormsOf(t *testing.T) {
	for code, want := range map[string]string{
		"en": "one other", "de": "one other", "es": "one other", "pl": "few many one other",
		"tr": "one other",
	} {
		if got := strings.Join(formsOf(code), " "); got != want {
			t.Errorf("%s: %s, CLDR has %s", code, got, want)
		}
	}
}

func TestTongues(t *testing.T) {
	const english = "{\n  \"a\": \"{0} of {1}\",\n  \"n.one\": \"1 batch\",\n  \"n.other\": \"{0} batches\",\n  \"x.one\": \"one\"\n}\n"
	good := func(more string) string {
		return "{\n  \"a\": \"{1}: {0}\",\n  \"x.one\": \"jeden\",\n  \"n.one\": \"1 partia\",\n  \"n.few\": \"{0} partie\",\n  \"n.many\": \"{0} partii\"" + more + "\n}\n"
	}
	for _, test := range []struct {
		name, polish string
		faults       []string
	}{
		{"all is said", good(",\n  \"n.other\": \"{0} partii\""), nil},
		{"a plural form is missing", good(""), []string{"n.other is missing"}},
		{"a place is missing", good(",\n  \"n.other\": \"{0}{1}\""), []string{"n.other"}},
		{"a key too many", good(",\n  \"n.other\": \"{0}\",\n  \"n.two\": \"{0}\""),
			[]string{"n.two is in no English file"}},
		{"nothing", "{\n  \"a\": \" \",\n  \"x.one\": \"x\"\n}\n",
			[]string{"a is empty", "n.few", "n.many", "n.one", "n.other"}},
	} {
		t.Run(test.name, func(t *testing.T) {
			tree := fstest.MapFS{"labels/words/en.json": {Data: []byte(english)}}
			for _, l := range allLanguages {
				text := strings.Replace(english, "{0} of", "von {0}", 1)
				if l == "pl" {
					text = test.polish
				}
				tree["labels/words/"+l+".json"] = &fstest.MapFile{Data: []byte(text)}
			}
			var files []string
			for name := range tree {
				files = append(files, name)
			}
			faults, err := tongueFaults(tree, files)
			if err != nil || len(faults) != len(test.faults) {
				t.Fatalf("%q %v", faults, err)
			}
			for i, part := range test.faults {
				if !strings.Contains(faults[i], part) ||
					!strings.Contains(faults[i], "labels/words/pl.json") {
					t.Errorf("%q, wanted %q", faults[i], part)
				}
			}
			without := slices.DeleteFunc(files,
				func(name string) bool { return name == "labels/words/tr.json" })
			faults, err = tongueFaults(tree, without)
			if err != nil || !slices.Contains(faults, "labels/words/tr.json is missing") {
				t.Errorf("without a language: %q %v", faults, err)
			}
		})
	}
}
