package paper

import (
	"strconv"
	"strings"
	"unicode/utf8"
)

const (
	// longestJobName is what is given to a printer as the name of a job, in octets: many
	// cut what is longer (common practice, no source; RFC 8011 allows 255, and cutting).
	longestJobName = 63
	// shortestJobName is how much must be left of a name for a job to be known by it.
	shortestJobName = 24
)

// JobName is what a document is called at its printer: no two jobs have the same. What
// distinguishes it from all others comes first, for printers cut names; then a title for people,
// as much of it as fits.
func JobName(id string, tries int, title string) string {
	name := strconv.Itoa(tries) + "-" + id
	left := longestJobName - len(name) - 1
	if left <= 0 || title == "" {
		return name
	}
	if len(title) > left {
		for title = title[:left]; !utf8.ValidString(title); {
			title = title[:len(title)-1]
		}
	}
	return strings.TrimRight(name+" "+title, " ")
}

// IsJob reports whether a printer's name of a job is the one that JobName gave, or what
// the printer left of it.
func IsJob(given, atPrinter string) bool {
	key, _, _ := strings.Cut(given, " ")
	is, _, _ := strings.Cut(atPrinter, " ")
	return is == key || len(is) >= shortestJobName && is == atPrinter && strings.HasPrefix(key, is)
}
