package labels

import (
	"fmt"
	"io"
	"time"
)

// ActionCode is one thing that can be said at a station by scanning.
type ActionCode struct {
	Code string // the action's code
	Word string // what it says, in the words of the station's page
}

// ActionGroup is the codes that belong on one page, and what they are together.
type ActionGroup struct {
	Title   string
	Actions []ActionCode
}

// Thirty codes a page: a hand scanner held at one does not see its neighbours.
const (
	actionWide, actionHigh = 38.0, 39.6
	actionQR               = 20.0
)

// WriteActionSheet writes the A4 sheets that hang beside a machine: a QR for each
// action, so that a station can be worked by scanner alone. A group begins on a page of
// its own. It fails when there are no actions, when a code has no QR of that size, and
// as w does.
func WriteActionSheet(w io.Writer, machineName string, groups []ActionGroup, printed time.Time,
	tr Texts) error {
	title := joined(": ", clean(machineName), tr.say("actions"))
	s := newSheet(A4, title, printed)
	top := s.margin + 36
	g := s.newGrid(top, actionWide, actionHigh)
	n := 0
	for _, group := range groups {
		page := func() {
			s.f.AddPage()
			s.caution(s.title(joined(", ", title, clean(group.Title)), tr.say("actions_how")), top-3,
				tr.say("isolation"))
			s.printed(tr, printed)
		}
		g.each(len(group.Actions), page, func(i int, x, y float64) { s.action(group.Actions[i], x, y) })
		n += len(group.Actions)
	}
	if n == 0 {
		return fmt.Errorf("no actions to print on the sheet of machine %q; name at least one",
			cut(clean(machineName), 40, runeCount))
	}
	return s.write(w)
}

// caution frames a sentence between y and bottom.
func (s *sheet) caution(y, bottom float64, words string) {
	k := ink{true, 11}
	lines := wrap(words, s.inner()-8, 3, k.width)
	h := min(bottom-y, float64(len(lines))*k.line()+5)
	s.box(s.margin, y, s.inner(), h, thick)
	s.lines(s.margin+4, y+2.8, k, lines)
}

func (s *sheet) action(a ActionCode, x, y float64) {
	q, err := plainSymbol("action", a.Word, a.Code, actionQR)
	if err != nil {
		s.fail(err)
		return
	}
	mid := x + actionWide/2
	s.code(mid-q.side()/2, y+q.quiet(), q)
	word := clean(a.Word)
	k := ink{true, 10}.fit(word, actionWide-3, 8)
	y += q.side() + 2*q.quiet() + 0.5
	for _, l := range wrap(word, actionWide-3, 2, k.width) {
		s.textCentre(mid, y+k.cap(), k, l)
		y += k.line()
	}
	small := ink{false, 7}
	s.textCentre(mid, y+small.cap(), small, a.Code)
}
