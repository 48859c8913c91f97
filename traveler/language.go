package traveler

import "slices"

// English is the language that everything has, and that is said where another
// lacks a sentence.
const English = "en"

// languages are those of station, walls, paper and the sentences that are met
// there, by their ISO 639-1 codes. The desk's pages have those that have all of
// their groups of words.
var languages = []string{English, "de", "es", "pl", "tr"}

// Languages lists the languages that people can choose, English first.
func Languages() []string { return slices.Clone(languages) }

// IsLanguage reports whether there are words in a language.
func IsLanguage(code string) bool { return slices.Contains(languages, code) }
