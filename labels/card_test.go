package labels

import (
	"bytes"
	"fmt"
	"reflect"
	"slices"
	"sort"
	"strings"
	"testing"
	"time"
)

func writeCards(t testing.TB, p Paper, cards ...Card) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := WriteCards(&b, cards, p, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func paperName(p Paper) string { name, _, _, _ := p.size(); return name }

// The URL has 43 characters: at level H version 4 would hold them (ISO/IEC 18004:
// alphanumeric capacity 35 in version 3, 50 in version 4); the card has version 7, 45
// modules, for its smaller corners. CODE/20 has 12, at level Q version 1, 21 modules.
const (
	cardURL     = "HTTPS://TALLY.SHOP.EXAMPLE:8443/S/B7K3M9QXA"
	mainModules = 45
	opModules   = 21
)

func TestCardCodesReadBack(t *testing.T) {
	t.Parallel()
	c := sampleCard()
	want := []string{cardURL}
	for _, o := range c.Operations {
		want = append(want, fmt.Sprintf("%s/%d", c.Code, o.Number))
	}
	for _, paper := range []Paper{A5, A4} {
		if paper == A4 {
			want = append(want, c.Code) // there is room for it in the foot
		}
		sort.Strings(want)
		pdf := save(t, writeCards(t, paper, c))
		try := printers
		if paper == A4 {
			try = printers[:2] // 150 dpi, the harder ones; the codes are as large as on A5
		}
		for _, p := range try {
			t.Run(fmt.Sprint(paperName(paper), " ", p), func(t *testing.T) {
				pages := rasterise(t, pdf, p)
				if len(pages) != 1 {
					t.Fatalf("%d pages, want 1", len(pages))
				}
				all := zxing(t, pages[0].dots(t), opModules)
				if got := texts(zbar(t, pages[0].path)); !reflect.DeepEqual(got, want) {
					t.Errorf("zbar reads %q, want %q", got, want)
				}
				if got := texts(all); !reflect.DeepEqual(got, want) {
					t.Errorf("gozxing reads %q, want %q", got, want)
				}
				for _, f := range all {
					if f.text == cardURL {
						checkCode(t, pages[0], p, f, mainModules, 30)
					} else {
						checkCode(t, pages[0], p, f, opModules, 12)
					}
				}
			})
		}
	}
}

// A card with room for it has its code again in the foot, clear of all else; one that is
// full without it stays on one page.
func TestCodeInTheFoot(t *testing.T) {
	t.Parallel()
	for n, feet := range map[int]int{0: 1, 3: 1, 6: 0} {
		c := sampleCard()
		c.Operations = c.Operations[:n]
		p := printer{203, true}
		pages := rasterise(t, save(t, writeCards(t, A5, c)), p)
		if len(pages) != 1 {
			t.Fatalf("%d operations: %d pages", n, len(pages))
		}
		found := 0
		for _, f := range zxing(t, pages[0].dots(t), opModules) {
			if f.text == c.Code {
				found++
				checkCode(t, pages[0], p, f, opModules, 12)
			}
		}
		if found != feet {
			t.Errorf("%d operations: %d codes in the foot, want %d", n, found, feet)
		}
	}
}

func TestCardSaysEverything(t *testing.T) {
	for _, paper := range []Paper{A5, A4} {
		got := strings.Join(strings.Fields(words(t, save(t, writeCards(t, paper, sampleCard())))), " ")
		for _, want := range []string{"B7K3M9QXA", "W-26-1187", "VB-2041-03", "Valve body, 3-port, Ø 42 h6",
			"Drawing rev.",
			"1.4404 bar ⌀ 50 mm, EN 10088-3", "H 88213-2, H 88214-1", "Brook & Hollow Pumps",
			"4500-11873 / 20", "R4", "50 wanted",
			"Fri 2026-12-11", "week 50", "5-axis milling", "set-up 45 min · 6.4 min each · 1 clamping",
			"5.5 min each (4 a cycle)", "first-off", "outside 5 days", "30° ± 0.1°", "Good", "Scrap",
			"Initials", "Machine",
			"Page 1 of 1", "Printed 2026-11-25 06:40", "9f3c 11ab 77e0 4d21",
			"This card does not release parts. Only the authorised inspector does.",
			"the shop's own quarantine"} {
			if !strings.Contains(got, want) {
				t.Errorf("%s: the card does not say %q:\n%s", paperName(paper), want, got)
			}
		}
	}
}

// A hot batch says so on each page, and its works order stays whole beside the word; one
// that is not says nothing of it.
func TestHotCard(t *testing.T) {
	t.Parallel()
	for _, paper := range []Paper{A5, A4} {
		c := sampleCard()
		if got := words(t, save(t, writeCards(t, paper, c))); strings.Contains(got, "HOT") {
			t.Errorf("%s: not hot:\n%s", paperName(paper), got)
		}
		c.Hot, c.Operations = true, longRoute(40)
		got := strings.Join(strings.Fields(words(t, save(t, writeCards(t, paper, c)))), " ")
		if strings.Count(got, "HOT") < 2 || !strings.Contains(got, c.WorksOrder) {
			t.Errorf("%s: %s", paperName(paper), got)
		}
	}
}

func TestLongRouteKeepsItsHead(t *testing.T) {
	t.Parallel()
	c := sampleCard()
	c.Operations = longRoute(60)
	pdf := save(t, writeCards(t, A5, c))
	pages := rasterise(t, pdf, printer{150, true})
	if len(pages) < 5 || len(pages) > 10 {
		t.Fatalf("60 operations take %d pages, want 5 to 10", len(pages))
	}
	seen := map[string]int{}
	for i, pg := range pages {
		all := texts(zbar(t, pg.path))
		head := c.Code
		if i == 0 {
			head = cardURL
		}
		if heads := slices.DeleteFunc(slices.Clone(all),
			func(s string) bool { return s != head }); len(heads) != 1 {
			t.Errorf("page %d: the head's code %q was seen %d times", i+1, head, len(heads))
		}
		for _, text := range all {
			seen[text]++
		}
	}
	for _, o := range c.Operations {
		if code := fmt.Sprintf("%s/%d", c.Code, o.Number); seen[code] != 1 {
			t.Errorf("operation code %s was read %d times, want once", code, seen[code])
		}
	}
	p := printer{150, false}
	second := rasterise(t, pdf, p)[1]
	for _, f := range zxing(t, second.dots(t), opModules) {
		checkCode(t, second, p, f, opModules, 12)
	}
	got := words(t, pdf)
	last := fmt.Sprintf("Page %d of %d", len(pages), len(pages))
	if !strings.Contains(got, last) || strings.Count(got, "W-26-1187") != len(pages) {
		t.Errorf("want %q and the works order on each of %d pages", last, len(pages))
	}
}

func TestManyCardsCountTheirOwnPages(t *testing.T) {
	long := sampleCard()
	long.Operations = longRoute(12)
	got := words(t, save(t, writeCards(t, A5, sampleCard(), long, sampleCard())))
	if strings.Count(got, "Page 1 of 1") != 2 || strings.Count(got, "Page 2 of 2") != 1 {
		t.Errorf("pages are not counted per card:\n%s", got)
	}
}

func TestSameInputSameBytes(t *testing.T) {
	first := writeCards(t, A4, sampleCard(), nastyCard())
	for range 5 {
		if !bytes.Equal(first, writeCards(t, A4, sampleCard(), nastyCard())) {
			t.Fatal("two runs gave different bytes")
		}
	}
	if c := (Card{Code: "B7K3M9QXA"}); !bytes.Equal(writeCards(t, A5, c), writeCards(t, A5, c)) {
		t.Fatal("a card without a date of printing differs from run to run")
	}
	if !bytes.Contains(first, []byte("/CreationDate (D:20261125064000")) {
		t.Error("the PDF does not carry the card's date of printing")
	}
}

func TestRefusedCards(t *testing.T) {
	with := func(f func(*Card)) []Card { c := sampleCard(); f(&c); return []Card{c} }
	for name, tc := range map[string]struct {
		cards []Card
		want  string
	}{
		"none":           {nil, "no cards"},
		"no code":        {with(func(c *Card) { c.Code = "" }), "works order \"W-26-1187\""},
		"odd code":       {with(func(c *Card) { c.Code = "b7k3\n" }), "capitals and digits"},
		"foreign URL":    {with(func(c *Card) { c.URL = "https://höhle:1" }), "public URL"},
		"endless URL":    {with(func(c *Card) { c.URL = "https://" + strings.Repeat("a", 300) }), "shorter"},
		"operation zero": {with(func(c *Card) { c.Operations[0].Number = 0 }), "operation number 0"},
	} {
		err := WriteCards(&bytes.Buffer{}, tc.cards, A5, nil)
		if err == nil || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s: got %v, want an error with %q", name, err, tc.want)
		}
	}
}

