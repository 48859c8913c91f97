package labels

import (
	"fmt"
	"io"
	"math"
	"time"
)

// Comparison is one A4 page that lays routes side by side, to hand to whoever
// decides. All its words are given.
type Comparison struct {
	Title   string
	Under   string   // part, batch size, what it rests on
	Answer  []string // what it comes to, in sentences
	Columns []string // the routes
	Rows    []ComparisonRow
	Curve   CurveChart
	Strips  []Strip // lead times, to one scale
	Parts   []string
	Notes   []string
}

// ComparisonRow is a figure of every route.
type ComparisonRow struct {
	Name   string
	Cells  []string
	Strong bool
}

// CurveChart is lines over batch sizes on a logarithmic scale.
type CurveChart struct {
	Title string
	Lines []CurveLine
	Marks []CurveMark
}

// CurveLine is one route's points: batch size and value, in order.
type CurveLine struct {
	Name   string
	Points [][2]float64
}

// CurveMark is a batch size worth a line of its own: a break-even, or the one
// that is compared.
type CurveMark struct {
	Size float64
	Name string
}

// Strip is the parts of a lead time, in hours, in the order of Comparison.Parts.
type Strip struct {
	Name  string
	Hours []float64
	Total string
}

const (
	curveHigh = 58.0
	stripHigh = 5.5
	nameWide  = 58.0
)

// WriteComparison writes the page.
func WriteComparison(w io.Writer, c *Comparison, printed time.Time, tr Texts) error {
	s := newSheet(A4, clean(c.Title), printed)
	s.f.AddPage()
	y := s.title(clean(c.Title), clean(c.Under)) + 3
	k := ink{false, 10}
	for _, a := range c.Answer {
		y = s.lines(s.margin, y, k, wrap(clean(a), s.inner(), 3, k.width)) + 1
	}
	y = s.comparisonTable(c, y+2)
	y = s.curve(&c.Curve, y+6)
	y = s.strips(c, y+7)
	small := ink{false, 7.5}
	for _, n := range c.Notes {
		if y > s.high-s.margin-10 {
			break
		}
		y = s.lines(s.margin, y, small, wrap(clean(n), s.inner(), 4, small.width)) + 0.6
	}
	s.printed(tr, printed)
	return s.write(w)
}

// comparisonTable writes the figures, a column for each route.
func (s *sheet) comparisonTable(c *Comparison, y float64) float64 {
	wide := (s.inner() - nameWide) / float64(max(1, len(c.Columns)))
	head, cell, strong := ink{true, 9}, ink{false, 9}, ink{true, 9}
	right := func(i int) float64 { return s.margin + nameWide + float64(i+1)*wide }
	for i, name := range c.Columns {
		s.textRight(right(i), y+head.cap(), head, cut(clean(name), wide-2, head.width))
	}
	y += head.line() + 0.6
	s.line(s.margin, y, s.right(), y, thin)
	for _, r := range c.Rows {
		k := cell
		if r.Strong {
			k = strong
		}
		s.text(s.margin, y+1+k.cap(), k, cut(clean(r.Name), nameWide-2, k.width))
		for i, v := range r.Cells {
			s.textRight(right(i), y+1+k.cap(), k, cut(clean(v), wide-1, k.width))
		}
		y += k.line() + 1
		s.line(s.margin, y, s.right(), y, hair)
	}
	return y
}

// dashes tell the lines of a chart apart without colour.
var dashes = [][]float64{nil, {2.2, 1.2}, {0.6, 0.9}, {3, 1, 0.6, 1}}

// curve draws the lines over the batch size.
func (s *sheet) curve(c *CurveChart, y float64) float64 {
	box := newPlot(s, c, y)
	k, small := ink{true, 9}, ink{false, 7.5}
	s.text(s.margin, y-1, k, clean(c.Title))
	if box == nil {
		return y
	}
	for _, size := range []float64{1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000} {
		if size >= box.x0 && size <= box.x1 {
			x := box.x(size)
			s.line(x, y, x, y+curveHigh, hair)
			s.textCentre(x, y+curveHigh+3.2, small, fmt.Sprintf("%g", size))
		}
	}
	for _, v := range box.ticks() {
		s.line(box.left, box.y(v), box.right, box.y(v), hair)
		s.textRight(box.left-1, box.y(v)+1, small, fmt.Sprintf("%.3g", v))
	}
	for i, l := range c.Lines {
		s.curveLine(box, &l, i)
	}
	for i, m := range c.Marks {
		if m.Size >= box.x0 && m.Size <= box.x1 {
			x := box.x(m.Size)
			s.line(x, y, x, y+curveHigh, thick)
			s.text(x+0.8, y+3+float64(i%4)*3, small, clean(m.Name))
		}
	}
	return y + curveHigh + 4
}

