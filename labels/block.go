package labels

import "math"

const (
	labelHigh = 3.0 // room for the small name above a fact
	blockGap  = 2.6 // below a single large line
	accent    = 0.2 // height of an accent on a capital, in type sizes
)

// block is a large fact below its small name, sized and broken beforehand.
type block struct {
	name  string
	k     ink
	lines []string
	top   float64 // from the label's top to that of the capitals
	high  float64
}

// newBlock sizes value to w: on one line as large as fits from most down to
// least points, else on two lines of least, else on three lines of small, cut
// only there.
func newBlock(name, value string, w, most, least, small float64) block {
	k := ink{true, most}.fit(value, w, least)
	lines := wrap(value, w, 2, k.width)
	if k.pt == least && len(lines) == 2 && loses(value, lines) {
		k.pt = small
		lines = wrap(value, w, 3, k.width)
	}
	b := block{name: cut(name, w, label.width), k: k, lines: lines}
	b.top = math.Max(labelHigh, label.cap()+accent*k.pt*mmPoint)
	b.high = b.top + float64(max(1, len(lines)))*k.line() + 0.8
	if len(lines) < 2 {
		b.high = b.top + k.cap() + blockGap
	}
	return b
}

// newFigure sizes a number or a day to one line of w: a count that is broken
// or cut would read as another count.
func newFigure(name, value string, w, most float64) block {
	k := ink{true, most}.fit(value, w, 4)
	return block{cut(name, w, label.width), k, []string{value}, labelHigh, labelHigh + k.cap() + blockGap}
}

// fit returns k, smaller in quarter points if s would not fit into w, but not
// below least.
func (k ink) fit(s string, w, least float64) ink {
	if full := k.width(s); full > w {
		k.pt = math.Max(least, math.Floor(k.pt*w/full*4)/4)
	}
	return k
}

// loses says whether wrapping s cut something off its end.
func loses(s string, lines []string) bool {
	last := []rune(lines[len(lines)-1])
	whole := []rune(s)
	return string(last[len(last)-1]) == ellipsis && string(whole[len(whole)-1]) != ellipsis
}

var label = ink{false, 6.5}

// label prints the small name of a fact.
func (s *sheet) label(x, top, w float64, name string) {
	s.text(x, top+label.cap(), label, cut(name, w, label.width))
}

// block prints b; an empty one leaves a rule of width w to write on.
func (s *sheet) block(x, top, w float64, b block) {
	s.label(x, top, w, b.name)
	if len(b.lines) == 0 {
		y := top + b.high - blockGap + 0.5
		s.line(x, y, x+w, y, hair)
		return
	}
	s.lines(x, top+b.top, b.k, b.lines)
}

// fact prints a label and lines below it; no lines leave a rule to write on.
func (s *sheet) fact(x, top, w float64, k ink, name string, lines []string) {
	s.label(x, top, w, name)
	if len(lines) == 0 {
		y := top + labelHigh + k.line() - 0.4
		s.line(x, y, x+w, y, hair)
		return
	}
	s.lines(x, top+labelHigh-0.2, k, lines)
}
