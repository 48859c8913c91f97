package labels

import (
	"cmp"
	"embed"
	"encoding/json"
	"io/fs"
	"path"
	"strings"
	"sync"
)

// Texts holds the printed words by key. A missing key falls back to English,
// so a translation may be partial. The keys are those of English.
type Texts map[string]string

// wordFiles holds a file for each language, one word on a line.
//
//go:embed words
var wordFiles embed.FS

// byLanguage holds the words of each language, read once.
var byLanguage = sync.OnceValue(func() map[string]Texts {
	all := map[string]Texts{}
	files, err := fs.Glob(wordFiles, "words/*.json")
	for _, name := range files {
		var text []byte
		if text, err = wordFiles.ReadFile(name); err != nil {
			break
		}
		var t Texts
		if err = json.Unmarshal(text, &t); err != nil {
			break
		}
		all[strings.TrimSuffix(path.Base(name), ".json")] = t
	}
	if err != nil {
		panic(err) // a fault in what is built into the program
	}
	return all
})

// English returns a new copy of the English words, for use or as the list of
// keys to translate. The values of date and date_time are layouts of package time.
func English() Texts { return In("en") }

// In returns a new copy of the words of a language; of one that there are no words
// in, the English ones.
func In(language string) Texts {
	t := Texts{}
	for _, from := range []Texts{byLanguage()["en"], byLanguage()[language]} {
		for k, v := range from {
			t[k] = v
		}
	}
	return t
}

// say returns the cleaned words of key: a translation is input like any other.
func (t Texts) say(key string) string {
	if s := clean(t[key]); s != "" {
		return s
	}
	return byLanguage()["en"][key]
}

// Role is what a role is called on a badge; one that there is no word for stays.
func (t Texts) Role(role string) string { return t.named("role_", role) }

// Place is what a kind of place is called on a plate; one that there is no word for
// stays.
func (t Texts) Place(kind string) string { return t.named("place_", kind) }

func (t Texts) named(group, name string) string { return cmp.Or(t.say(group+name), name) }
