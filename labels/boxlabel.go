package labels

import (
	"fmt"
	"io"
	"math"
	"time"

	"codeberg.org/go-pdf/fpdf"
)

// LabelSize is the format of a label.
type LabelSize int

// The sizes of labels.
const (
	Label100x50  LabelSize = iota // mm
	Label100x150                  // mm
	LabelRoll62                   // a roll 62 mm wide, cut after 100 mm
)

// ParseLabelSize reads "100x50", "100x150" or "62"; "" is 100x50. It fails for any other.
func ParseLabelSize(s string) (LabelSize, error) {
	switch s {
	case "", "100x50":
		return Label100x50, nil
	case "100x150":
		return Label100x150, nil
	case "62":
		return LabelRoll62, nil
	}
	return 0, fmt.Errorf("label %q is not known; use 100x50, 100x150 or 62", s)
}

// Measures gives the width and height of a label in mm.
func (z LabelSize) Measures() (wide, high float64) {
	return labelDesigns[z].wide, labelDesigns[z].high
}

// LabelKind is what a label is on. Each has a word and a shape of its own, so that
// neither colour nor reading is needed to distinguish them.
type LabelKind string

// The kinds of labels.
const (
	LabelBox      LabelKind = "box"      // a lot that was split off, and goes on
	LabelReview   LabelKind = "review"   // pieces on hold, until an inspector decides
	LabelRework   LabelKind = "rework"   // pieces to be reworked
	LabelScrap    LabelKind = "scrap"    // pieces that are scrap
	LabelDelivery LabelKind = "delivery" // to the customer
	LabelOutside  LabelKind = "outside"  // to a supplier, for an operation
)

// LabelKinds are all of them.
var LabelKinds = []LabelKind{LabelBox, LabelReview, LabelRework, LabelScrap, LabelDelivery, LabelOutside}

// aside reports whether a label is on pieces that do not go on with their batch.
func (k LabelKind) aside() bool { return k == LabelReview || k == LabelRework || k == LabelScrap }

// away reports whether a label leaves the shop, and so speaks to others' scanners too.
func (k LabelKind) away() bool { return k == LabelDelivery || k == LabelOutside }

// Label is what a label says. Empty text and zero values leave room to write by hand.
type Label struct {
	Kind       LabelKind
	Code       string // of the batch that its QR opens
	URL        string // scheme, host and port; "" puts the bare code in the QR
	WorksOrder string
	Part       string
	PartName   string
	DrawingRev string
	Customer   string
	OrderLine  string
	Parent     string   // the card that a lot was split from
	Lots       []string // material lots
	Pieces     int      // 0 = to be written by hand
	Operation  int      // where the pieces were set aside, or which one is done outside; 0 = none
	WorkCentre string
	Reason     string // why they were set aside
	Printed    time.Time
}

// labelDesign holds the measures of a size, in mm and points.
type labelDesign struct {
	wide, high, margin float64
	band               float64 // height of the word and its shape
	main, second       float64 // least side of the codes
	large, text        float64 // points
	beside             bool    // the code stands beside the text, not below it
}

var labelDesigns = [...]labelDesign{
	Label100x50: {wide: 100, high: 50, margin: 2.5, band: 8.5, main: 26, second: 15, large: 15, text: 8,
		beside: true},
	Label100x150: {wide: 100, high: 150, margin: 4, band: 18, main: 40, second: 22, large: 26, text: 11},
	LabelRoll62:  {wide: 62, high: 100, margin: 2.5, band: 11, main: 30, second: 14, large: 17, text: 8.5},
}

// WriteLabels writes labels as PDF, one a page of its size. It fails for none, as
// WriteCards does for a code or a URL, and as w does.
func WriteLabels(w io.Writer, labels []Label, size LabelSize, tr Texts) error {
	if len(labels) == 0 {
		return fmt.Errorf("no labels to print; name at least one batch")
	}
	d := labelDesigns[size]
	f := fpdf.NewCustom(
		&fpdf.InitType{OrientationStr: "P", UnitStr: "mm", Size: fpdf.SizeType{Wd: d.wide, Ht: d.high}})
	s := dress(f, tr.say("label")+" "+clean(labels[0].Code), labels[0].Printed)
	s.wide, s.high, s.margin = d.wide, d.high, d.margin
	for i := range labels {
		s.newPage()
		j := &labelJob{sheet: s, l: &labels[i], d: d, t: tr}
		if err := j.draw(); err != nil {
			return fmt.Errorf("label %d (works order %q): %w", i+1,
				cut(clean(labels[i].WorksOrder), 40, runeCount), err)
		}
	}
	return s.write(w)
}

