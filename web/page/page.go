package page

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"html"
	"slices"
	"strings"
)

// Page is what one page loads. Names are places in the repository.
type Page struct {
	Main   string // its module; empty for a page that only says something
	Styles []string
	Words  []string // groups of sentences: names of files in a language's folder
	Title  string   // the key of its title
	// Manifest is the address of what a browser needs to install it; empty for a page
	// that is not installed.
	Manifest string
	Touch    bool // fills the glass of a tablet, with its own light and dark
}

// rendered is a page as it is sent.
type rendered struct {
	body []byte
	tag  string // of its content (RFC 9110, 8.8.3)

	language string
}

// fonts are what every page begins to load at once; letters beyond Latin-1 follow
// where a page has them, and in some languages every page has.
var (
	fonts      = []string{"web/lib/font/latin-400.woff2", "web/lib/font/latin-700.woff2"}
	moreFonts  = []string{"web/lib/font/latin-ext-400.woff2", "web/lib/font/latin-ext-700.woff2"}
	moreNeeded = []string{"pl", "tr"} // languages
)

// fontsOf are what a page in a language begins to load at once.
func fontsOf(language string) []string {
	if slices.Contains(moreNeeded, language) {
		return slices.Concat(fonts, moreFonts)
	}
	return fonts
}

// formName is the one form of all pages.
const formName = "web/pages/page.html"

// render makes a page in a language. It fails where the form or a group of
// sentences is missing or wrong.
func (f *Files) render(p Page, language string) (rendered, error) {
	form, ok := f.files[formName]
	if !ok {
		return rendered{}, fmt.Errorf("%s is missing", formName)
	}
	words, err := f.words(language, p.Words)
	if err != nil {
		return rendered{}, fmt.Errorf("the words of a page: %w", err)
	}
	said, err := inScript(words)
	if err != nil {
		return rendered{}, fmt.Errorf("the words of a page: %w", err)
	}
	whole, err := fill(string(form.data), map[string]string{
		"language": html.EscapeString(language), "direction": direction(language),
		"languages": html.EscapeString(strings.Join(f.Languages(p.Words), " ")),
		"head":      f.head(p, language, words), "words": said, "body": body(p, words),
	})
	if err != nil {
		return rendered{}, fmt.Errorf("the form of pages, %s: %w", formName, err)
	}
	sum := sha256.Sum256([]byte(whole))
	return rendered{body: []byte(whole), tag: `W/"` + hex.EncodeToString(sum[:12]) + `"`,
		language: language}, nil
}

// rightToLeft are languages whose script runs from right to left.
var rightToLeft = []string{"ar", "fa", "he", "ur"}

// direction is that of a language's script, as HTML names it.
func direction(language string) string {
	if slices.Contains(rightToLeft, language) {
		return "rtl"
	}
	return "ltr"
}

// title is a page's title as the browser shows it.
func title(p Page, words map[string]string) string {
	if p.Touch {
		return words[p.Title]
	}
	return strings.Replace(words["title"], "{0}", words[p.Title], 1)
}

func (f *Files) addresses(names []string) []string {
	out := make([]string, len(names))
	for i, name := range names {
		out[i] = f.Address(name)
	}
	return out
}
