package labels

import (
	"fmt"
	"math"
)

// dashes distinguish the lines of a chart without colour.
var dashes = [][]float64{nil, {2.2, 1.2}, {0.6, 0.9}, {3, 1, 0.6, 1}}

// curve draws the lines over the batch size.
func (s *sheet) curve(c *curveChart, y, high float64) float64 {
	k, small := ink{true, 9}, ink{false, 7}
	s.text(s.margin, y+k.cap(), k, clean(c.Title))
	keyed := s.curveKey(c.Lines, y+5)
	box := newPlot(s, c, keyed, high-5-6)
	if box == nil {
		return keyed
	}
	y = keyed
	for _, size := range []float64{1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000} {
		if size >= box.x0 && size <= box.x1 {
			x := box.x(size)
			s.line(x, y, x, y+box.high, hair)
			s.textCentre(x, y+box.high+3.2, small, fmt.Sprintf("%g", size))
		}
	}
	for _, v := range box.ticks() {
		s.line(box.left, box.y(v), box.right, box.y(v), hair)
		s.textRight(box.left-1, box.y(v)+1, small, fmt.Sprintf("%.3g", v))
	}
	for i := range c.Lines {
		s.curveLine(box, &c.Lines[i], i)
	}
	for i, m := range c.Marks {
		if m.Size >= box.x0 && m.Size <= box.x1 {
			x := box.x(m.Size)
			s.line(x, y, x, y+box.high, thick)
			s.onWhite(x+0.8, y+3.2+float64(i%4)*3.2, small, clean(m.Name))
		}
	}
	return y + box.high + 6
}

// onWhite prints a text upon lines that it would not be read upon.
func (s *sheet) onWhite(x, base float64, k ink, str string) {
	s.f.SetFillColor(255, 255, 255)
	s.f.Rect(x-0.2, base-k.cap()-0.4, k.width(str)+0.6, k.cap()+1.2, "F")
	s.f.SetFillColor(0, 0, 0)
	s.text(x, base, k, str)
}

func (s *sheet) curveLine(box *plot, l *curveLine, i int) {
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
	s.f.SetDashPattern(nil, 0)
}

const (
	keyRow    = 3.8
	keySample = 9.0
	keyGap    = 1.5
)

var keyInk = ink{false, 7.5}

// keyRows lays the names of lines out in rows.
func (s *sheet) keyRows(lines []curveLine) (rows [][]int) {
	left := math.Inf(1)
	for i, l := range lines {
		wide := keySample + keyGap + keyInk.width(clean(l.Name)) + 6
		if left+wide > s.inner()+6 {
			rows, left = append(rows, nil), 0
		}
		rows[len(rows)-1] = append(rows[len(rows)-1], i)
		left += wide
	}
	return rows
}

// curveKey names the lines, above the chart.
func (s *sheet) curveKey(lines []curveLine, y float64) float64 {
	for _, row := range s.keyRows(lines) {
		x := s.margin
		for _, i := range row {
			s.f.SetDashPattern(dashes[i%len(dashes)], 0)
			s.line(x, y, x+keySample, y, 0.5)
			s.f.SetDashPattern(nil, 0)
			x += keySample + keyGap
			name := cut(clean(lines[i].Name), s.right()-x, keyInk.width)
			s.text(x, y+1, keyInk, name)
			x += keyInk.width(name) + 6
		}
		y += keyRow
	}
	return y
}

// plot is the scales of a chart: batch size by its logarithm, values from zero.
type plot struct {
	left, right, top, high float64
	x0, x1, y1             float64
}

// newPlot makes scales on which the flat end of each line takes up the lower
// half, so that the steep beginning runs out at the top; nil when there is
// nothing to draw.
func newPlot(s *sheet, c *curveChart, y, high float64) *plot {
	b := &plot{left: s.margin + 12, right: s.right(), top: y, high: high, x0: math.Inf(1)}
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
func (b *plot) y(v float64) float64 { return b.top + b.high*(1-v/b.y1) }

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

// stripsHigh is the height of the strips with their title and key.
func (s *sheet) stripsHigh(c *comparisonPage) float64 {
	if longest(c.Strips) <= 0 {
		return 0
	}
	return 4.5 + float64(len(c.Strips))*(stripHigh+1.5) + 5.5
}

func (x *strip) sum() float64 {
	sum := 0.0
	for _, h := range x.Hours {
		sum += h
	}
	return sum
}

func longest(list []strip) float64 {
	out := 0.0
	for i := range list {
		out = math.Max(out, list[i].sum())
	}
	return out
}

// strips draws the lead times to one scale; shades from black, for work, to
// white, for waiting, distinguish the parts.
func (s *sheet) strips(c *comparisonPage, y float64) float64 {
	most := longest(c.Strips)
	if most <= 0 {
		return y
	}
	bold, k, small := ink{true, 9}, ink{false, 8}, ink{false, 7}
	s.text(s.margin, y+bold.cap(), bold, clean(c.StripsTitle))
	y += 4.5
	left := s.margin + stripName
	scale := (s.right() - 20 - left) / most
	s.f.SetLineWidth(hair)
	for _, x := range c.Strips {
		s.stripName(&x, y, k)
		at := left
		for i, h := range x.Hours {
			s.shade(i, len(c.Parts))
			s.f.Rect(at, y, h*scale, stripHigh, "FD")
			at += h * scale
		}
		s.text(at+1.5, y+stripHigh-1.3, k, clean(x.Total))
		y += stripHigh + 1.5
	}
	at := left
	for i, name := range c.Parts {
		s.shade(i, len(c.Parts))
		s.f.Rect(at, y, 4, 3, "FD")
		s.text(at+5, y+2.5, small, clean(name))
		at += 8 + small.width(clean(name))
	}
	s.f.SetFillColor(0, 0, 0)
	return y + 5.5
}

const stripName = 56.0

// stripName prints what a strip is of, on two lines where one is too short.
func (s *sheet) stripName(x *strip, y float64, k ink) {
	name := clean(x.Name)
	if k.width(name) <= stripName-2 {
		s.text(s.margin, y+stripHigh-1.3, k, name)
		return
	}
	k.pt = 6
	s.lines(s.margin, y, k, wrap(name, stripName-2, 2, k.width))
}

func (s *sheet) shade(i, of int) {
	g := 255 * i / max(1, of-1)
	s.f.SetFillColor(g, g, g)
}