// labelJob is a label being drawn.
type labelJob struct {
	*sheet
	l *Label
	d labelDesign
	t Texts
}

func (j *labelJob) draw() error {
	url, err := CardURL(j.l.URL, j.l.Code)
	if err != nil {
		return err
	}
	main, err := sturdySymbol(url, j.d.main)
	if err != nil {
		return err
	}
	var second symbol
	if fields := j.l.fields(); j.l.Kind.away() && len(fields) > 0 {
		text, err := Envelope(fields)
		if err != nil {
			return err
		}
		if second, err = newSymbol(text, M, j.d.second); err != nil {
			return err
		}
	}
	j.band()
	if j.d.beside {
		j.wideLabel(main, second)
	} else {
		j.tallLabel(main, second)
	}
	return nil
}

// band draws the word of the label and its shape, between thick lines.
func (j *labelJob) band() {
	y, h := j.margin, j.d.band
	side := h - 2
	j.shape(j.l.Kind, j.margin+1, y+1, side)
	j.shape(j.l.Kind, j.right()-1-side, y+1, side)
	word := j.t.say("label_" + string(j.l.Kind))
	w := j.inner() - 2*side - 8
	k := ink{true, h / mmPoint / capital * 0.62}.fit(word, w, 8)
	j.textCentre(j.wide/2, y+h/2+k.cap()/2, k, cut(word, w, k.width))
	j.line(j.margin, y+h, j.right(), y+h, thick)
	if j.l.Kind.aside() { // a frame that no label has which goes on
		j.box(j.margin-1, j.margin-1, j.inner()+2, j.high-2*j.margin+2, 1.2)
	}
}

// shape draws the sign of a kind in a square.
func (j *labelJob) shape(kind LabelKind, x, y, side float64) {
	at := func(fx, fy float64) fpdf.PointType {
		return fpdf.PointType{X: j.left + x + fx*side, Y: y + fy*side}
	}
	poly := func(style string, xy ...float64) {
		var p []fpdf.PointType
		for i := 0; i < len(xy); i += 2 {
			p = append(p, at(xy[i], xy[i+1]))
		}
		j.f.Polygon(p, style)
	}
	stroke := func(x1, y1, x2, y2 float64) {
		a, b := at(x1, y1), at(x2, y2)
		j.f.Line(a.X, a.Y, b.X, b.Y)
	}
	j.f.SetLineWidth(side * 0.09)
	j.f.SetFillColor(0, 0, 0)
	switch kind {
	case LabelBox: // an arrow: it goes on
		poly("F", 0, .35, .5, .35, .5, .1, 1, .5, .5, .9, .5, .65, 0, .65)
	case LabelReview: // two bars: it stands still
		poly("F", .1, .05, .4, .05, .4, .95, .1, .95)
		poly("F", .6, .05, .9, .05, .9, .95, .6, .95)
	case LabelRework: // an arrow that turns back
		c := at(.5, .5)
		j.f.Arc(c.X, c.Y, side*.36, side*.36, 0, 20, 310, "D")
		poly("F", .98, .62, .62, .5, .95, .2)
	case LabelScrap: // a cross
		poly("F", .15, 0, .5, .35, .85, 0, 1, .15, .65, .5, 1, .85, .85, 1, .5, .65, .15, 1, 0, .85, .35, .5,
			0, .15)
	case LabelDelivery: // a parcel
		poly("D", .08, .2, .92, .2, .92, .92, .08, .92)
		stroke(.08, .45, .92, .45)
		stroke(.5, .2, .5, .45)
	case LabelOutside: // an arrow that leaves a frame
		poly("D", .5, .12, .08, .12, .08, .92, .88, .92, .88, .5)
		poly("F", .55, 0, 1, 0, 1, .45)
		stroke(.45, .55, .8, .2)
	}
}

