package labels

import (
	"fmt"
	"io"
	"time"
)

// Device is what is stuck on a tablet or terminal.
type Device struct {
	Name    string
	Machine string // at which it stands; may be empty
}

const (
	deviceWide, deviceHigh = 97.0, 54.0
	deviceQR               = 26.0
	trustQR                = 60.0
)

// addressSymbol is the QR of an address; it fails for one that a QR or a scanner cannot
// carry.
func addressSymbol(url string, side float64) (symbol, error) {
	for _, r := range url {
		if r <= ' ' || r > '~' {
			return symbol{},
				fmt.Errorf("address %q has a character that a camera may misread; use plain letters", url)
		}
	}
	return newSymbol(url, Q, side)
}

// WriteDeviceSheet writes A4 sheets of labels to stick on devices: whose they are, where
// they stand, and the address that opens the station again. It fails when there are
// none, as addressSymbol does, and as w does.
func WriteDeviceSheet(w io.Writer, devices []Device, url string, printed time.Time, tr Texts) error {
	if len(devices) == 0 {
		return fmt.Errorf("no devices to print labels of; enrol one first")
	}
	q, err := addressSymbol(url, deviceQR)
	if err != nil {
		return err
	}
	s := newSheet(A4, tr.say("devices"), printed)
	s.cells(len(devices), deviceWide, deviceHigh, tr, printed, func(i int, x, y float64) {
		d := devices[i]
		s.box(x, y, deviceWide, deviceHigh, hair)
		s.code(x+deviceWide-q.quiet()-q.side(), y+(deviceHigh-q.side())/2, q)
		left, wide := x+5, deviceWide-5-q.side()-2*q.quiet()
		name := clean(d.Name)
		k := ink{true, 20}.fit(name, wide, 12)
		next := s.lines(left, y+6, k, wrap(name, wide, 2, k.width))
		mid := ink{false, 12}
		next = s.lines(left, next+1, mid, wrap(clean(d.Machine), wide, 1, mid.width))
		small := ink{false, 8}
		s.lines(left, next+2, small, wrap(tr.say("device_how"), wide, 4, small.width))
	})
	return s.write(w)
}

// WriteTrustSheet writes an A4 sheet to hang where devices are set up: the address at
// which each is shown how to trust the server, and the fingerprint to compare; empty
// where the server has no authority of its own. It fails as addressSymbol does, and as w
// does.
func WriteTrustSheet(w io.Writer, url, fingerprint string, printed time.Time, tr Texts) error {
	q, err := addressSymbol(url, trustQR)
	if err != nil {
		return err
	}
	s := newSheet(A4, tr.say("trust"), printed)
	s.newPage()
	y := s.title(tr.say("trust"), tr.say("trust_how")) + q.quiet()
	s.code((s.wide-q.side())/2, y, q)
	y += q.side() + q.quiet() + 4
	k := ink{true, 20}.fit(url, s.inner(), 8)
	s.textCentre(s.wide/2, y+k.cap(), k, url)
	y += k.line() + 8
	if fingerprint != "" {
		k = ink{false, 11}
		y = s.lines(s.margin, y, k, wrap(tr.say("trust_compare"), s.inner(), 3, k.width)) + 3
		k = ink{true, 16}
		s.lines(s.margin, y, k, wrap(clean(fingerprint), s.inner(), 4, k.width))
	}
	s.printed(tr, printed)
	return s.write(w)
}
