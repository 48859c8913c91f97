package labels

import (
	"bytes"
	"encoding/base64"
	"encoding/xml"
	"flag"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"codeberg.org/go-pdf/fpdf"
	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"

	"tallywalk/traveler"
)

var update = flag.Bool("update", false, "write the table of survival into doc.go")

// proofSeed begins all that is random here; the table in doc.go names it.
const proofSeed = 15434

// proofPrinters are the resolutions of labels, office and fine printers, in dots and in
// grey.
var proofPrinters = []printer{{150, true}, {150, false}, {203, true}, {203, false}, {300, true}, {300, false}}

// proofKind is a kind of code as it is printed: what it says, its level, its least side.
type proofKind struct {
	name  string
	want  string
	level Level
	least float64 // mm
}

// The kinds that are printed as sturdySymbol makes them.
var sturdy = []string{"card", "label 100x50", "label 100x150", "label 62"}

func (k *proofKind) symbol(t testing.TB) symbol {
	t.Helper()
	q, err := newSymbol(k.want, k.level, k.least)
	if slices.Contains(sturdy, k.name) {
		q, err = sturdySymbol(k.want, k.least)
	}
	if err != nil {
		t.Fatal(err)
	}
	return q
}

func proofKinds() []proofKind {
	label := sampleLabel(LabelOutside)
	second, err := Envelope(label.fields())
	if err != nil {
		panic(err)
	}
	small, large, roll := labelDesigns[Label100x50], labelDesigns[Label100x150], labelDesigns[LabelRoll62]
	const station = "https://tally.shop.example:8443/station"
	return []proofKind{
		{"card", cardURL, H, mainSide},
		{"card's foot", sampleCard().Code, H, opSide},
		{"operation", "B7K3M9QXA/20", Q, opSide},
		{"badge", sampleBadges(1)[0].Code, H, badgeQR},
		{"machine label", samplePlates(1)[0].Code, H, plateQR},
		{"action", sampleActions()[0].Code, H, actionQR},
		{"label 100x50", cardURL, H, small.main},
		{"label 100x150", cardURL, H, large.main},
		{"label 62", cardURL, H, roll.main},
		{"second, 100x50", second, M, small.second},
		{"second, 100x150", second, M, large.second},
		{"second, 62", second, M, roll.second},
		{"scanner test", TestCardText, Q, 50},
		{"device", station, Q, deviceQR},
		{"trust", station, Q, trustQR},
	}
}

// codeOn prints a code alone, with its quiet zone; at is where its symbol lies and module
// how wide a module is, in dots.
func (k *proofKind) codeOn(t testing.TB, p printer) (img *image.Gray, at image.Rectangle, module float64) {
	t.Helper()
	q := k.symbol(t)
	side := q.side() + 2*q.quiet()
	f := fpdf.NewCustom(
		&fpdf.InitType{OrientationStr: "P", UnitStr: "mm", Size: fpdf.SizeType{Wd: side, Ht: side}})
	s := dress(f, k.name, printed)
	s.wide, s.high = side, side
	s.newPage()
	s.code(q.quiet(), q.quiet(), q)
	var b bytes.Buffer
	if err := s.write(&b); err != nil {
		t.Fatal(err)
	}
	img = rasterise(t, save(t, b.Bytes()), p)[0].dots(t)
	dots := float64(p.dpi) / 25.4
	return img, darkBounds(img, img.Bounds()), q.module * dots
}

// readings counts how many of how many were read by each of the two readers, and by one at
// least; taken is what was read as something else.
type readings struct {
	n, zbar, zxing, either int
	taken                  []string
}

// proof damages a code so many times and reads it back.
func (k *proofKind) proof(t testing.TB, d damage, p printer, times int) readings {
	t.Helper()
	img, at, module := k.codeOn(t, p)
	return k.read(t, d.pictures(img, at, module, p, times))
}

// pictures damages a code so many times.
func (d *damage) pictures(img *image.Gray, at image.Rectangle, module float64, p printer,
	times int) (all []*image.Gray) {
	r := rand.New(rand.NewPCG(proofSeed, uint64(p.dpi)))
	for range times {
		all = append(all, padded(d.do(img, at, module, r), int(3*module)))
	}
	return all
}

// survive damages a code in each way and reads it back.
func (k *proofKind) survive(t testing.TB, p printer, times int) []readings {
	t.Helper()
	img, at, module := k.codeOn(t, p)
	var all []*image.Gray
	for i := range damages {
		all = append(all, damages[i].pictures(img, at, module, p, times)...)
	}
	byZBar := zbarEach(t, all)
	sums := make([]readings, len(damages))
	for i, img := range all {
		sums[i/times].note(k.want, byZBar[i], zxingOne(img))
	}
	return sums
}

// read reads pictures of the code with both readers.
func (k *proofKind) read(t testing.TB, all []*image.Gray) (sum readings) {
	t.Helper()
	byZBar := zbarEach(t, all)
	for i, img := range all {
		sum.note(k.want, byZBar[i], zxingOne(img))
	}
	return sum
}

