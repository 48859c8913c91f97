package labels

import (
	"fmt"
	"io"
	"time"
)

// Plate is what is fixed to a machine, or to a place such as the stores.
type Plate struct {
	Code       string // the machine's code
	Name       string
	WorkCentre string
	Place      string
}

const (
	plateWide, plateHigh = 97.0, 90.0
	plateQR              = 44.0
)

// WriteMachinePlates writes A4 sheets of plates to cut out, six a page, each with the
// bare code of a machine as QR. It fails when there are none, when a code has no QR of
// that size, and as w does.
func WriteMachinePlates(w io.Writer, plates []Plate, printed time.Time, tr Texts) error {
	if len(plates) == 0 {
		return fmt.Errorf("no machine plates to print; import machines first")
	}
	s := newSheet(A4, tr.say("plates"), printed)
	s.cells(len(plates), plateWide, plateHigh, tr, printed,
		func(i int, x, y float64) { s.plate(plates[i], x, y, tr) })
	return s.write(w)
}

func (s *sheet) plate(p Plate, x, y float64, tr Texts) {
	q, err := plainSymbol("machine", p.Name, p.Code, plateQR)
	if err != nil {
		s.fail(err)
		return
	}
	s.box(x, y, plateWide, plateHigh, hair)
	left, w := x+6, plateWide-12
	name := clean(p.Name)
	k := ink{true, 46}.fit(name, w, 15)
	s.lines(left, y+7, k, wrap(name, w, 2, k.width))
	top := y + plateHigh - q.side() - q.quiet()
	s.code(x+plateWide-q.quiet()-q.side(), top, q)
	w = plateWide - 6 - q.side() - 2*q.quiet()
	mid := ink{true, 11}
	next := s.lines(left, top, mid, wrap(clean(p.WorkCentre), w, 2, mid.width))
	small := ink{false, 9}
	next = s.lines(left, next+1, small, wrap(clean(p.Place), w, 2, small.width))
	s.lines(left, next+3, ink{false, 7}, wrap(tr.say("plate_how"), w, 4, ink{false, 7}.width))
	s.text(left, y+plateHigh-6, ink{false, 10}, p.Code)
}
