package page

import (
	"encoding/json"
	"fmt"
	"html"
	"regexp"
	"strings"
)

// blank is a place in the form of all pages that is filled in.
var blank = regexp.MustCompile(`\{\{(\w*)\}\}`)

// fill puts values, HTML already, into a form's blanks, once: what is filled in is
// not looked at again. It fails where a blank has no value.
//
// It stands here for html/template, which finds methods by their names when it runs:
// a program with that in it keeps every method of every package (see checkBuild).
func fill(form string, values map[string]string) (string, error) {
	var unknown error
	out := blank.ReplaceAllStringFunc(form, func(found string) string {
		value, ok := values[strings.Trim(found, "{}")]
		if !ok {
			unknown = fmt.Errorf("nothing is known that fills %s in", found)
		}
		return value
	})
	return out, unknown
}

// elements are lines of HTML. Whatever is filled into them is escaped.
type elements []string

// add adds a line, where each %s is the next of the values.
func (e *elements) add(line string, values ...string) {
	escaped := make([]any, len(values))
	for i, v := range values {
		escaped[i] = html.EscapeString(v)
	}
	*e = append(*e, fmt.Sprintf(line, escaped...))
}

func (e *elements) String() string { return strings.Join(*e, "\n") }

// head is what a page loads, in the order in which a browser shall hear of it.
func (f *Files) head(p Page, language string, words map[string]string) string {
	var e elements
	if p.Touch {
		e.add(`<meta name="viewport" content="width=device-width, initial-scale=1, viewport-fit=cover">`)
		e.add(`<meta name="color-scheme" content="light dark">`)
	} else {
		e.add(`<meta name="viewport" content="width=device-width, initial-scale=1">`)
	}
	e.add(`<title>%s</title>`, title(p, words))
	e.add(`<link rel="icon" href="%s">`, f.Address("web/lib/mark.svg"))
	if p.Manifest != "" {
		e.add(`<link rel="manifest" href="%s">`, p.Manifest)
	}
	for _, name := range fontsOf(language) {
		e.add(`<link rel="preload" href="%s" as="font" type="font/woff2" crossorigin>`, f.Address(name))
	}
	for _, name := range p.Styles {
		e.add(`<link rel="stylesheet" href="%s">`, f.Address(name))
	}
	if p.Main == "" {
		return e.String()
	}
	for _, name := range f.Modules(p.Main)[1:] {
		e.add(`<link rel="modulepreload" href="%s">`, f.Address(name))
	}
	e.add(`<script type="module" src="%s"></script>`, f.Address(p.Main))
	return e.String()
}

// body is what stands on a page before its module runs.
func body(p Page, words map[string]string) string {
	var e elements
	if p.Main == "" {
		e.add(`<main id="main"><h1>%s</h1><p><a href="/">%s</a></p></main>`, words[p.Title], words["home"])
		return e.String()
	}
	e.add(`<div id="page"></div>`)
	e.add(`<noscript>%s</noscript>`, words["noscript"])
	return e.String()
}

// inScript is JSON that can stand in a script element: no < ends it.
//
// It fails where the sentences cannot be JSON, which is never.
func inScript(words map[string]string) (string, error) {
	text, err := json.Marshal(words)
	return string(text), err
}
