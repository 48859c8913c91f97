package labels

import (
	"sync"

	"codeberg.org/go-pdf/fpdf"
	"github.com/go-fonts/dejavu/dejavusanscondensed"
	"github.com/go-fonts/dejavu/dejavusanscondensedbold"
)

const (
	family   = "card"
	mmPoint  = 25.4 / 72 // millimetres in a point
	capital  = 0.729     // height of a capital of the font, in type sizes
	leading  = 1.2       // from line to line, in type sizes
	dotsInch = 300       // QR modules are whole dots at this and at twice this resolution
)

// ink is a face at a size in points.
type ink struct {
	bold bool
	pt   float64
}

// cap returns the height of a capital and line the distance of lines, in mm.
func (k ink) cap() float64  { return k.pt * mmPoint * capital }
func (k ink) line() float64 { return k.pt * mmPoint * leading }

func (k ink) style() string {
	if k.bold {
		return "B"
	}
	return ""
}

// width returns how wide s is, in mm.
func (k ink) width(s string) float64 {
	t := &widths().regular
	if k.bold {
		t = &widths().bold
	}
	sum := 0
	for _, r := range s {
		sum += int(t[min(r, lastPlane)])
	}
	return float64(sum) * k.pt * mmPoint / 1000
}

// widthTable holds the widths of the characters in thousandths of the size.
type widthTable struct {
	regular, bold [lastPlane + 1]uint16
}

// widths is read once: asking the PDF writer would leave a font change in the
// page for each question.
var widths = sync.OnceValue(func() *widthTable {
	f := fpdf.New("P", "mm", "A4", "")
	addFonts(f)
	t := &widthTable{}
	f.SetFont(family, "", 10)
	readWidths(f, &t.regular)
	f.SetFont(family, "B", 10)
	readWidths(f, &t.bold)
	return t
})

func readWidths(f *fpdf.Fpdf, t *[lastPlane + 1]uint16) {
	for r := range t {
		t[r] = uint16(f.GetStringSymbolWidth(string(rune(r))))
	}
}

func addFonts(f *fpdf.Fpdf) {
	f.AddUTF8FontFromBytes(family, "", dejavusanscondensed.TTF)
	f.AddUTF8FontFromBytes(family, "B", dejavusanscondensedbold.TTF)
}