// note counts what was read of one picture.
func (s *readings) note(want string, byZBar []string, byZXing string) {
	s.n++
	first := slices.Contains(byZBar, want)
	if first {
		s.zbar++
	}
	if byZXing == want {
		s.zxing++
	}
	if first || byZXing == want {
		s.either++
	}
	for _, text := range append(byZBar, byZXing) {
		if text != "" && text != want {
			s.taken = append(s.taken, text)
		}
	}
}

func (s *readings) add(o readings) {
	s.n, s.zbar, s.zxing, s.either = s.n+o.n, s.zbar+o.zbar, s.zxing+o.zxing, s.either+o.either
	s.taken = append(s.taken, o.taken...)
}

// zxingOne reads the one code of a picture; "" when there is none to be read.
func zxingOne(img image.Image) string {
	bmp, err := gozxing.NewBinaryBitmapFromImage(img)
	if err != nil {
		return ""
	}
	res, err := qrcode.NewQRCodeReader().Decode(bmp,
		map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_TRY_HARDER: true})
	if err != nil {
		return ""
	}
	return res.GetText()
}

// zbarEach reads the codes of each picture.
func zbarEach(t testing.TB, all []*image.Gray) [][]string {
	t.Helper()
	dir := t.TempDir()
	fast := png.Encoder{CompressionLevel: png.NoCompression}
	args := []string{"-q", "--nodbus", "--xml", "-Sdisable", "-Sqrcode.enable"}
	place := map[string]int{}
	for i, img := range all {
		path := filepath.Join(dir, fmt.Sprintf("%06d.png", i))
		f, err := os.Create(path)
		if err != nil {
			t.Fatal(err)
		}
		if err := fast.Encode(f, img); err != nil {
			t.Fatal(err)
		}
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
		place[path] = i
		args = append(args, path)
	}
	out := make([][]string, len(all))
	var doc struct {
		Sources []struct {
			Href string `xml:"href,attr"`
			Data []struct {
				Format string `xml:"format,attr"`
				Text   string `xml:",chardata"`
			} `xml:"index>symbol>data"`
		} `xml:"source"`
	}
	text := tool(t, "zbarimg", args...)
	if !strings.Contains(text, "<source") {
		return out
	}
	dec := xml.NewDecoder(strings.NewReader(text))
	dec.Strict = false
	if err := dec.Decode(&doc); err != nil {
		t.Fatalf("zbarimg --xml: %v", err)
	}
	for _, s := range doc.Sources {
		for _, d := range s.Data {
			text := d.Text
			if d.Format == "base64" {
				b, err := base64.StdEncoding.DecodeString(strings.ReplaceAll(text, "\n", ""))
				if err != nil {
					t.Fatal(err)
				}
				text = string(b)
			}
			out[place[s.Href]] = append(out[place[s.Href]], text)
		}
	}
	return out
}

// ours reports whether a text would be taken for one of the shop's codes.
func ours(text string) bool {
	ref := traveler.ParseRef(text)
	return ref.Code != ""
}

// Every kind of code is read clean from every printer by both readers.
func TestEveryCodeReadsFromEveryPrinter(t *testing.T) {
	t.Parallel()
	for _, k := range proofKinds() {
		for _, p := range []printer{{150, true}, {203, false}} { // the harder ones
			if got := k.proof(t, damages[0], p, 1); got.either != 1 || len(got.taken) > 0 {
				t.Errorf("%s at %v: zbar %d, gozxing %d of 1, taken for %q", k.name, p, got.zbar, got.zxing,
					got.taken)
			}
		}
	}
}

// The card's main code is read by at least one reader in 95 % under oil over 5 % of it, in
// 90 % under paint, and in 75 % over 10 %; it or the one in the foot, soiled as much, in
// 95 % and more. No damaged code is taken for another. What is read of the rest, doc.go says.
func TestSoiledCards(t *testing.T) {
	t.Parallel()
	main, foot := proofKinds()[0], proofKinds()[1]
	least := map[string]float64{"oil 5 %": 0.95, "oil 10 %": 0.75, "paint 5 %": 0.90, "paint 10 %": 0.75}
	for _, d := range damages {
		var sum, small readings
		printers, times := []printer{{203, true}}, 2
		if least[d.name] > 0 {
			printers, times = []printer{{150, true}, {203, false}, {300, true}}, 10
		}
		for _, p := range printers {
			sum.add(main.proof(t, d, p, times))
			if least[d.name] > 0 {
				small.add(foot.proof(t, d, p, times))
			}
		}
		lost := 1 - float64(sum.either)/float64(sum.n)
		if lost > 1-least[d.name]+1e-9 {
			t.Errorf("%s: %d of %d read, want %v", d.name, sum.either, sum.n, least[d.name])
		}
		if least[d.name] > 0 {
			if both := lost * (1 - float64(small.either)/float64(small.n)); both > 0.05 {
				t.Errorf("%s: in %.3f neither the main code nor the one in the foot is read", d.name, both)
			}
		}
		if bad := slices.DeleteFunc(append(sum.taken, small.taken...),
			func(s string) bool { return !ours(s) }); len(bad) > 0 {
			t.Errorf("%s: taken for %q", d.name, bad)
		}
	}
}

