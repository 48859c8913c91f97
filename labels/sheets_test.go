package labels

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"reflect"
	"sort"
	"strings"
	"testing"
)

// sheetCodes writes a sheet, reads it back in all ways and compares.
func sheetCodes(t *testing.T, want []string, modules int, atLeast float64,
	write func(io.Writer) error) string {
	t.Helper()
	var b, again bytes.Buffer
	if err := write(&b); err != nil {
		t.Fatal(err)
	}
	if err := write(&again); err != nil || !bytes.Equal(b.Bytes(), again.Bytes()) {
		t.Errorf("two runs gave different bytes (%v)", err)
	}
	sort.Strings(want)
	pdf := save(t, b.Bytes())
	for _, p := range printers[:2] { // 150 dpi, the harder ones
		var got, cut []string
		for _, pg := range rasterise(t, pdf, p) {
			for _, f := range zxing(t, pg.dots(t), modules) {
				got = append(got, f.text)
				cut = append(cut, savePNG(t, checkCode(t, pg, p, f, modules, atLeast)))
			}
		}
		if sort.Strings(got); !reflect.DeepEqual(got, want) {
			t.Errorf("%v: gozxing reads %q, want %q", p, got, want)
		}
		// One by one, as a scanner is held: on a full page zbar misses some of
		// many equal codes.
		if got := texts(zbar(t, cut...)); !reflect.DeepEqual(got, want) {
			t.Errorf("%v: zbar reads %q, want %q", p, got, want)
		}
	}
	return pdf
}

func TestTestCard(t *testing.T) {
	t.Parallel()
	for _, paper := range []Paper{A5, A4} {
		// 74 characters at level Q: version 5, 37 modules (ISO/IEC 18004, from memory: capacity 87).
		pdf := sheetCodes(t, []string{TestCardText}, 37, 50, func(w io.Writer) error {
			return WriteTestCard(w, paper, printed, nil)
		})
		if got := words(t, pdf); !strings.Contains(got, TestCardText) {
			t.Errorf("the line to compare is missing:\n%s", got)
		}
	}
}

func TestTestCardTextHoldsAllKeys(t *testing.T) {
	// The 45 characters of the alphanumeric mode (ISO/IEC 18004, from memory).
	const set = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"
	for _, r := range set {
		if !strings.ContainsRune(TestCardText, r) {
			t.Errorf("the test card lacks %q", r)
		}
	}
	for i, r := range TestCardText {
		if !strings.ContainsRune(set, r) {
			t.Errorf("%q is not in the alphanumeric set", r)
		}
		if strings.ContainsRune("$%*+-./:", r) && TestCardText[i+1] != '0' {
			t.Errorf("the sign %q does not stand before a 0", r)
		}
	}
}

func TestBadges(t *testing.T) {
	t.Parallel()
	badges := sampleBadges(11)
	var want []string
	for _, b := range badges {
		want = append(want, b.Code)
	}
	pdf := sheetCodes(t, want, 21, 25,
		func(w io.Writer) error { return WriteBadges(w, badges, printed, nil) })
	got := words(t, pdf)
	for _, s := range []string{"Ana Okoro", "Jörg Weißenböck", "Σοφία Πάππα", "operator", badges[10].Code} {
		if !strings.Contains(got, s) {
			t.Errorf("badges do not say %q:\n%s", s, got)
		}
	}
}

func TestMachinePlates(t *testing.T) {
	t.Parallel()
	plates := samplePlates(7)
	var want []string
	for _, p := range plates {
		want = append(want, p.Code)
	}
	pdf := sheetCodes(t, want, 21, 40,
		func(w io.Writer) error { return WriteMachinePlates(w, plates, printed, nil) })
	if got := words(t, pdf); !strings.Contains(got, "L7") || !strings.Contains(got, "Turning") ||
		!strings.Contains(got, plates[0].Code) {
		t.Errorf("plates do not say their machine:\n%s", got)
	}
}

func TestActionSheet(t *testing.T) {
	t.Parallel()
	actions := sampleActions()
	var want []string
	for _, a := range actions {
		want = append(want, a.Code)
	}
	pdf := sheetCodes(t, want, 21, 20, func(w io.Writer) error {
		return WriteActionSheet(w, "Lathe L1", []ActionGroup{{"Steps", actions}}, printed, nil)
	})
	got := strings.Join(strings.Fields(words(t, pdf)), " ")
	caution := "The screen does not stop a machine. Before setting, clearing or measuring, follow the machine's own isolation procedure and local rules."
	for _, s := range []string{"Lathe L1", "Arrived", "First-off", "It happened 15 min ago", caution,
		actions[3].Code} {
		if !strings.Contains(got, s) {
			t.Errorf("action sheet does not say %q:\n%s", s, got)
		}
	}
}

