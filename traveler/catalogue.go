package traveler

import (
	"cmp"
	"embed"
	"encoding/json"
	"path"
	"slices"
	"strconv"
	"strings"
	"sync"
)

// Words are the sentences that people read: one folder for each language, one file
// for each group of pages, one sentence on a line by its key. {0}, {1} ... stand
// for what is filled in. A sentence says what is wrong, what the numbers are, and
// what to do. Keys that a record holds keep their names.
//
//go:embed words
var Words embed.FS

// catalogues holds the sentences of each language by key.
var catalogues = sync.OnceValue(func() map[string]map[string]string {
	all := map[string]map[string]string{}
	languages, err := Words.ReadDir("words")
	must(err)
	for _, language := range languages {
		sentences := map[string]string{}
		folder := path.Join("words", language.Name())
		files, err := Words.ReadDir(folder)
		must(err)
		for _, file := range files {
			text, err := Words.ReadFile(path.Join(folder, file.Name()))
			must(err)
			must(json.Unmarshal(text, &sentences))
		}
		all[language.Name()] = sentences
	}
	return all
})

// must stops the program on a fault in what is built into it.
func must(err error) {
	if err != nil {
		panic(err)
	}
}

// ofRoles are the sentences that are about a role: the first to be filled in is
// the name of one, which has a word in each language.
var ofRoles = []string{"role", "web.role"}

// Text is the sentence in a language, such as "en"; one that the language lacks is
// said in English.
func (m Msg) Text(language string) string {
	if m.Key == "" {
		return ""
	}
	t, ok := catalogues()[language][m.Key]
	if !ok {
		if t, ok = catalogues()["en"][m.Key]; !ok {
			return strings.TrimSpace(m.Key + " " + strings.Join(m.Args, " "))
		}
	}
	if len(m.Args) == 0 {
		return t
	}
	pairs := make([]string, 0, 2*len(m.Args))
	for i, a := range m.Args {
		if i == 0 && slices.Contains(ofRoles, m.Key) {
			a = cmp.Or(catalogues()[language]["role."+a], a)
		}
		pairs = append(pairs, "{"+strconv.Itoa(i)+"}", a)
	}
	return strings.NewReplacer(pairs...).Replace(t)
}