func (s *sheet) curveLine(box *plot, l *CurveLine, i int) {
	s.f.SetDashPattern(dashes[i%len(dashes)], 0)
	s.f.SetLineWidth(0.5)
	begun := false
	for _, p := range l.Points {
		if p[0] < box.x0 || p[1] > box.y1 {
			begun = false
			continue
		}
		if begun {
			s.f.LineTo(box.x(p[0]), box.y(p[1]))
		} else {
			s.f.MoveTo(box.x(p[0]), box.y(p[1]))
			begun = true
		}
	}
	s.f.DrawPath("D")
	kx, ky := box.right-44, box.top+4+float64(i)*4
	s.f.Line(kx, ky, kx+9, ky)
	s.f.SetDashPattern(nil, 0)
	k := ink{false, 8}
	s.text(kx+10.5, ky+1, k, cut(clean(l.Name), 33, k.width))
}

// plot is the scales of a chart: batch size by its logarithm, values from zero.
type plot struct {
	left, right, top float64
	x0, x1, y1       float64
}

// newPlot makes scales on which the flat end of each line takes up the lower
// half, so that the steep beginning runs out at the top; nil when there is
// nothing to draw.
func newPlot(s *sheet, c *CurveChart, y float64) *plot {
	b := &plot{left: s.margin + 12, right: s.right(), top: y, x0: math.Inf(1)}
	for _, l := range c.Lines {
		if len(l.Points) < 2 {
			continue
		}
		b.x0, b.x1 = math.Min(b.x0, l.Points[0][0]), math.Max(b.x1, l.Points[len(l.Points)-1][0])
		b.y1 = math.Max(b.y1, 2.5*l.Points[len(l.Points)-1][1])
	}
	for _, m := range c.Marks {
		for _, l := range c.Lines {
			for _, p := range l.Points {
				if p[0] >= m.Size {
					b.y1 = math.Max(b.y1, 1.3*p[1])
					break
				}
			}
		}
	}
	if b.x1 <= b.x0 || b.y1 <= 0 {
		return nil
	}
	return b
}

func (b *plot) x(size float64) float64 {
	return b.left + (b.right-b.left)*math.Log(size/b.x0)/math.Log(b.x1/b.x0)
}
func (b *plot) y(v float64) float64 { return b.top + curveHigh*(1-v/b.y1) }

// ticks are four to eight round values.
func (b *plot) ticks() (out []float64) {
	step := math.Pow(10, math.Floor(math.Log10(b.y1)))
	for b.y1/step < 4 {
		step /= 2
	}
	for v := 0.0; v <= b.y1; v += step {
		out = append(out, v)
	}
	return out
}

// strips draws the lead times to one scale; shades from black, for work, to
// white, for waiting, tell the parts apart.
func (s *sheet) strips(c *Comparison, y float64) float64 {
	longest := 0.0
	for _, x := range c.Strips {
		sum := 0.0
		for _, h := range x.Hours {
			sum += h
		}
		longest = math.Max(longest, sum)
	}
	if longest <= 0 {
		return y
	}
	k, small := ink{false, 9}, ink{false, 7.5}
	left := s.margin + 40
	scale := (s.right() - 24 - left) / longest
	for _, x := range c.Strips {
		s.text(s.margin, y+stripHigh-1.3, k, cut(clean(x.Name), 38, k.width))
		at := left
		for i, h := range x.Hours {
			s.shade(i, len(c.Parts))
			s.f.SetLineWidth(hair)
			s.f.Rect(at, y, h*scale, stripHigh, "FD")
			at += h * scale
		}
		s.text(at+1.5, y+stripHigh-1.3, k, clean(x.Total))
		y += stripHigh + 2
	}
	at := left
	for i, name := range c.Parts {
		s.shade(i, len(c.Parts))
		s.f.Rect(at, y, 4, 3, "FD")
		s.text(at+5, y+2.5, small, clean(name))
		at += 8 + small.width(clean(name))
	}
	s.f.SetFillColor(0, 0, 0)
	return y + 7
}

func (s *sheet) shade(i, of int) {
	g := 255 * i / max(1, of-1)
	s.f.SetFillColor(g, g, g)
}
