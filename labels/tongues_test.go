package labels

import (
	"strings"
	"testing"
	"time"
	"unicode"

	"golang.org/x/text/language"
	"golang.org/x/text/message"
	cldr "golang.org/x/text/number"
	"golang.org/x/text/unicode/norm"
)

// Each card says the words of its language, and can print each letter of them.
func TestCardsInEachLanguage(t *testing.T) {
	for code, want := range map[string][]string{
		"de": {"Fertigungsauftrag", "Ausschuss", "Werkstoff"},
		"es": {"Orden de fabricación", "Desecho", "Lotes de material"},
		"pl": {"Zlecenie", "Część", "Strona"},
		"tr": {"İş emri", "Sağlam", "Müşteri"},
	} {
		var b strings.Builder
		c := sampleCard()
		c.Printed = time.Date(2026, 11, 25, 10, 2, 0, 0, time.UTC)
		if err := WriteCards(&b, []Card{c}, A5, In(code)); err != nil {
			t.Fatal(err)
		}
		got := strings.Join(strings.Fields(words(t, save(t, []byte(b.String())))), " ")
		for _, w := range want {
			if !strings.Contains(got, w) {
				t.Errorf("%s: no %q in %s", code, w, got)
			}
		}
		for key, text := range In(code) {
			for _, r := range text {
				if unicode.IsLetter(r) && !isDrawn(r) {
					t.Errorf("%s: the typeface has no %c, in %s", code, r, key)
				}
			}
		}
	}
}

// isDrawn reports whether both faces have a letter: one with an accent is as wide as
// the letter below it (Unicode, canonical decomposition), which a box that stands for
// a missing one is not.
func isDrawn(r rune) bool {
	below := []rune(norm.NFD.String(string(r)))[0]
	if r == 'ı' {
		below = 'i'
	}
	for _, bold := range []bool{false, true} {
		k := ink{bold, 100}
		if w := k.width(string(r)); w <= 0 || below != r && w != k.width(string(below)) {
			return false
		}
	}
	return true
}

// The decimal sign is CLDR's, as golang.org/x/text has it.
func TestDecimalSigns(t *testing.T) {
	for code, tag := range map[string]language.Tag{
		"en": language.BritishEnglish, "de": language.German, "es": language.Spanish, "pl": language.Polish,
		"tr": language.Turkish,
	} {
		if got, want := In(code).number(2.5), message.NewPrinter(tag).Sprint(cldr.Decimal(2.5)); got != want {
			t.Errorf("%s: %s, CLDR has %s", code, got, want)
		}
	}
}

func TestAnUnknownLanguageIsEnglish(t *testing.T) {
	if got := In("xx").say("scrap"); got != English().say("scrap") {
		t.Errorf("%q", got)
	}
}
