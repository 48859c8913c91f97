package labels

import "math"

// head is the upper part of the first page, measured before it is drawn: its
// height decides how many operations fit below.
type head struct {
	order, part, rev, pieces, due       block
	name                                []string
	customer, line, route, priority     []string
	material, lots                      []string
	left, revWide, piecesWide           float64
	nameTop, leadTop, factsTop, lotsTop float64
	bottom                              float64
}

// qrLeft and qrTop place the main QR in the right upper corner, its quiet zone
// never reaching over the edge of the paper.
func (j *job) qrLeft() float64 {
	return j.wide - math.Max(j.margin, j.main.quiet()) - j.main.side()
}
func (j *job) qrTop() float64 { return math.Max(j.margin, j.main.quiet()) }

func (j *job) measureHead() head {
	c, d := j.c, j.d
	h := head{left: j.qrLeft() - j.main.quiet() - j.margin}
	h.revWide, h.piecesWide = h.left*0.2, h.left*0.36
	h.order = newBlock(j.t.say("works_order"), clean(c.WorksOrder), h.left-j.hotWide(), d.name, leastName,
		smallName)
	h.part = newBlock(j.t.say("part"), clean(c.Part), h.left-h.revWide-3, d.name, leastName, smallName)
	h.rev = newBlock(j.t.say("drawing_rev"), clean(c.DrawingRev), h.revWide, d.name, smallName, smallName)
	k := ink{false, d.fact + 1}
	h.name = wrap(clean(c.PartName), h.left, 2, k.width)
	j.measureLead(&h)
	j.measureFacts(&h)
	h.nameTop = j.margin + h.order.high + math.Max(h.part.high, h.rev.high)
	h.leadTop = h.nameTop + float64(max(1, len(h.name)))*k.line() + 1.5
	qr := j.qrTop() + j.main.side() + j.main.quiet() + 6.5
	h.factsTop = math.Max(qr, h.leadTop+math.Max(h.pieces.high, h.due.high))
	fact := ink{false, d.fact}.line()
	h.lotsTop = h.factsTop + 2 + labelHigh + fact + 1.4
	h.bottom = h.lotsTop + labelHigh + float64(max(1, len(h.material), len(h.lots)))*fact + 1.8
	return h
}

// hotInk writes the word of a batch that goes before all that is not, in its box.
var hotInk = ink{true, 16}

// hotWide is how wide that box is with what keeps it apart; 0 where there is none.
func (j *job) hotWide() float64 {
	if !j.c.Hot {
		return 0
	}
	return hotInk.width(j.t.say("hot")) + 6
}

// measureLead sizes pieces and due, the two figures that decide what is done next.
func (j *job) measureLead(h *head) {
	pieces := j.t.say("pieces")
	if j.c.Wanted != 0 && j.c.Wanted != j.c.Pieces {
		pieces += " (" + count(j.c.Wanted) + " " + j.t.say("wanted") + ")"
	}
	h.pieces = newFigure(pieces, count(j.c.Pieces), h.piecesWide-3, j.d.lead)
	day, small := j.t.due(j.c.Due)
	h.due = newFigure(joined(" · ", j.t.say("due"), small), day, h.left-h.piecesWide, j.d.lead)
}

// factColumns are the widths of customer, order line, route revision and priority.
func (j *job) factColumns() [4]float64 {
	w := j.inner()
	return [4]float64{w * 0.44, w * 0.26, w * 0.17, w * 0.13}
}

func (j *job) measureFacts(h *head) {
	c, k, w := j.c, ink{false, j.d.fact}, j.factColumns()
	one := func(s string, w float64) []string { return wrap(clean(s), w-3, 1, k.width) }
	h.customer, h.line, h.route = one(c.Customer, w[0]), one(c.OrderLine, w[1]), one(c.RouteRev, w[2])
	if c.Priority != 0 {
		h.priority = one(count(c.Priority), w[3]+3)
	}
	h.material = wrap(clean(c.Material), w[0]-3, 2, k.width)
	h.lots = j.t.lots(c.MaterialLots, j.inner()-w[0], 2, k)
}

func (j *job) drawHead() {
	h, x, y := &j.head, j.margin, j.margin
	j.block(x, y, h.left-j.hotWide(), h.order)
	if j.c.Hot {
		w := j.hotWide() - 2
		j.box(x+h.left-w, y, w, hotInk.cap()+3, 0.7)
		j.textCentre(x+h.left-w/2, y+hotInk.cap()+1.5, hotInk, j.t.say("hot"))
	}
	y += h.order.high
	j.block(x, y, h.left-h.revWide-3, h.part)
	j.block(x+h.left-h.revWide, y, h.revWide, h.rev)
	j.lines(x, h.nameTop, ink{false, j.d.fact + 1}, h.name)
	j.block(x, h.leadTop, h.piecesWide-3, h.pieces)
	j.block(x+h.piecesWide, h.leadTop, h.left-h.piecesWide, h.due)
	j.drawMain()
	j.drawFacts()
}

// drawMain draws the QR and, for typing, its code below the quiet zone.
func (j *job) drawMain() {
	x, y := j.qrLeft(), j.qrTop()
	j.code(x, y, j.main)
	k := ink{true, 14}
	base := y + j.main.side() + j.main.quiet() + 0.3 + k.cap() // round letters reach over the height of capitals
	j.textCentre(x+j.main.side()/2, base, k, j.c.Code)
}

// drawFacts prints what is looked up rather than read from afar.
func (j *job) drawFacts() {
	h, k, w := &j.head, ink{false, j.d.fact}, j.factColumns()
	x, y := j.margin, j.head.factsTop
	j.line(x, y, j.right(), y, thin)
	y += 2
	j.fact(x, y, w[0]-3, k, j.t.say("customer"), h.customer)
	j.fact(x+w[0], y, w[1]-3, k, j.t.say("order_line"), h.line)
	j.fact(x+w[0]+w[1], y, w[2]-3, k, j.t.say("route_rev"), h.route)
	j.fact(x+w[0]+w[1]+w[2], y, w[3], k, j.t.say("priority"), h.priority)
	j.fact(x, h.lotsTop, w[0]-3, k, j.t.say("material"), h.material)
	j.fact(x+w[0], h.lotsTop, j.inner()-w[0], k, j.t.say("lots"), h.lots)
}

// drawHeadAgain heads the pages after the first, so that a loose sheet finds
// its card again.
func (j *job) drawHeadAgain() {
	c, y, q := j.c, j.margin, j.bare
	x := j.wide - math.Max(j.margin, q.quiet()) - q.side()
	j.code(x, math.Max(y, q.quiet()), q)
	w := x - q.quiet() - j.margin
	a, b := w*0.34, w*0.4
	again := func(name, value string, w float64) block { return newBlock(name, value, w, 16, smallName, 7) }
	j.block(j.margin, y, a-3, again(j.t.say("works_order"), clean(c.WorksOrder), a-3))
	part := joined(" · ", clean(c.Part), clean(c.DrawingRev))
	j.block(j.margin+a, y, b-3, again(j.t.say("part"), part, b-3))
	j.block(j.margin+a+b, y, w-a-b, newFigure(j.t.say("pieces"), count(c.Pieces), w-a-b, 16))
	day, _ := j.t.due(c.Due)
	k, hot := ink{true, 9}, ""
	if c.Hot {
		hot = j.t.say("hot")
	}
	last := joined(" · ", hot, j.t.say("card")+" "+c.Code, j.t.say("due")+" "+day)
	j.text(j.margin, y+j.d.again-2.6, k, cut(last, w, k.width))
}
