package labels

import (
	"fmt"
	"strings"

	"github.com/skip2/go-qrcode"
)

// Level is the error recovery of a QR code. ISO/IEC 18004 has it at about 7 %
// (L), 15 % (M), 25 % (Q) and 30 % (H) of the codewords.
type Level int

// The recovery levels.
const (
	L Level = iota
	M
	Q
	H
)

// Quiet is the clear margin around a QR code in modules (ISO/IEC 18004).
const Quiet = 4

// alphanumeric is the character set of the QR mode of that name, in which two
// characters take 11 bits (ISO/IEC 18004).
const alphanumeric = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"

// Matrix returns the modules of the QR code of content, true for dark, as
// [row][column] and without the quiet zone. It fails when content is empty or
// too long for a QR code at that level.
func Matrix(content string, level Level) ([][]bool, error) {
	if level < L || level > H {
		return nil, fmt.Errorf("QR code: no recovery level %d; use L, M, Q or H", level)
	}
	if content == "" {
		return nil, fmt.Errorf("QR code: nothing to put in it")
	}
	q, err := qrcode.New(content, qrcode.RecoveryLevel(level))
	if err != nil {
		return nil, fmt.Errorf("QR code: %d characters do not fit; use a shorter text: %w", len(content), err)
	}
	return modulesOf(q), nil
}

func modulesOf(q *qrcode.QRCode) [][]bool {
	q.DisableBorder = true // must come before Bitmap: later it is ignored
	return q.Bitmap()
}

// A symbol of a higher version than its content needs has smaller corner squares for its
// size, and a stain seldom lies over one of them. Beyond version 7 little more was read.
const (
	sturdyVersion = 7
	// sturdyModule is the least module of such a symbol, in mm: five dots and a half at
	// 203 dpi. Finer ones are read from too near, and blurred sooner.
	sturdyModule = 0.7
)

// sturdyVersionFor is the highest version up to sturdyVersion whose modules are wide
// enough in a symbol of that side in mm; 0 where none is.
func sturdyVersionFor(side float64) int {
	v := (int(side/sturdyModule+1e-9) - 17) / 4 // ISO/IEC 18004: 17 modules and 4 for each version
	return max(0, min(v, sturdyVersion))
}

// run is a horizontal run of dark modules.
type run struct{ x, y, n int }

// runs merges the dark modules of each row, so that a symbol is drawn with few
// rectangles and without seams.
func runs(m [][]bool) []run {
	var out []run
	for y, row := range m {
		for x := 0; x < len(row); {
			n := 0
			for x+n < len(row) && row[x+n] {
				n++
			}
			if n > 0 {
				out = append(out, run{x, y, n})
			}
			x += max(n, 1)
		}
	}
	return out
}

// plainCode says whether s can be a bare code: capitals and digits.
func plainCode(s string) bool {
	if s == "" || len(s) > 32 {
		return false
	}
	for i := range len(s) {
		if strings.IndexByte(alphanumeric[:36], s[i]) < 0 {
			return false
		}
	}
	return true
}
