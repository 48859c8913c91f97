package labels

import (
	"fmt"
	"io"
	"time"
)

// Badge is what a person wears or keeps beside the station.
type Badge struct {
	Code string // the person's code
	Name string
	Role string
}

// A badge is as large as a bank card (ISO/IEC 7810 ID-1), to fit its holders.
const (
	badgeWide, badgeHigh = 85.6, 53.98
	badgeQR              = 26.0
)

// WriteBadges writes A4 sheets of badges to cut out, ten a page, each with the bare
// code of a person as QR. It fails when there are none, when a code has no QR of that
// size, and as w does.
func WriteBadges(w io.Writer, badges []Badge, printed time.Time, tr Texts) error {
	if len(badges) == 0 {
		return fmt.Errorf("no badges to print; add people first")
	}
	s := newSheet(A4, tr.say("badges"), printed)
	s.cells(len(badges), badgeWide, badgeHigh, tr, printed,
		func(i int, x, y float64) { s.badge(badges[i], x, y) })
	return s.write(w)
}

func (s *sheet) badge(b Badge, x, y float64) {
	q, err := plainSymbol("badge", b.Name, b.Code, badgeQR)
	if err != nil {
		s.fail(err)
		return
	}
	s.box(x, y, badgeWide, badgeHigh, hair)
	s.code(x+badgeWide-q.quiet()-q.side(), y+(badgeHigh-q.side())/2, q)
	left := x + 5
	w := badgeWide - 2*q.quiet() - q.side() - 5
	name := clean(b.Name)
	k := ink{true, 17}.fit(name, w, 12)
	next := s.lines(left, y+10, k, wrap(name, w, 3, k.width))
	role := ink{false, 10}
	s.lines(left, next+2, role, wrap(clean(b.Role), w, 2, role.width))
	s.text(left, y+badgeHigh-6, ink{false, 10}, b.Code)
}
