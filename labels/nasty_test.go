package labels

import (
	"encoding/xml"
	"fmt"
	"math"
	"strings"
	"testing"
	"unicode"
)

// nasty are texts that a shop may well type, or an import may well bring.
var nasty = map[string]string{
	"80 umlauts":     strings.Repeat("Äöüß", 20),
	"machining":      "⌀ 24 H7 ± 0.02, 30° ⟂ A, ∥ B, Ra ≤ 0.8 µm, ∅ Ω Δ, ⌀ 0.05 Ⓜ",
	"one long word":  strings.Repeat("W", 400),
	"long words":     strings.Repeat("Getriebegehäuse-Unterteil, vormontiert ", 30),
	"slashes":        strings.Repeat("AB-12/", 60),
	"CJK":            strings.Repeat("精密部品加工 ", 20),
	"emoji":          "🔩🛠️🔧 bolt",
	"escape codes":   "\x1b[31mred\x00\x07\r\n\tline",
	"directions":     "\u202eabc\u202c \u200b\ufeff\u2066x\u2069",
	"bad UTF-8":      "a\xff\xfeb\xc3",
	"marks":          "Z" + strings.Repeat("\u0301\u0334", 60) + "algo",
	"PDF syntax":     `) Tj ET (\) << /JS (x) >> stream endstream %%EOF \`,
	"markup":         `<script>alert("1")</script> & ' "`,
	"only blanks":    " \t\u2003 ",
	"line ends":      "a\u2028b\u2029c\u0085d",
	"last plane":     "\uFFFF\uFFFE\U0010FFFF",
	"Hebrew, Arabic": "שלום עולם مرحبا",
}

func nastyCard() Card {
	c := sampleCard()
	c.WorksOrder, c.Part, c.PartName = nasty["slashes"], nasty["80 umlauts"], nasty["machining"]
	c.DrawingRev, c.RouteRev, c.Material, c.Customer = "Änderung 12 b", "a very long route", nasty["emoji"], nasty["CJK"]
	c.MaterialLots = nil
	for i := range 60 {
		c.MaterialLots = append(c.MaterialLots, fmt.Sprintf("LOT-0000-%d", i))
	}
	c.Pieces, c.Wanted, c.Priority, c.HeadHash = math.MaxInt, -5, math.MinInt, strings.Repeat("ab12 ", 60)
	c.URL = "https://" + strings.Repeat("long-host.", 10) + "example:65535"
	c.Operations = []CardOperation{
		{Number: 99999, WorkCentre: strings.Repeat("Centre ", 9), Instruction: nasty["long words"],
			SetupMin: 1e8, CycleMin: 123456.789, PiecesPerCycle: 1000000, Clampings: 77, FirstOff: true},
		{Number: 1, WorkCentre: nasty["escape codes"], Instruction: nasty["one long word"], CycleMin: -1,
			SetupMin: math.NaN()},
		{Number: 65535, Outside: true, OutsideDays: math.Inf(1), SetupMin: 3, CycleMin: 0.001},
	}
	return c
}

// everywhere puts s into all texts of a card.
func everywhere(s string) Card {
	c := sampleCard()
	for _, f := range []*string{&c.WorksOrder, &c.Part, &c.PartName, &c.DrawingRev, &c.RouteRev, &c.Material,
		&c.Customer, &c.OrderLine, &c.HeadHash} {
		*f = s
	}
	c.MaterialLots = []string{s, s, "", s}
	for i := range c.Operations {
		c.Operations[i].WorkCentre, c.Operations[i].Instruction = s, s
	}
	return c
}

// word is a word of the page and its place in points.
type word struct {
	XMin float64 `xml:"xMin,attr"`
	YMin float64 `xml:"yMin,attr"`
	XMax float64 `xml:"xMax,attr"`
	YMax float64 `xml:"yMax,attr"`
	Text string  `xml:",chardata"`
}

// apart keeps what a letter itself fills: the box of a word is as high as the
// font may ever reach.
func (w word) apart(v word) bool {
	core := func(w word) (top, bottom float64) {
		h := w.YMax - w.YMin
		return w.YMin + 0.22*h, w.YMax - 0.22*h
	}
	wt, wb := core(w)
	vt, vb := core(v)
	const slack = 0.4
	return wb <= vt || vb <= wt || w.XMax <= v.XMin+slack || v.XMax <= w.XMin+slack
}

func wordPages(t *testing.T, pdf string) [][]word {
	t.Helper()
	var doc struct {
		Pages []struct {
			Words []word `xml:"word"`
		} `xml:"body>doc>page"`
	}
	out := strings.Map(func(r rune) rune { // the tool writes U+FFFF as it is, which XML forbids
		if r == '\uFFFF' || r == '\uFFFE' {
			return '?'
		}
		return r
	}, tool(t, "pdftotext", "-bbox", pdf, "-"))
	dec := xml.NewDecoder(strings.NewReader(out))
	dec.Strict, dec.Entity = false, xml.HTMLEntity
	if err := dec.Decode(&doc); err != nil {
		t.Fatalf("pdftotext -bbox: %v", err)
	}
	var pages [][]word
	for _, p := range doc.Pages {
		pages = append(pages, p.Words)
	}
	return pages
}

