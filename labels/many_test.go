package labels

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"
)

// manyCards gives so many cards, each with a code of its own.
func manyCards(n int) []Card {
	var cards []Card
	for i := range n {
		c := sampleCard()
		c.Code = crockford32('B', i)
		cards = append(cards, c)
	}
	return cards
}

// counting counts what is written, and keeps nothing.
type counting struct{ n int }

func (c *counting) Write(p []byte) (int, error) {
	c.n += len(p)
	return len(p), nil
}

// A book of cards is one whole PDF: other people's readers (poppler) find each card in
// its order, in the typefaces of its own part, and complain of nothing.
func TestManyCardsAreOnePDF(t *testing.T) {
	t.Parallel()
	cards := manyCards(cardsPart + 20)
	cards[cardsPart+3].PartName = "Σ only in the second part"
	cards[1].Operations = longRoute(30)
	pdf := writeCards(t, A5, cards...)
	path := save(t, pdf)
	got := words(t, path)
	at := 0
	for i, c := range cards {
		k := strings.Index(got[at:], c.Code)
		if k < 0 {
			t.Fatalf("card %d, %s, is missing or not in its place", i, c.Code)
		}
		at += k
	}
	if !strings.Contains(got, "Σ only in the second part") {
		t.Error("a letter of the second part is lost")
	}
	if !bytes.Equal(pdf, writeCards(t, A5, cards...)) {
		t.Error("two runs gave different bytes")
	}
	info := tool(t, "pdfinfo", path)
	if !strings.Contains(info, "Page size:       420.94 x 595.28 pts (A5)") ||
		!strings.Contains(info, "Title:           Card "+cards[0].Code) {
		t.Errorf("pdfinfo says:\n%s", info)
	}
	for _, n := range []int{cardsPart, cardsPart + 20} {
		if !bytes.Contains(pdf, []byte("\n%cards "+strconv.Itoa(n)+"\n")) {
			t.Errorf("no count of %d cards for who reads along", n)
		}
	}
	tool(t, "pdftoppm", "-r", "150", "-gray", "-png", "-f", "119", "-l", "119", path, path)
	pages, err := os.ReadDir(strings.TrimSuffix(path, "/sheet.pdf"))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range pages {
		if strings.HasSuffix(e.Name(), ".png") {
			if read := zbar(t, strings.TrimSuffix(path, "sheet.pdf")+e.Name()); len(read) < 3 {
				t.Errorf("a page of the second part reads as %v", texts(read))
			}
		}
	}
}

// Two cards lie on a sheet, a long one goes on beside itself and on further sheets.
func TestTwoOnASheet(t *testing.T) {
	t.Parallel()
	long := sampleCard()
	long.Code, long.Operations = "B1A92HTSJ", longRoute(12)
	pdf := save(t, writeCards(t, A4x2, sampleCard(), long, sampleCard()))
	pages := rasterise(t, pdf, printer{150, true})
	if len(pages) != 2 {
		t.Fatalf("%d sheets for four pages, want 2", len(pages))
	}
	if info := tool(t, "pdfinfo", pdf); !strings.Contains(info, "841.89 x 595.28 pts (A4)") {
		t.Errorf("pdfinfo says:\n%s", info)
	}
	seen := map[string]int{}
	for _, pg := range pages {
		for _, f := range zbar(t, pg.path) {
			seen[f.text]++
		}
	}
	if seen[cardURL] != 2 || seen["HTTPS://TALLY.SHOP.EXAMPLE:8443/S/B1A92HTSJ"] != 1 {
		t.Errorf("main codes: %v", seen)
	}
	for _, o := range long.Operations {
		if code := fmt.Sprintf("B1A92HTSJ/%d", o.Number); seen[code] != 1 {
			t.Errorf("%s was read %d times, want once", code, seen[code])
		}
	}
}

// A thousand cards stay below 10 MB, and the memory for ten thousand below 150 MB; with
// TALLYWALK_LONG the ten thousand are written.
func TestBookOfCards(t *testing.T) {
	n := 300
	if os.Getenv("TALLYWALK_LONG") != "" {
		n = 10_000
	}
	cards := manyCards(n)
	var out counting
	before := time.Now()
	if err := WriteCards(&out, cards, A5, nil); err != nil {
		t.Fatal(err)
	}
	if perCard := out.n / n; perCard > 10_000 {
		t.Errorf("%d bytes a card, want 10,000 at most: 10 MB for a thousand", perCard)
	}
	t.Logf("%d cards: %v, %d bytes, peak %s", n, time.Since(before), out.n, peak(t))
}

// peak is the most memory that this process ever had, as Linux says.
func peak(t *testing.T) string {
	t.Helper()
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return "unknown"
	}
	for _, l := range strings.Split(string(status), "\n") {
		if strings.HasPrefix(l, "VmHWM:") {
			return strings.TrimSpace(strings.TrimPrefix(l, "VmHWM:"))
		}
	}
	return "unknown"
}

// What is no PDF of ours is not joined.
func TestJoinRefuses(t *testing.T) {
	good := writeCards(t, A5, sampleCard())
	for name, pdf := range map[string][]byte{
		"nothing": nil, "no end": good[:len(good)-40],
		"no table": bytes.Replace(good, []byte("xref\n0 "), []byte("xref\n1 "), 1),
		"a far table": append(good[:bytes.LastIndex(good, []byte("startxref"))],
			[]byte("startxref\n99999999\n%%EOF\n")...),
	} {
		if err := newJoiner(io.Discard).add(pdf); err == nil {
			t.Errorf("%s: joined", name)
		}
	}
}
