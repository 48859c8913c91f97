package labels

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"github.com/skip2/go-qrcode"
)

// Paper is the format of a sheet; what is drawn on it stands upright.
type Paper int

// The papers.
const (
	A5 Paper = iota // 148 x 210 mm
	A4              // 210 x 297 mm
	// A4x2 is two cards of A5 beside each other on an A4 sheet on its side, to be cut apart.
	A4x2
)

// ParsePaper reads "A4", "A5" or "A4x2" in any case; "" is A5. It fails for any other name.
func ParsePaper(s string) (Paper, error) {
	switch strings.ToUpper(strings.TrimSpace(s)) {
	case "", "A5":
		return A5, nil
	case "A4":
		return A4, nil
	case "A4X2":
		return A4x2, nil
	}
	return 0, fmt.Errorf("paper %q is not known; use A4, A5 or A4x2", s)
}

func (p Paper) size() (name string, wide, high, margin float64) {
	if p == A4 {
		return "A4", 210, 297, 8
	}
	return "A5", 148, 210, 6
}

// Line widths in mm.
const (
	hair  = 0.12
	thin  = 0.25
	thick = 0.6
)

// sheet draws on pages in mm from the top left corner.
type sheet struct {
	f                  *fpdf.Fpdf
	wide, high, margin float64
	two                bool    // pages lie two by two on a sheet
	left               float64 // of the page on its sheet
	pages              int
	err                error
}

// newPage begins a page, on a sheet of its own or beside the one before.
func (s *sheet) newPage() {
	s.pages++
	s.left = 0
	if s.two && s.pages%2 == 0 {
		s.left = s.wide + 1
		return
	}
	s.f.AddPage()
	if s.two {
		s.f.SetDashPattern([]float64{1, 2}, 0)
		s.line(s.wide+0.5, 0, s.wide+0.5, s.high, hair) // to cut along
		s.f.SetDashPattern(nil, 0)
	}
}

func newSheet(p Paper, title string, printed time.Time) *sheet {
	name, wide, high, margin := p.size()
	f := fpdf.New("P", "mm", name, "")
	if p == A4x2 {
		f = fpdf.New("L", "mm", "A4", "")
	}
	s := dress(f, title, printed)
	s.wide, s.high, s.margin, s.two = wide, high, margin, p == A4x2
	return s
}

// dress gives a new document its title, its date and its typefaces.
func dress(f *fpdf.Fpdf, title string, printed time.Time) *sheet {
	f.SetAutoPageBreak(false, 0)
	f.SetCatalogSort(true)
	if printed.IsZero() {
		printed = time.Unix(0, 0).UTC() // the writer would take the clock's time instead
	}
	f.SetCreationDate(printed)
	f.SetModificationDate(printed)
	f.SetTitle(title, true)
	f.SetLineCapStyle("butt")
	addFonts(f)
	return &sheet{f: f}
}

func (s *sheet) right() float64 { return s.wide - s.margin }
func (s *sheet) inner() float64 { return s.wide - 2*s.margin }

// text prints one line with its baseline at base.
func (s *sheet) text(x, base float64, k ink, str string) {
	if str == "" {
		return
	}
	s.f.SetFont(family, k.style(), k.pt)
	s.f.Text(s.left+x, base, str)
}

func (s *sheet) textRight(x, base float64, k ink, str string) {
	s.text(x-k.width(str), base, k, str)
}

func (s *sheet) textCentre(x, base float64, k ink, str string) {
	s.text(x-k.width(str)/2, base, k, str)
}

// lines prints lines below top and returns where the next one would begin.
func (s *sheet) lines(x, top float64, k ink, lines []string) float64 {
	for i, l := range lines {
		s.text(x, top+k.cap()+float64(i)*k.line(), k, l)
	}
	return top + float64(len(lines))*k.line()
}

func (s *sheet) line(x1, y1, x2, y2, width float64) {
	s.f.SetLineWidth(width)
	s.f.Line(s.left+x1, y1, s.left+x2, y2)
}

func (s *sheet) box(x, y, w, h, width float64) {
	s.f.SetLineWidth(width)
	s.f.Rect(s.left+x, y, w, h, "D")
}

// symbol is a QR code made ready for a sheet.
type symbol struct {
	modules [][]bool
	module  float64 // mm
}

// newSymbol sizes the code so that its side is at least side mm and each
// module is a whole number of dots.
func newSymbol(content string, level Level, side float64) (symbol, error) {
	m, err := Matrix(content, level)
	if err != nil {
		return symbol{}, err
	}
	return symbolOf(m, side), nil
}

// sturdySymbol makes the symbol that names a card: level H, and no larger corner squares
// than must be. It fails as Matrix does.
func sturdySymbol(content string, side float64) (symbol, error) {
	if v := sturdyVersionFor(side); v > 0 {
		if q, err := qrcode.NewWithForcedVersion(content, v, qrcode.Highest); err == nil {
			return symbolOf(modulesOf(q), side), nil
		}
	}
	return newSymbol(content, H, side) // it needs more than that version
}

// symbolOf gives modules a width in whole dots, so that they are no less than side wide.
func symbolOf(m [][]bool, side float64) symbol {
	const dot = 25.4 / dotsInch
	module := math.Ceil(side/float64(len(m))/dot-1e-9) * dot
	return symbol{m, module}
}

func (q symbol) side() float64 { return float64(len(q.modules)) * q.module }

// quiet is what is kept clear around the symbol: the quiet zone and a little
// for lines, which have a width, and for printers that smear.
func (q symbol) quiet() float64 { return Quiet*q.module + 0.3 }

// code draws a symbol with its top left module at x, y, on whole dots of 150 dpi and so of
// 300, as one filled path in units of modules.
func (s *sheet) code(x, y float64, q symbol) {
	const dot = 25.4 / dotsInch
	const k = 1 / mmPoint
	x, y = math.Round((s.left+x)/(2*dot))*2*dot, math.Round(y/(2*dot))*2*dot
	var b strings.Builder
	fmt.Fprintf(&b, "q 0 g %.5f 0 0 %.5f %.3f %.3f cm", q.module*k, -q.module*k, x*k, (s.high-y)*k)
	for _, r := range runs(q.modules) {
		for _, v := range [...]int{r.x, r.y, r.n} {
			b.WriteByte(' ')
			b.WriteString(strconv.Itoa(v))
		}
		b.WriteString(" 1 re")
	}
	b.WriteString(" f Q")
	s.f.RawWriteStr(b.String())
}

func (s *sheet) fail(err error) {
	if s.err == nil {
		s.err = err
	}
}

func (s *sheet) write(w io.Writer) error {
	if s.err != nil {
		return s.err
	}
	if err := s.f.Output(w); err != nil {
		return fmt.Errorf("writing the PDF: %w", err)
	}
	return nil
}
