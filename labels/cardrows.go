package labels

import "strconv"

// row is an operation with its lines already broken.
type row struct {
	op          *CardOperation
	code        symbol
	centre      []string // the work centre, where it needs lines of its own
	instruction []string
	times       []string
	high        float64
}

const (
	maxInstruction = 8   // lines; more belongs on the drawing or the set-up sheet
	numberHigh     = 6.9 // height of its line
	tickSide       = 3.4 // the square to tick for the first-off
)

var number = ink{true, 17}

// textLeft is where the text of an operation begins, after its QR.
func (j *job) textLeft(q symbol) float64 { return j.margin + q.side() + q.quiet() + 0.6 }

// writeLeft is where the columns to write in begin.
func (j *job) writeLeft() float64 {
	x := j.right()
	for _, c := range j.d.columns {
		x -= c
	}
	return x
}

// faces are the types of an operation's text.
func (d *design) faces() (body, small, centre ink) {
	return ink{false, d.body}, ink{false, d.body - 0.8}, ink{true, d.body + 2}
}

func (j *job) measureRows() error {
	body, small, centre := j.d.faces()
	for i := range j.c.Operations {
		o := &j.c.Operations[i]
		q, err := j.opCode(o)
		if err != nil {
			return err
		}
		w := j.textEnd() - j.textLeft(q)
		r := row{op: o, code: q,
			instruction: wrap(clean(o.Instruction), w, maxInstruction, body.width),
			times:       wrap(j.t.times(o), w, 4, small.width)}
		if name := clean(o.WorkCentre); centre.width(name) > j.centreEnd(o)-j.centreLeft(r) {
			r.centre = wrap(name, w, 2, centre.width)
		}
		text := numberHigh + float64(len(r.centre))*centre.line() +
			float64(len(r.instruction))*body.line() + float64(len(r.times))*small.line() + 1.6
		r.high = max(j.d.row, q.side()+2*q.quiet()+0.4, text)
		j.rows = append(j.rows, r)
	}
	return nil
}

// textEnd is where the text of an operation ends.
func (j *job) textEnd() float64 { return j.writeLeft() - 2 }

// centreLeft and centreEnd bound the work centre on the line of the number.
func (j *job) centreLeft(r row) float64 {
	return j.textLeft(r.code) + number.width(strconv.Itoa(r.op.Number)) + 2.2
}

func (j *job) centreEnd(o *CardOperation) float64 {
	if !o.FirstOff {
		return j.textEnd()
	}
	k, word := j.firstOffWord()
	return j.textEnd() - k.width(word) - 1 - tickSide - 2
}

func (j *job) firstOffWord() (ink, string) {
	k := ink{true, j.d.body - 0.5}
	return k, cut(j.t.say("first_off"), 22, k.width)
}

// columnNames names what is written where, and returns where the rows begin.
func (j *job) columnNames(y float64) float64 {
	j.line(j.margin, y, j.right(), y, thick)
	k := ink{false, 7}
	base := y + 1.2 + k.cap()
	j.text(j.margin, base, k, cut(j.t.say("operation"), j.writeLeft()-j.margin-2, k.width))
	x := j.writeLeft()
	for i, name := range []string{"good", "scrap", "who", "machine"} {
		j.text(x+1, base, k, cut(j.t.say(name), j.d.columns[i]-1.5, k.width))
		x += j.d.columns[i]
	}
	y += headRow
	j.line(j.margin, y, j.right(), y, thin)
	return y
}

// row draws an operation: its QR, what to do, and two lines to write on.
func (j *job) row(r row, y float64) {
	j.code(j.margin, y+r.code.quiet()+0.2, r.code)
	j.rowText(r, y)
	x := j.writeLeft()
	for _, c := range j.d.columns {
		j.line(x, y, x, y+r.high, hair)
		x += c
	}
	j.f.SetDashPattern([]float64{0.6, 0.9}, 0)
	j.line(j.writeLeft(), y+r.high/2, j.right(), y+r.high/2, hair)
	j.f.SetDashPattern(nil, 0)
	j.line(j.margin, y+r.high, j.right(), y+r.high, thin)
}

func (j *job) rowText(r row, y float64) {
	x := j.textLeft(r.code)
	body, small, centre := j.d.faces()
	base := y + 1.4 + number.cap()
	j.text(x, base, number, strconv.Itoa(r.op.Number))
	if r.op.FirstOff {
		j.firstOff(base)
	}
	y += numberHigh
	if len(r.centre) == 0 {
		j.text(j.centreLeft(r), base, centre, clean(r.op.WorkCentre))
	}
	y = j.lines(x, y, centre, r.centre)
	y = j.lines(x, y, body, r.instruction)
	j.lines(x, y+0.2, small, r.times)
}

// firstOff draws the square to tick and its word at the end of the line.
func (j *job) firstOff(base float64) {
	k, word := j.firstOffWord()
	x := j.textEnd() - k.width(word)
	j.text(x, base, k, word)
	j.box(x-1-tickSide, base-tickSide+0.4, tickSide, tickSide, thin)
}