func checkWords(t *testing.T, pdf string, paper Paper) {
	t.Helper()
	_, wide, high, margin := paper.size()
	const pt = 72 / 25.4
	for n, ws := range wordPages(t, pdf) {
		if len(ws) < 10 {
			t.Errorf("page %d has only %d words", n+1, len(ws))
		}
		for i, w := range ws {
			if w.XMin < (margin-1)*pt || w.XMax > (wide-margin+1)*pt || w.YMin < (margin-3)*pt ||
				w.YMax > (high-margin+2)*pt {
				t.Errorf("page %d: %q leaves the margins: %+v", n+1, w.Text, w)
			}
			for _, v := range ws[:i] {
				if !w.apart(v) {
					t.Errorf("page %d: %q and %q overlap: %+v %+v", n+1, v.Text, w.Text, v, w)
				}
			}
		}
	}
}

func TestNastyTextsStayInTheirPlaces(t *testing.T) {
	t.Parallel()
	var cards []Card
	for _, s := range nasty {
		cards = append(cards, everywhere(s))
	}
	for _, paper := range []Paper{A5, A4} {
		t.Run(paperName(paper), func(t *testing.T) {
			pdf := save(t, writeCards(t, paper, cards...))
			if n := len(wordPages(t, pdf)); n < len(cards) {
				t.Errorf("%d cards are on %d pages", len(cards), n)
			}
			checkWords(t, pdf, paper)
		})
	}
}

func TestNastyCard(t *testing.T) {
	for _, paper := range []Paper{A5, A4} {
		pdf := save(t, writeCards(t, paper, nastyCard()))
		checkWords(t, pdf, paper)
		got := strings.Join(strings.Fields(words(t, pdf)), " ")
		for _, want := range []string{"9 223 372 036 854 775 807", "(-5 wanted)", " more", "set-up – min",
			"outside – days", "<0.01 min each", "30° ⊥ A, ∥ B", "0.05 (M)"} {
			if !strings.Contains(got, want) {
				t.Errorf("%s: the card does not say %q:\n%s", paperName(paper), want, got)
			}
		}
	}
}

func TestLotsAreCountedWhenTheyDoNotFit(t *testing.T) {
	k := ink{false, 9}
	long := strings.Repeat("LOT", 100)
	for name, tc := range map[string]struct {
		lots []string
		want string
	}{
		"all fit":           {[]string{"A 1", "", " ", "B 2"}, "A 1, B 2"},
		"first is too long": {[]string{long, "B 2", "C 3"}, "+ 2 more: LOTLOT"},
		"second too long":   {[]string{"A 1", long}, "A 1 + 1 more"},
		"one too long":      {[]string{long}, "LOTLOT"},
	} {
		if got := strings.Join(Texts(nil).lots(tc.lots, 60, 2, k), " "); !strings.HasPrefix(got, tc.want) {
			t.Errorf("%s: got %q, want %q first", name, got, tc.want)
		}
	}
}

func TestPlainCardsStayInTheirPlaces(t *testing.T) {
	long := sampleCard()
	long.Operations = longRoute(60)
	for _, paper := range []Paper{A5, A4} {
		checkWords(t, save(t, writeCards(t, paper, sampleCard(), long, Card{Code: "B7K3M9QXA"})), paper)
	}
}

func TestArmsLength(t *testing.T) {
	// Capitals of at least distance/200 (FAA): 3.5 mm at 0.7 m. DejaVu's
	// capitals are 1493/2048 of the type size, its box 2384/2048 (font tables).
	want := map[string]bool{"W-26-1187": true, "VB-2041-03": true, "52": true, "2026-12-11": true}
	for _, w := range wordPages(t, save(t, writeCards(t, A5, sampleCard())))[0] {
		capital := (w.YMax - w.YMin) * 1493 / 2384 * 25.4 / 72
		if want[w.Text] && capital >= 3.5 {
			delete(want, w.Text)
		}
	}
	if len(want) > 0 {
		t.Errorf("too small to read at arm's length: %v", want)
	}
}

func FuzzCleanAndWrap(f *testing.F) {
	for _, s := range nasty {
		f.Add(s, 20.0, 3)
	}
	f.Fuzz(func(t *testing.T, s string, width float64, lines int) {
		if !(width >= 10 && width < 1e4) || lines < 1 || lines > 50 {
			return
		}
		k := ink{false, 8}
		got := clean(s)
		for _, r := range got {
			if unicode.IsControl(r) || r > 0xFFFF || r != ' ' && unicode.IsSpace(r) {
				t.Fatalf("clean(%q) keeps %U", s, r)
			}
		}
		if again := clean(got); again != got {
			t.Fatalf("clean is not at rest: %q, then %q", got, again)
		}
		broken := wrap(got, width, lines, k.width)
		if len(broken) > lines {
			t.Fatalf("%d lines, want at most %d", len(broken), lines)
		}
		for _, l := range broken {
			if k.width(l) > width+1e-6 {
				t.Fatalf("line %q is %.2f wide, want at most %.2f", l, k.width(l), width)
			}
		}
		if whole := strings.Join(broken, ""); !strings.HasSuffix(whole, ellipsis) &&
			strings.ReplaceAll(whole, " ", "") != strings.ReplaceAll(got, " ", "") {
			t.Fatalf("wrap lost text without saying so: %q from %q", broken, got)
		}
	})
}
