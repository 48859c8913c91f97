package labels

import (
	_ "embed"
	"encoding/json"
)

// Texts holds the printed words by key. A missing key falls back to English,
// so a translation may be partial. The keys are those of English.
type Texts map[string]string

//go:embed words/en.json
var englishFile []byte

// english is what cards say in English, from words/en.json: one word on a line.
var english = func() (t Texts) {
	if err := json.Unmarshal(englishFile, &t); err != nil {
		panic(err) // a fault in what is built into the program
	}
	return t
}()

// English returns a new copy of the English words, for use or as the list of
// keys to translate. The values of date and date_time are layouts of package time.
func English() Texts {
	t := make(Texts, len(english))
	for k, v := range english {
		t[k] = v
	}
	return t
}

// say returns the cleaned words of key: a translation is input like any other.
func (t Texts) say(key string) string {
	if s := clean(t[key]); s != "" {
		return s
	}
	return english[key]
}