func TestNastySheets(t *testing.T) {
	t.Parallel()
	var badges []Badge
	var plates []Plate
	for name, s := range nasty {
		badges = append(badges, Badge{"P03RBGK8V", s, s}, Badge{"P1A92HTSJ", s, s})
		plates = append(plates, Plate{"M03RBGK8V", s, s, s}, Plate{"M1A92HTSJ", s, s, s})
		noOverlap(t, "actions, "+name, func(w io.Writer) error {
			return WriteActionSheet(w, s,
				[]ActionGroup{{s, []ActionCode{{"A03RBGK8V", s}, {"A1A92HTSJ", s}}}}, printed, nil)
		})
	}
	noOverlap(t, "badges", func(w io.Writer) error { return WriteBadges(w, badges, printed, nil) })
	noOverlap(t, "plates", func(w io.Writer) error { return WriteMachinePlates(w, plates, printed, nil) })
}

// noOverlap writes a sheet and wants each of its words in a place of its own.
func noOverlap(t *testing.T, sheet string, write func(io.Writer) error) {
	t.Helper()
	var b bytes.Buffer
	if err := write(&b); err != nil {
		t.Fatalf("%s: %v", sheet, err)
	}
	for _, ws := range wordPages(t, save(t, b.Bytes())) {
		for i, w := range ws {
			for _, v := range ws[:i] {
				if !w.apart(v) {
					t.Errorf("%s: %q and %q overlap", sheet, v.Text, w.Text)
				}
			}
		}
	}
}

func TestSheetsRefuse(t *testing.T) {
	for name, err := range map[string]error{
		"no badges":  WriteBadges(io.Discard, nil, printed, nil),
		"no plates":  WriteMachinePlates(io.Discard, nil, printed, nil),
		"no actions": WriteActionSheet(io.Discard, "L1", nil, printed, nil),
		"badge":      WriteBadges(io.Discard, []Badge{{"", "Ana", ""}}, printed, nil),
		"plate":      WriteMachinePlates(io.Discard, []Plate{{"m1", "L1", "", ""}}, printed, nil),
		"action": WriteActionSheet(io.Discard, "L1", []ActionGroup{{"", []ActionCode{{"A/1", "Run"}}}},
			printed, nil),
	} {
		if err == nil || len(err.Error()) < 20 {
			t.Errorf("%s: got %v, want a sentence that helps", name, err)
		}
	}
}

func TestSVG(t *testing.T) {
	var b bytes.Buffer
	if err := WriteSVG(&b, cardURL, H, 0.5); err != nil {
		t.Fatal(err)
	}
	var svg struct {
		Width   string `xml:"width,attr"`
		ViewBox string `xml:"viewBox,attr"`
		Paths   []struct {
			D string `xml:"d,attr"`
		} `xml:"path"`
	}
	if err := xml.Unmarshal(b.Bytes(), &svg); err != nil {
		t.Fatal(err)
	}
	// 33 modules and 4 of quiet on each side, half a millimetre each.
	if svg.Width != "20.5mm" || svg.ViewBox != "0 0 41 41" || len(svg.Paths) != 2 {
		t.Errorf("SVG is %s wide with view box %q", svg.Width, svg.ViewBox)
	}
	m, err := Matrix(cardURL, H)
	if err != nil {
		t.Fatal(err)
	}
	got := make([][]bool, len(m))
	for i := range got {
		got[i] = make([]bool, len(m))
	}
	for _, part := range strings.Split(strings.TrimSuffix(svg.Paths[1].D, "z"), "z") {
		var x, y, n, back int
		if _, err := fmt.Sscanf(part, "M%d %dh%dv1h-%d", &x, &y, &n, &back); err != nil || n != back {
			t.Fatalf("path part %q: %v", part, err)
		}
		for i := range n {
			got[y-4][x-4+i] = true
		}
	}
	if !reflect.DeepEqual(got, m) {
		t.Error("the SVG's path is not the matrix")
	}
	for _, mm := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if err := WriteSVG(io.Discard, "A", H, mm); err == nil {
			t.Errorf("a module of %v mm: want an error", mm)
		}
	}
}

func TestParsePaper(t *testing.T) {
	for s, want := range map[string]Paper{"": A5, "a5": A5, "A4": A4, " a4 ": A4} {
		if got, err := ParsePaper(s); err != nil || got != want {
			t.Errorf("%q: got %v, %v", s, got, err)
		}
	}
	if _, err := ParsePaper("letter"); err == nil || !strings.Contains(err.Error(), "A4, A5 or A4x2") {
		t.Errorf("letter: got %v", err)
	}
}