// With TALLYWALK_LONG 105,000 damaged codes are looked at by both readers, and none is
// taken for another that would be valid; else a few hundred. They are drawn with four dots
// a module, about as a label printer of 203 dpi has them; half are stained, of the others
// single modules are turned.
func TestNoDamagedCodeIsTakenForAnother(t *testing.T) {
	t.Parallel()
	times, rounds := 4, 7
	if os.Getenv("TALLYWALK_LONG") != "" {
		times, rounds = 500, 35 // 6 shares in each round
	}
	kinds := proofKinds()[:7] // those that stations act on
	r := rand.New(rand.NewPCG(proofSeed, 100_000))
	all, read := 0, 0
	for round := range rounds {
		k := &kinds[round%len(kinds)]
		img, at := k.dots(t)
		for _, share := range []float64{0.1, 0.16, 0.2, 0.25, 0.3, 0.4} {
			d := stained(share, 1+round%5, paint)
			var pictures []*image.Gray
			for range times / 2 {
				pictures = append(pictures, d(img, at, 4, r), flipped(img, at, 4, share/5, r))
			}
			got := k.read(t, pictures)
			all, read = all+got.n, read+got.either
			for _, text := range got.taken {
				if ours(text) {
					t.Errorf("%s under %v of stains is taken for %q", k.name, share, text)
				}
			}
		}
	}
	t.Logf("%d damaged codes, %d read, none taken for another", all, read)
}

// dots draws a code with four dots a module and its quiet zone.
func (k *proofKind) dots(t testing.TB) (img *image.Gray, at image.Rectangle) {
	t.Helper()
	m := k.symbol(t).modules
	const dot = 4
	side := (len(m) + 2*Quiet) * dot
	img = image.NewGray(image.Rect(0, 0, side, side))
	draw.Draw(img, img.Bounds(), image.White, image.Point{}, draw.Src)
	for _, r := range runs(m) {
		x, y := (r.x+Quiet)*dot, (r.y+Quiet)*dot
		draw.Draw(img, image.Rect(x, y, x+r.n*dot, y+dot), image.Black, image.Point{}, draw.Src)
	}
	return img, img.Bounds().Inset(Quiet * dot)
}

const tableBegin, tableEnd = "// Reading proof begins.\n", "// Reading proof ends.\n"

// TestSurvivalTable writes the table of doc.go with -update; else it holds doc.go to having
// one of this seed.
func TestSurvivalTable(t *testing.T) {
	src, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	begin, rest, ok := strings.Cut(string(src), tableBegin)
	_, end, ok2 := strings.Cut(rest, tableEnd)
	if !ok || !ok2 || !*update && !strings.Contains(rest, fmt.Sprintf("seed %d", proofSeed)) {
		t.Fatal("doc.go has no table of survival of this seed: go test ./labels -run TestSurvivalTable -update")
	}
	if !*update {
		return
	}
	if err := os.WriteFile("doc.go", []byte(begin+tableBegin+survival(t, 8)+tableEnd+end),
		0o644); err != nil {
		t.Fatal(err)
	}
}

// survival makes the table: of so many pieces at each of the printers, how many in a
// hundred are read by zbar, by gozxing and by one of them at least.
func survival(t *testing.T, times int) string {
	var b strings.Builder
	fmt.Fprintf(&b, "//\n// Of %d damaged prints a cell (150, 203 and 300 dpi, 1-bit and grey, seed %d), read by zbar /\n"+
		"// gozxing / either, per cent:\n//\n//\t%-16s", times*len(proofPrinters), proofSeed, "")
	for _, d := range damages {
		fmt.Fprintf(&b, " %-11s", d.name)
	}
	b.WriteString("\n")
	for _, k := range proofKinds() {
		sums := make([]readings, len(damages))
		for _, p := range proofPrinters {
			for i, one := range k.survive(t, p, times) {
				sums[i].add(one)
			}
		}
		fmt.Fprintf(&b, "//\t%-16s", k.name)
		for i, sum := range sums {
			per := func(n int) int { return 100 * n / sum.n }
			fmt.Fprintf(&b, " %-11s", fmt.Sprintf("%d/%d/%d", per(sum.zbar), per(sum.zxing), per(sum.either)))
			if bad := slices.DeleteFunc(sum.taken, func(s string) bool { return !ours(s) }); len(bad) > 0 {
				t.Errorf("%s under %s is taken for %q", k.name, damages[i].name, bad)
			}
		}
		b.WriteString("\n")
	}
	b.WriteString("//\n")
	return regexp.MustCompile(` +\n`).ReplaceAllString(b.String(), "\n")
}
