package labels

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

const (
	maxRunes  = 2000 // longer text could not be printed on a card anyway
	maxMarks  = 2    // combining marks on one letter; more would reach into other lines
	noGlyph   = '\uFFFD'
	lastPlane = 0xFFFF // the fonts are addressed by 16 bits
)

// alike writes signs of drawings that the font lacks in others that say the
// same: squareness, and circled letters such as that of maximum material.
func alike(s string) string {
	if !strings.ContainsFunc(s, lacking) {
		return s
	}
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '⟂':
			b.WriteRune('⊥')
		case lacking(r):
			b.WriteString("(" + string('A'+r-'Ⓐ') + ")")
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

func lacking(r rune) bool { return r == '⟂' || 'Ⓐ' <= r && r <= 'Ⓩ' }

// clean makes any string fit for paper: control and direction characters are
// dropped, white space becomes single blanks, what the font cannot address
// becomes a replacement sign.
func clean(s string) string {
	s = alike(norm.NFC.String(strings.Map(printable, s)))
	var b strings.Builder
	space, marks, n := false, 0, 0
	for _, r := range s {
		if r == ' ' {
			space, marks = b.Len() > 0, 0
			continue
		}
		if !unicode.Is(unicode.M, r) {
			marks = 0
		} else if marks++; marks > maxMarks {
			continue
		}
		if space {
			b.WriteByte(' ')
			space = false
		}
		b.WriteRune(r)
		if n++; n == maxRunes {
			break
		}
	}
	return b.String()
}

// printable is what to print for r; -1 is nothing.
func printable(r rune) rune {
	switch {
	case unicode.IsSpace(r):
		return ' '
	case unicode.In(r, unicode.Cc, unicode.Cf, unicode.Co, unicode.Cs, unicode.Variation_Selector):
		return -1
	case r > lastPlane:
		return noGlyph
	}
	return r
}
