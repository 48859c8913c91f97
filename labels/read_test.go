package labels

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"sort"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	multi "github.com/makiuchi-d/gozxing/multi/qrcode"
)

// The sheets are read back by programs that know nothing of this package:
// poppler (pdftoppm, pdftotext), and two QR readers, zbar and gozxing.

// tool runs a program that the tests cannot do without.
func tool(t testing.TB, name string, args ...string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		t.Fatalf("%s is missing on this machine: install poppler-utils and zbar-tools (apt-get install poppler-utils zbar-tools)", name)
	}
	var out, errs bytes.Buffer
	cmd := exec.Command(path, args...)
	cmd.Stdout, cmd.Stderr = &out, &errs
	err = cmd.Run()
	if exit := (*exec.ExitError)(nil); errors.As(err, &exit) && name == "zbarimg" && exit.ExitCode() == 4 {
		err = nil // 4 says that some image held no code
	}
	if err != nil {
		t.Fatalf("%s %v: %v\n%s", name, args, err, errs.String())
	}
	if name != "zbarimg" && errs.Len() > 0 {
		t.Fatalf("%s complains: %s", name, errs.String())
	}
	return out.String()
}

// save keeps a written PDF for the tools.
func save(t testing.TB, pdf []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "sheet.pdf")
	if err := os.WriteFile(path, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// printer is how a page is turned into dots.
type printer struct {
	dpi  int
	mono bool
}

func (p printer) String() string {
	if p.mono {
		return fmt.Sprintf("%d dpi 1-bit", p.dpi)
	}
	return fmt.Sprintf("%d dpi grey", p.dpi)
}

var printers = []printer{{150, false}, {150, true}, {300, false}, {300, true}}

// mm turns dots into millimetres.
func (p printer) mm(dots int) float64 { return float64(dots) * 25.4 / float64(p.dpi) }

// paperPage is a page as dots, read from its file when they are asked for.
type paperPage struct {
	path string
	img  *image.Gray
}

func (pg *paperPage) dots(t testing.TB) *image.Gray {
	t.Helper()
	if pg.img == nil {
		pg.img = readPNG(t, pg.path)
	}
	return pg.img
}

func rasterise(t testing.TB, pdf string, p printer) []*paperPage {
	t.Helper()
	stem := filepath.Join(t.TempDir(), "page")
	kind := "-gray"
	if p.mono {
		kind = "-mono"
	}
	tool(t, "pdftoppm", "-png", kind, "-r", fmt.Sprint(p.dpi), pdf, stem)
	paths, err := filepath.Glob(stem + "*.png")
	if err != nil {
		t.Fatal(err)
	}
	sort.Strings(paths)
	var pages []*paperPage
	for _, path := range paths {
		pages = append(pages, &paperPage{path: path})
	}
	return pages
}

func readPNG(t testing.TB, path string) *image.Gray {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	src, err := png.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	if g, ok := src.(*image.Gray); ok {
		return g
	}
	g := image.NewGray(src.Bounds())
	draw.Draw(g, g.Bounds(), src, image.Point{}, draw.Src)
	return g
}

// found is a code on a page; at is the place of its modules, as far as known.
type found struct {
	text string
	at   image.Rectangle
}

// zbar reads all QR codes of image files.
func zbar(t testing.TB, paths ...string) []found {
	t.Helper()
	args := append([]string{"-q", "--nodbus", "--raw", "-Sdisable", "-Sqrcode.enable"}, paths...)
	var all []found
	for _, l := range strings.Split(strings.TrimSuffix(tool(t, "zbarimg", args...), "\n"), "\n") {
		if l != "" {
			all = append(all, found{text: l})
		}
	}
	return all
}

// zxing reads all QR codes of an image, which all have that many modules, and
// says where they are.
func zxing(t testing.TB, img image.Image, modules int) []found {
	t.Helper()
	bmp, err := gozxing.NewBinaryBitmapFromImage(img)
	if err != nil {
		t.Fatal(err)
	}
	hints := map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_TRY_HARDER: true}
	results, err := multi.NewQRCodeMultiReader().DecodeMultiple(bmp, hints)
	if err != nil {
		return nil
	}
	var all []found
	for _, r := range results {
		p := r.GetResultPoints() // centres of the finders: lower left, upper left, upper right
		n := modules
		if r.GetText() == cardURL {
			n = mainModules // the card's two kinds of code stand on one page
		}
		m := (p[2].GetX() - p[1].GetX()) / float64(n-7)
		x, y := p[1].GetX()-3.5*m, p[1].GetY()-3.5*m
		side := m * float64(n)
		all = append(all, found{r.GetText(), image.Rect(int(x), int(y), int(x+side+1), int(y+side+1))})
	}
	return all
}

// crop copies a part of the page; what lies outside is white, as a table is
// where the paper ends.
func crop(img *image.Gray, r image.Rectangle) *image.Gray {
	out := image.NewGray(image.Rect(0, 0, r.Dx(), r.Dy()))
	draw.Draw(out, out.Bounds(), image.White, image.Point{}, draw.Src)
	in := r.Intersect(img.Bounds())
	draw.Draw(out, in.Sub(r.Min), img, in.Min, draw.Src)
	return out
}

// darkBounds is the smallest rectangle around the dark dots within r.
func darkBounds(img *image.Gray, r image.Rectangle) image.Rectangle {
	var b image.Rectangle
	r = r.Intersect(img.Bounds())
	for y := r.Min.Y; y < r.Max.Y; y++ {
		row := img.Pix[img.PixOffset(r.Min.X, y):img.PixOffset(r.Max.X, y)]
		dark := func(v byte) bool { return v < 128 }
		if first := slices.IndexFunc(row, dark); first >= 0 {
			slices.Reverse(row)
			last := len(row) - slices.IndexFunc(row, dark)
			slices.Reverse(row)
			b = b.Union(image.Rect(r.Min.X+first, y, r.Min.X+last, y+1))
		}
	}
	return b
}

// checkCode measures f: its side in mm and whether the quiet zone of 4 of its
// modules is clear (ISO/IEC 18004). It returns the code cut out with its quiet zone.
func checkCode(t *testing.T, pg *paperPage, p printer, f found, modules int, atLeast float64) image.Image {
	t.Helper()
	img := pg.dots(t)
	dark := darkBounds(img, f.at.Inset(-f.at.Dx()*2/modules))
	if side := p.mm(min(dark.Dx(), dark.Dy())); side < atLeast {
		t.Errorf("%v: %s is %.2f mm wide, want %.1f at least", p, f.text, side, atLeast)
	}
	quiet := dark.Inset(-int(4 * float64(dark.Dx()) / float64(modules)))
	if got := darkBounds(img, quiet); got != dark {
		t.Errorf("%v: the quiet zone of %s is not clear: symbol %v, dark %v", p, f.text, dark, got)
	}
	return crop(img, quiet)
}

// texts are the contents of codes, sorted.
func texts(all []found) []string {
	var s []string
	for _, f := range all {
		s = append(s, f.text)
	}
	sort.Strings(s)
	return s
}

// words returns what a reader of the PDF finds as text, with plain blanks.
func words(t testing.TB, pdf string) string {
	t.Helper()
	return strings.NewReplacer("\u00a0", " ", "\u2009", " ").Replace(
		tool(t, "pdftotext", "-layout", pdf, "-"))
}

func savePNG(t testing.TB, img image.Image) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "code.png")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := png.Encode(f, img); err != nil {
		t.Fatal(err)
	}
	return path
}
