package intake

import (
	"strconv"
	"strings"
)

const tempting = "=+-@'\t\r"

// Harmless keeps a spreadsheet from taking a text for a formula: an apostrophe
// before it, which reading takes off again. Numbers stay numbers.
func Harmless(s string) string {
	if s == "" || !strings.ContainsRune(tempting, rune(s[0])) {
		return s
	}
	if _, err := strconv.ParseFloat(s, 64); err == nil {
		return s
	}
	return "'" + s
}

// asMeant takes the apostrophe off that Harmless put before a text.
func asMeant(s string) string {
	if len(s) > 1 && s[0] == '\'' && strings.ContainsRune(tempting, rune(s[1])) {
		return s[1:]
	}
	return s
}
