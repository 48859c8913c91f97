package labels

import (
	"io"
	"math"
	"time"
)

// comparisonPage is one A4 page that lays routes side by side, to hand to whoever
// decides. All its words are given.
type comparisonPage struct {
	Title   string
	Under   string   // part, batch size, what it rests on
	Answer  []string // what it comes to, in sentences
	Columns []string // the routes
	Rows    []comparisonRow
	Curve   curveChart
	// Strips are lead times to one scale, under a title of their own.
	StripsTitle string
	Strips      []strip
	Parts       []string
	Notes       []string
}

// comparisonRow is a figure of every route.
type comparisonRow struct {
	Name   string
	Cells  []string
	Strong bool
	Part   bool // of the figure above it
}

// curveChart is lines over batch sizes on a logarithmic scale.
type curveChart struct {
	Title string
	Lines []curveLine
	Marks []curveMark
}

// curveLine is one route's points: batch size and value, in order.
type curveLine struct {
	Name   string
	Points [][2]float64
}

// curveMark is a batch size worth a line of its own: a break-even, or the one
// that is compared.
type curveMark struct {
	Size float64
	Name string
}

// strip is the parts of a lead time, in hours, in the order of comparisonPage.Parts.
type strip struct {
	Name  string
	Hours []float64
	Total string
}

const (
	stripHigh = 5.0
	indent    = 3.0
	curveGap  = 3.0
	mostCurve = 72.0
)

// comparisonType is the sizes of type of the page, in points, what is free
// below lines, and the least height of the curve with its title, in mm: the more
// there is to say, the smaller.
type comparisonType struct{ answer, cell, note, gap, curve float64 }

var comparisonTypes = []comparisonType{
	{10, 9, 7.5, 0.8, 44}, {9.5, 8.5, 7.5, 0.8, 42}, {9, 8, 7, 0.7, 40}, {8.5, 7.5, 6.5, 0.7, 40},
	{8, 7, 6, 0.6, 38}, {7.5, 6.5, 6, 0.5, 36}, {7, 6, 5.5, 0.4, 34},
	{6.5, 6, 5.5, 0.3, 32},
}

// writeComparison writes the page. Type and curve give way until all of it fits; only
// what no page could hold goes on to a second one. It fails as w does.
func writeComparison(w io.Writer, c *comparisonPage, printed time.Time, tr Texts) error {
	s := newSheet(A4, clean(c.Title), printed)
	s.f.AddPage()
	y := s.title(clean(c.Title), clean(c.Under))
	var l *laid
	for _, t := range comparisonTypes {
		if l = s.lay(c, t); s.foot()-y-l.high >= t.curve {
			break
		}
	}
	y = s.sentences(l.answer, y, l.answerInk, l.gap)
	y = s.comparisonTable(l, y+1.5)
	y = s.curve(&c.Curve, y+curveGap, math.Max(l.curve, math.Min(mostCurve, s.foot()-y-curveGap-l.below)))
	y = s.strips(c, y+3) + 1
	for _, n := range l.notes {
		if y+float64(len(n))*l.noteInk.line() > s.foot() {
			s.f.AddPage()
			y = s.margin
		}
		y = s.lines(s.margin, y, l.noteInk, n) + l.gap/2
	}
	s.printed(tr, printed)
	return s.write(w)
}

// foot is where the page's own line begins.
func (s *sheet) foot() float64 { return s.high - s.margin - 3.5 }

// laid is what is to be printed, broken into lines.
type laid struct {
	answer, notes, head         [][]string
	answerInk, cellInk, noteInk ink
	gap, curve                  float64
	rows                        []laidRow
	below                       float64 // mm of what comes below the curve
	high                        float64 // mm of all but the curve
}

// rowGap is what is free above and below the figures of a row.
func (l *laid) rowGap() float64 { return l.gap * 0.6 }

type laidRow struct {
	comparisonRow
	name  []string
	cells [][]string
	high  float64
}

// lay breaks everything into lines in a size of type.
func (s *sheet) lay(c *comparisonPage, t comparisonType) *laid {
	l := &laid{gap: t.gap, curve: t.curve, answerInk: ink{false, t.answer}, cellInk: ink{false, t.cell},
		noteInk: ink{false, t.note}}
	for _, a := range c.Answer {
		l.answer = append(l.answer, wrap(clean(a), s.inner(), 8, l.answerInk.width))
		l.high += float64(len(l.answer[len(l.answer)-1]))*l.answerInk.line() + l.gap
	}
	wide := s.columnWide(len(c.Columns))
	bold := ink{true, t.cell}
	most := 1
	for _, name := range c.Columns {
		l.head = append(l.head, wrap(clean(name), wide-2, 4, bold.width))
		most = max(most, len(l.head[len(l.head)-1]))
	}
	l.high += 1.5 + float64(most)*bold.line() + 0.6
	for _, r := range c.Rows {
		l.rows = append(l.rows, l.row(r, s.nameWide(len(c.Columns)), wide))
		l.high += l.rows[len(l.rows)-1].high
	}
	l.below = keyRow*float64(len(s.keyRows(c.Curve.Lines))) + 3 + s.stripsHigh(c) + 1
	for _, n := range c.Notes {
		l.notes = append(l.notes, wrap(clean(n), s.inner(), 8, l.noteInk.width))
		l.below += float64(len(l.notes[len(l.notes)-1]))*l.noteInk.line() + l.gap/2
	}
	l.high += curveGap + l.below
	return l
}

// row breaks the cells of a row; a value and its interval may stand on two
// lines.
func (l *laid) row(r comparisonRow, name, wide float64) laidRow {
	k := ink{r.Strong, l.cellInk.pt}
	out := laidRow{comparisonRow: r, name: wrap(clean(r.Name), name-2-indent, 2, k.width)}
	most := max(1, len(out.name))
	for _, v := range r.Cells {
		out.cells = append(out.cells, wrap(clean(v), wide-1, 2, k.width))
		most = max(most, len(out.cells[len(out.cells)-1]))
	}
	out.high = float64(most)*k.line() + 2*l.rowGap()
	return out
}

// nameWide is the width of the names of rows beside n columns.
func (s *sheet) nameWide(n int) float64 { return math.Max(56, 80-6*float64(n)) }

func (s *sheet) columnWide(n int) float64 { return (s.inner() - s.nameWide(n)) / float64(max(1, n)) }

func (s *sheet) sentences(list [][]string, y float64, k ink, gap float64) float64 {
	for _, lines := range list {
		y = s.lines(s.margin, y, k, lines) + gap
	}
	return y
}

// comparisonTable writes the figures, a column for each route.
func (s *sheet) comparisonTable(l *laid, y float64) float64 {
	wide, bold := s.columnWide(len(l.head)), ink{true, l.cellInk.pt}
	column := func(i int, top float64, k ink, lines []string) {
		for n, t := range lines {
			s.textRight(s.right()-float64(len(l.head)-1-i)*wide, top+k.cap()+float64(n)*k.line(), k, t)
		}
	}
	most := 1
	for i, name := range l.head {
		column(i, y, bold, name)
		most = max(most, len(name))
	}
	y += float64(most)*bold.line() + 0.6
	s.line(s.margin, y, s.right(), y, thin)
	for _, r := range l.rows {
		k, x := ink{r.Strong, l.cellInk.pt}, s.margin
		if r.Part {
			x += indent
		}
		s.lines(x, y+1.2*l.rowGap(), k, r.name)
		for i, v := range r.cells {
			column(i, y+1.2*l.rowGap(), k, v)
		}
		y += r.high
		s.line(s.margin, y, s.right(), y, hair)
	}
	return y
}
