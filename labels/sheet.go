package labels

import (
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
)

// Paper is the format of a sheet, always upright.
type Paper int

// The papers.
const (
	A5 Paper = iota // 148 x 210 mm
	A4              // 210 x 297 mm
)

// ParsePaper reads "A4" or "A5" in any case; "" is A5. It fails for any other name.
func ParsePaper(s string) (Paper, error) {
	switch strings.ToUpper(strings.TrimSpace(s)) {
	case "", "A5":
		return A5, nil
	case "A4":
		return A4, nil
	}
	return 0, fmt.Errorf("paper %q is not known; use A4 or A5", s)
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
	err                error
}

func newSheet(p Paper, title string, printed time.Time) *sheet {
	name, wide, high, margin := p.size()
	f := fpdf.New("P", "mm", name, "")
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
	return &sheet{f: f, wide: wide, high: high, margin: margin}
}

func (s *sheet) right() float64 { return s.wide - s.margin }
func (s *sheet) inner() float64 { return s.wide - 2*s.margin }

// text prints one line with its baseline at base.
func (s *sheet) text(x, base float64, k ink, str string) {
	if str == "" {
		return
	}
	s.f.SetFont(family, k.style(), k.pt)
	s.f.Text(x, base, str)
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
	s.f.Line(x1, y1, x2, y2)
}

func (s *sheet) box(x, y, w, h, width float64) {
	s.f.SetLineWidth(width)
	s.f.Rect(x, y, w, h, "D")
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
	const dot = 25.4 / dotsInch
	module := math.Ceil(side/float64(len(m))/dot-1e-9) * dot
	return symbol{m, module}, nil
}

func (q symbol) side() float64 { return float64(len(q.modules)) * q.module }

// quiet is what is kept clear around the symbol: the quiet zone and a little
// for lines, which have a width, and for printers that smear.
func (q symbol) quiet() float64 { return Quiet*q.module + 0.3 }

// code draws a symbol with its top left module at x, y, on whole dots, as one
// filled path in units of modules.
func (s *sheet) code(x, y float64, q symbol) {
	const dot = 25.4 / dotsInch
	const k = 1 / mmPoint
	x, y = math.Round(x/dot)*dot, math.Round(y/dot)*dot
	var b strings.Builder
	fmt.Fprintf(&b, "q 0 g %.5f 0 0 %.5f %.3f %.3f cm", q.module*k, -q.module*k, x*k, (s.high-y)*k)
	for _, r := range runs(q.modules) {
		fmt.Fprintf(&b, " %d %d %d 1 re", r.x, r.y, r.n)
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
