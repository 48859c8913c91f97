package main

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"regexp"
	"slices"
	"strings"

	"golang.org/x/text/feature/plural"
	"golang.org/x/text/language"
)

// tongue is a place where sentences lie: a folder with a folder for each language,
// or with a file for each.
type tongue struct {
	dir    string
	single bool     // labels/words/de.json, not web/lib/words/de/common.json
	all    []string // groups that every language has
	desk   []string // groups that the desk's languages have
}

// Languages beside English: all of them, and those of the desk.
var (
	allLanguages  = []string{"de", "es", "pl", "tr"}
	deskLanguages = []string{"de"}
)

// tongues are all places with sentences, and which languages each group is in.
var tongues = []tongue{
	{
		dir: "web/lib/words",
		all: []string{"shared", "common", "desk", "station", "waits", "ground", "pace", "trust"},
		desk: []string{"access", "ahead", "batch", "calendars", "compare", "figures", "health", "home",
			"lists", "morning", "printers", "sites", "typed"},
	},
	{dir: "traveler/words", all: []string{"floor", "pages"}, desk: []string{"record", "compare"}},
	{dir: "labels/words", single: true, all: []string{""}},
}

// file is where a group of a language lies.
func (t *tongue) file(language, group string) string {
	if t.single {
		return path.Join(t.dir, language+".json")
	}
	return path.Join(t.dir, language, group+".json")
}

// tongueFaults returns one line for each sentence that a language lacks, or has
// otherwise than the English one wants it. A file that cannot be read is an error.
func tongueFaults(fsys fs.FS, files []string) (faults []string, err error) {
	for i := range tongues {
		t := &tongues[i]
		known := map[string]bool{}
		for _, l := range append([]string{"en"}, allLanguages...) {
			groups := slices.Clone(t.all)
			if l == "en" || slices.Contains(deskLanguages, l) {
				groups = append(groups, t.desk...)
			}
			for _, g := range groups {
				name := t.file(l, g)
				known[name] = true
				if l == "en" || !slices.Contains(files, t.file("en", g)) {
					continue
				}
				if !slices.Contains(files, name) {
					faults = append(faults, name+" is missing")
					continue
				}
				of, err := groupFaults(fsys, t.file("en", g), name, l)
				if err != nil {
					return nil, err
				}
				faults = append(faults, of...)
			}
		}
		for _, name := range files {
			if strings.HasPrefix(name, t.dir+"/") && path.Ext(name) == ".json" && !known[name] {
				faults = append(faults,
					name+": no page and no language is known to have it; name it in cmd/check/tongues.go")
			}
		}
	}
	return faults, nil
}

// groupFaults compares a file with the English one.
func groupFaults(fsys fs.FS, english, name, language string) (faults []string, err error) {
	want, _, err := sentencesIn(fsys, english)
	if err != nil {
		return nil, err
	}
	got, lines, err := sentencesIn(fsys, name)
	if err != nil {
		return nil, err
	}
	say := func(format string, args ...any) {
		faults = append(faults, name+": "+fmt.Sprintf(format, args...))
	}
	if lines != len(got) {
		say("%d sentences on %d lines: one sentence a line, each key once", len(got), lines)
	}
	wanted := wantedKeys(want, language)
	for _, key := range slices.Sorted(maps.Keys(wanted)) {
		text, ok := got[key]
		switch source := wanted[key]; {
		case !ok:
			say("%s is missing", key)
		case strings.TrimSpace(text) == "":
			say("%s is empty", key)
		case !samePlaces(source, text, isCount(key, want)):
			say("%s: %q has other places to fill in than %q", key, text, source)
		}
	}
	for _, key := range slices.Sorted(maps.Keys(got)) {
		if _, ok := wanted[key]; !ok {
			say("%s is in no English file, or no plural form of %s", key, language)
		}
	}
	return faults, nil
}

// sentencesIn reads a file of sentences, and counts its lines.
func sentencesIn(fsys fs.FS, name string) (all map[string]string, lines int, err error) {
	text, err := fs.ReadFile(fsys, name)
	if err != nil {
		return nil, 0, err
	}
	if err := json.Unmarshal(text, &all); err != nil {
		return nil, 0, fmt.Errorf("%s: %w", name, err)
	}
	return all, strings.Count(strings.TrimSpace(string(text)), "\n") - 1, nil
}

// formNames are the plural forms of CLDR.
var formNames = map[plural.Form]string{
	plural.Zero: "zero", plural.One: "one", plural.Two: "two", plural.Few: "few", plural.Many: "many",
	plural.Other: "other",
}

// formsOf are the plural forms that a language has for numbers as pages write them:
// whole ones, and those with one decimal, by CLDR as golang.org/x/text has it. A form
// that only millions take, as in Spanish, is left to other.
func formsOf(code string) []string {
	tag := language.MustParse(code)
	var forms []string
	add := func(i, v, f int) {
		if name := formNames[plural.Cardinal.MatchPlural(tag, i, v, v, f, f)]; !slices.Contains(forms, name) {
			forms = append(forms, name)
		}
	}
	for i := range 200 {
		add(i, 0, 0)
	}
	add(1, 1, 5)
	slices.Sort(forms)
	return forms
}

// isCount reports whether a key is a plural form of a sentence that counts.
func isCount(key string, english map[string]string) bool {
	stem, ok := stemOf(key)
	return ok && english[stem+".one"] != "" && english[stem+".other"] != ""
}

func stemOf(key string) (stem string, ok bool) {
	i := strings.LastIndexByte(key, '.')
	if i < 0 {
		return "", false
	}
	for _, name := range formNames {
		if key[i+1:] == name {
			return key[:i], true
		}
	}
	return "", false
}

// wantedKeys are the keys that a language must have, each with the English sentence
// that it stands for: of a sentence that counts, the forms of the language.
func wantedKeys(english map[string]string, code string) map[string]string {
	wanted := map[string]string{}
	for key, text := range english {
		stem, _ := stemOf(key)
		if !isCount(key, english) {
			wanted[key] = text
			continue
		}
		for _, form := range formsOf(code) {
			wanted[stem+"."+form] = english[stem+".other"]
		}
	}
	return wanted
}

var placePattern = regexp.MustCompile(`\{\d\}`)

// samePlaces reports whether two sentences have the same places to fill in. One that
// counts may leave its number out, for "one" and "none" are words.
func samePlaces(want, got string, counts bool) bool {
	of := func(s string) []string {
		list := placePattern.FindAllString(s, -1)
		slices.Sort(list)
		list = slices.Compact(list)
		if counts {
			list = slices.DeleteFunc(list, func(p string) bool { return p == "{0}" })
		}
		return list
	}
	return slices.Equal(of(want), of(got))
}
