package study

import (
	"testing"

	"golang.org/x/text/language"
	"golang.org/x/text/message"
	"golang.org/x/text/number"
)

// Figures in sentences are written as CLDR has it, as golang.org/x/text gives it.
func TestFiguresOfALanguage(t *testing.T) {
	for _, code := range Languages() {
		v, p := Comparison{Language: code}, message.NewPrinter(language.MustParse(code))
		for _, x := range []float64{0.5, 12.25, 1234.5, 1234567.75} {
			if got, want := v.fixed(x, 2), p.Sprint(number.Decimal(x, number.Scale(2))); got != want {
				t.Errorf("%s: %s, CLDR has %s", code, got, want)
			}
		}
	}
	if got := (&Comparison{Language: "de"}).Owner("and"); got != " und " {
		t.Errorf("%q is no German", got)
	}
	if got := (&Comparison{}).Owner("and"); got != " and " {
		t.Errorf("%q is no English", got)
	}
}