// wideLabel has the text on the left and the code on the right.
func (j *labelJob) wideLabel(main, second symbol) {
	top := j.margin + j.d.band
	x := j.right() - main.quiet() - main.side() + 1
	j.code(x, top+main.quiet(), main)
	k := ink{true, 8}
	j.textCentre(x+main.side()/2, top+main.side()+2*main.quiet()-1, k, j.l.Code)
	w := x - main.quiet() - j.margin
	left := j.margin + 1
	if len(second.modules) > 0 {
		j.code(j.margin+second.quiet(), j.high-j.margin-2-second.quiet()-second.side(), second)
		left += second.side() + 2*second.quiet()
	}
	j.facts(left, top+1.5, w-(left-j.margin)-1, j.high-j.margin-3)
	j.foot(w)
}

// tallLabel has the text above and the codes below, beside each other.
func (j *labelJob) tallLabel(main, second symbol) {
	y := j.high - j.margin - 5 - main.quiet() - main.side()
	x := (j.wide - main.side()) / 2
	if len(second.modules) > 0 {
		gap := (j.inner() - main.side() - second.side() - 2*main.quiet() - 2*second.quiet()) / 3
		x = j.margin + math.Max(0, gap) + main.quiet()
		j.code(j.right()-math.Max(0, gap)-second.quiet()-second.side(), y, second)
	}
	j.code(x, y, main)
	k := ink{true, 9}
	j.textCentre(x+main.side()/2, y-main.quiet()-0.3, k, j.l.Code)
	j.facts(j.margin+1, j.margin+j.d.band+1.5, j.inner()-2, y-main.quiet()-k.line())
	j.foot(j.inner())
}

// facts prints what the label says, the more important above and larger, as far as there
// is room.
func (j *labelJob) facts(x, y, w, bottom float64) {
	l := j.l
	pieces := ""
	if l.Pieces > 0 {
		pieces = count(l.Pieces)
	}
	half := w * 0.62
	order := newBlock(j.t.say("works_order"), clean(l.WorksOrder), half-2, j.d.large, 10, 7)
	n := newFigure(j.t.say("pieces"), pieces, w-half, j.d.large)
	if pieces == "" {
		n.lines = nil
	}
	j.block(x, y, half-2, order)
	j.block(x+half, y, w-half, n)
	y += math.Max(order.high, n.high)
	part := newBlock(j.t.say("part"), joined(" · ", clean(l.Part), clean(l.DrawingRev)), w, j.d.large, 9, 7)
	j.block(x, y, w, part)
	y += part.high
	k := ink{false, j.d.text}
	for _, line := range j.details() {
		for _, s := range wrap(line, w, 2, k.width) {
			if y+k.line() > bottom {
				return
			}
			j.text(x, y+k.cap(), k, s)
			y += k.line()
		}
	}
}

// details are the smaller facts, the more important first.
func (j *labelJob) details() (all []string) {
	l := j.l
	add := func(name, value string) {
		if value = clean(value); value != "" {
			all = append(all, j.t.say(name)+": "+value)
		}
	}
	if l.Kind == LabelDelivery {
		add("customer", l.Customer)
		add("order_line", l.OrderLine)
	}
	if l.Operation > 0 {
		add("operation", joined(" ", count(l.Operation), l.WorkCentre))
	}
	add("label_reason", l.Reason)
	add("label_from", l.Parent)
	if name := clean(l.PartName); name != "" {
		all = append(all, name)
	}
	for _, lot := range l.Lots {
		add("lots", lot)
	}
	return all
}

// foot says what a label is not, and when it was printed.
func (j *labelJob) foot(w float64) {
	k := ink{false, 5}
	words := j.t.printedAt(j.l.Printed)
	if j.l.Kind.aside() {
		words = joined(" · ", j.t.say("label_quarantine"), words)
	}
	fit := k.fit(words, w, 3.5)
	j.text(j.margin+1, j.high-j.margin-0.4, fit, cut(words, w, fit.width))
}