func TestCardURL(t *testing.T) {
	for base, want := range map[string]string{
		"https://tally.shop.example:8443":  cardURL,
		"https://tally.shop.example:8443/": cardURL,
		"":                                 "B7K3M9QXA",
		"http://[::1]:80":                  "HTTP://[::1]:80/S/B7K3M9QXA",
	} {
		if got, err := CardURL(base, "B7K3M9QXA"); err != nil || got != want {
			t.Errorf("%q: got %q, %v; want %q", base, got, err, want)
		}
	}
}

func TestTranslatedCard(t *testing.T) {
	tr := Texts{"works_order": "Auftrag", "decimal_sign": ",", "date": "02.01.2006", "fri": "Fr", "scrap": ""}
	var b bytes.Buffer
	c := sampleCard()
	c.Due = time.Date(2026, 12, 11, 14, 30, 0, 0, time.UTC)
	if err := WriteCards(&b, []Card{c}, A4, tr); err != nil {
		t.Fatal(err)
	}
	got := words(t, save(t, b.Bytes()))
	for _, want := range []string{"Auftrag", "Fr 11.12.2026", "week 50, 14:30", "6,4 min each", "Scrap"} {
		if !strings.Contains(got, want) {
			t.Errorf("translated card does not say %q", want)
		}
	}
}

func BenchmarkThousandCards(b *testing.B) {
	var cards []Card
	for range 1000 {
		cards = append(cards, sampleCard())
	}
	for b.Loop() {
		var out bytes.Buffer
		if err := WriteCards(&out, cards, A5, nil); err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(out.Len())/1000, "B/card")
	}
}

func BenchmarkOneCard(b *testing.B) {
	for b.Loop() {
		if err := WriteCards(&bytes.Buffer{}, []Card{sampleCard()}, A5, nil); err != nil {
			b.Fatal(err)
		}
	}
}
