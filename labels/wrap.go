package labels

import (
	"strings"
	"unicode/utf8"
)

const ellipsis = "…"

// wrap breaks s into at most lines lines that are no wider than width, at
// blanks where it can and inside a word where it must. What is left over is
// cut with an ellipsis.
func wrap(s string, width float64, lines int, measure func(string) float64) []string {
	var out []string
	for s != "" && len(out) < lines {
		n := fitting(s, width, measure)
		if n < len(s) && len(out) == lines-1 {
			return append(out, cut(s, width, measure))
		}
		if n < len(s) && s[n] != ' ' {
			n = breakAt(s, n)
		}
		out = append(out, strings.TrimRight(s[:n], " "))
		s = strings.TrimLeft(s[n:], " ")
	}
	return out
}

// fitting returns how many bytes of s fit into width, at least one character,
// so that no width can make wrap stand still.
func fitting(s string, width float64, measure func(string) float64) int {
	used, n := 0.0, 0
	for i, r := range s {
		used += measure(s[i : i+utf8.RuneLen(r)])
		if used > width && i > 0 {
			break
		}
		n = i + utf8.RuneLen(r)
	}
	return n
}

// breakAt moves the break at n back to the last blank, or after the last
// joining sign, unless that would leave less than a third of the line.
func breakAt(s string, n int) int {
	if i := strings.LastIndexByte(s[:n], ' '); i > n/3 {
		return i
	}
	if i := strings.LastIndexAny(s[:n], "-/,;._"); i > n/3 {
		return i + 1
	}
	return n
}

// cut shortens s to width and ends it with an ellipsis when something is lost.
func cut(s string, width float64, measure func(string) float64) string {
	if measure(s) <= width {
		return s
	}
	n := fitting(s, width-measure(ellipsis), measure)
	return strings.TrimRight(s[:n], " ") + ellipsis
}
