package labels

import (
	"io"
	"time"
)

// TestCardText is what the scanner test card makes a scanner type. It begins
// with TALLYWALK KEYS and ends with END, and holds each character of the QR
// alphanumeric set, which is all that any printed code of ours uses. Compared
// place by place with what arrived, it gives the map from what this scanner
// types to what was meant. Each sign stands before a 0: on a keyboard where a
// sign is an accent that waits for the next letter, a digit makes it appear
// without swallowing a place, and a 0 that differs from the others shows that
// places were lost after all.
const TestCardText = "TALLYWALK KEYS 0123456789 ABCDEFGHIJKLMNOPQRSTUVWXYZ $0%0*0+0-0.0/0:0 END"

// WriteTestCard writes the card from which a station learns the keyboard layout of a
// typing scanner: TestCardText as a QR and as a line to compare by eye. It fails as w
// does.
func WriteTestCard(w io.Writer, paper Paper, printed time.Time, tr Texts) error {
	q, err := newSymbol(TestCardText, Q, 50)
	if err != nil {
		return err
	}
	s := newSheet(paper, tr.say("test_title"), printed)
	s.f.AddPage()
	y := s.title(tr.say("test_title"), tr.say("test_how"))
	y += q.quiet()
	s.code((s.wide-q.side())/2, y, q)
	y += q.side() + q.quiet() + 4
	k := ink{false, 9}
	y = s.lines(s.margin, y, k, wrap(tr.say("test_expect"), s.inner(), 3, k.width)) + 2
	fit := ink{true, 11}
	for fit.width(TestCardText) > s.inner() {
		fit.pt -= 0.25
	}
	s.text(s.margin, y+fit.cap(), fit, TestCardText)
	s.printed(tr, printed)
	return s.write(w)
}

// title heads a sheet and returns where its content begins.
func (s *sheet) title(name, how string) float64 {
	k := ink{true, 22}
	for k.width(name) > s.inner() && k.pt > 12 {
		k.pt--
	}
	y := s.margin + k.cap()
	s.text(s.margin, y, k, cut(name, s.inner(), k.width))
	y += 4
	if how != "" {
		small := ink{false, 9.5}
		y = s.lines(s.margin, y, small, wrap(how, s.inner(), 6, small.width)) + 1
	}
	s.line(s.margin, y, s.right(), y, thick)
	return y + 3
}

// printed puts the date of printing into the foot of a sheet.
func (s *sheet) printed(tr Texts, at time.Time) {
	k := ink{false, 6.5}
	s.textRight(s.right(), s.high-s.margin, k, tr.printedAt(at))
}
