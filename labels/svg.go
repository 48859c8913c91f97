package labels

import (
	"bufio"
	"fmt"
	"html"
	"io"
	"math"
)

// WriteSVG writes the QR code of content as a stand-alone SVG image, with its quiet
// zone, moduleMM millimetres a module. It uses no style element and no script, so a
// strict content security policy lets it through. It fails when the size is not above
// 0, when the content is too long for a QR code, and as w does.
func WriteSVG(w io.Writer, content string, level Level, moduleMM float64) error {
	if !(moduleMM > 0) || math.IsInf(moduleMM, 0) {
		return fmt.Errorf("QR code: a module of %v mm cannot be drawn; use a size above 0", moduleMM)
	}
	m, err := Matrix(content, level)
	if err != nil {
		return err
	}
	b := bufio.NewWriter(w)
	n := len(m) + 2*Quiet
	side := math.Round(float64(n)*moduleMM*1000) / 1000
	fmt.Fprintf(b, `<svg xmlns="http://www.w3.org/2000/svg" width="%[1]vmm" height="%[1]vmm" viewBox="0 0 %[2]d %[2]d" role="img" aria-label="%[3]s" shape-rendering="crispEdges">`,
		side, n, html.EscapeString(clean(content)))
	fmt.Fprintf(b, `<path fill="#fff" d="M0 0h%[1]dv%[1]dH0z"/><path fill="#000" d="`, n)
	for _, r := range runs(m) {
		fmt.Fprintf(b, "M%d %dh%dv1h-%dz", r.x+Quiet, r.y+Quiet, r.n, r.n)
	}
	fmt.Fprint(b, `"/></svg>`)
	return b.Flush()
}
