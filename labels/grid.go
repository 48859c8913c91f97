package labels

import (
	"fmt"
	"time"
)

// grid deals equal cells out over the pages of a sheet, row by row.
type grid struct {
	across, down int
	wide, high   float64 // of a cell, mm
	left, top    float64 // of the first cell, mm
}

// newGrid centres the cells between the margins, below top.
func (s *sheet) newGrid(top, wide, high float64) grid {
	g := grid{wide: wide, high: high, top: top}
	g.across = max(1, int(s.inner()/wide+1e-9))
	g.down = max(1, int((s.high-s.margin-3-top)/high+1e-9))
	g.left = (s.wide - float64(g.across)*wide) / 2
	return g
}

// each calls newPage at the start of a page and draw with the upper left
// corner of each cell.
func (g grid) each(n int, newPage func(), draw func(i int, x, y float64)) {
	for i := range n {
		at := i % (g.across * g.down)
		if at == 0 {
			newPage()
		}
		draw(i, g.left+float64(at%g.across)*g.wide, g.top+float64(at/g.across)*g.high)
	}
}

// cells draws n equal cells from the top of A4 pages, each page with when it was printed.
func (s *sheet) cells(
	n int, wide, high float64, tr Texts, printed time.Time, draw func(i int, x, y float64),
) {
	page := func() {
		s.newPage()
		s.printed(tr, printed)
	}
	s.newGrid(s.margin, wide, high).each(n, page, draw)
}

// plainSymbol makes the QR of a bare code; what names the thing in the error.
func plainSymbol(what, name, code string, side float64) (symbol, error) {
	if !plainCode(code) {
		return symbol{}, fmt.Errorf("%s %q: code %q is not made of capitals and digits; give it a code first",
			what, cut(clean(name), 40, runeCount), code)
	}
	return newSymbol(code, H, side)
}
