package labels

import "math"

// design holds the measures that differ between papers, in mm and points.
type design struct {
	name    float64    // works order and part, points at most
	lead    float64    // pieces and due, points at most
	fact    float64    // the smaller facts, points
	body    float64    // instructions, points
	row     float64    // least height of an operation
	again   float64    // height of the head on later pages
	foot    float64    // height of the foot
	columns [4]float64 // good, scrap, who, machine
}

var onA5 = design{
	name: 24, lead: 28, fact: 9, body: 8,
	row: 18, again: 20, foot: 10.5, columns: [4]float64{15, 14, 16, 18},
}

var designs = [...]design{
	A5: onA5, A4x2: onA5,
	A4: {name: 32, lead: 36, fact: 11, body: 9.5,
		row: 20, again: 21, foot: 9, columns: [4]float64{21, 20, 24, 28}},
}

const (
	// leastName is the smallest type for what is read at arm's length: capitals
	// of 3.6 mm are above 1/200 of 0.7 m (FAA, as screens are sized).
	leastName = 14
	// smallName is what names too long for that fall back to: better small
	// than cut.
	smallName = 9
)

// headRow is the height of the line that names the columns.
const headRow = 4.4

// bottom is where the rows of a page must end.
func (j *job) bottom() float64 { return j.high - j.margin - j.d.foot }

// bottomOverCode is where they must end to leave room for the small code in the foot.
func (j *job) bottomOverCode() float64 {
	return math.Min(j.bottom(), j.footCodeTop()-j.bare.quiet()-1.5)
}

func (j *job) footCodeTop() float64 {
	return j.high - math.Max(j.margin, j.bare.quiet()) - j.bare.side()
}

// paginate deals the rows out to pages; a card without operations has one page.
func (j *job) paginate() [][]row {
	var pages [][]row
	var page []row
	y := j.head.bottom + headRow
	for _, r := range j.rows {
		if y+r.high > j.bottom() && len(page) > 0 {
			pages, page = append(pages, page), nil
			y = j.margin + j.d.again + headRow
		}
		page = append(page, r)
		y += r.high
	}
	return append(pages, page)
}

func (j *job) page(rows []row, n, of int) {
	j.newPage()
	y := j.margin + j.d.again
	if n == 1 {
		j.drawHead()
		y = j.head.bottom
	} else {
		j.drawHeadAgain()
	}
	if len(rows) == 0 {
		y = j.noRows(y)
	} else {
		y = j.columnNames(y)
	}
	for _, r := range rows {
		j.row(r, y)
		y += r.high
	}
	bottom := j.bottom()
	again := n == 1 && y <= j.bottomOverCode()
	if again {
		bottom = j.bottomOverCode()
	}
	if n == of {
		j.notes(y, bottom)
	}
	j.foot(n, of, bottom, again)
}

func (j *job) noRows(y float64) float64 {
	j.line(j.margin, y, j.right(), y, thick)
	k := ink{false, j.d.fact}
	j.text(j.margin, y+2+k.cap(), k, cut(j.t.say("no_ops"), j.inner(), k.width))
	return y + 2 + k.line()
}

// notes rules what is left of the last page for writing.
func (j *job) notes(y, bottom float64) {
	const pitch = 8.0
	if bottom-y < 2*pitch {
		return
	}
	k := ink{false, 7}
	j.text(j.margin, y+1.5+k.cap(), k, cut(j.t.say("notes"), j.inner(), k.width))
	for l := y + 3 + pitch; l < bottom-2; l += pitch {
		j.line(j.margin, l, j.right(), l, hair)
	}
}

// foot ends a page below bottom; with again it has the card's code once more, as far from
// the main one as can be: what hides the one seldom hides both. A page that is full without
// it has the codes of its operations, and is not worth a second sheet.
func (j *job) foot(n, of int, bottom float64, again bool) {
	y, right := bottom+1.5, j.right()
	j.line(j.margin, y, right, y, thin)
	if again {
		x := j.wide - math.Max(j.margin, j.bare.quiet()) - j.bare.side()
		j.code(x, j.footCodeTop(), j.bare)
		right = x - j.bare.quiet()
	}
	k := ink{false, 6}
	page := j.t.say("page") + " " + count(n) + " " + j.t.say("of") + " " + count(of)
	big := ink{true, 9}
	pageWide := big.width(page)
	j.textRight(right, j.high-j.margin-0.6, big, cut(page, j.inner()/2, big.width))
	words := wrap(j.t.say("release")+" "+j.t.say("quarantine"), right-j.margin, 2, k.width)
	j.lines(j.margin, y+1, k, words)
	tiny := ink{false, 5.5}
	last := joined(" · ", j.t.say("card")+" "+j.c.Code, j.t.printedAt(j.c.Printed), j.headHash())
	j.text(j.margin, j.high-j.margin-0.6, tiny, cut(last, right-j.margin-pageWide-4, tiny.width))
}

func (j *job) headHash() string {
	h := clean(j.c.HeadHash)
	if h == "" {
		return ""
	}
	return j.t.say("record") + " " + h
}

// joined joins the parts that are not empty.
func joined(sep string, parts ...string) string {
	out := ""
	for _, p := range parts {
		if p == "" {
			continue
		}
		if out != "" {
			out += sep
		}
		out += p
	}
	return out
}
