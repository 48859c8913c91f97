package labels

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"strings"
	"testing"
)

func TestSidesAndCapacities(t *testing.T) {
	// ISO/IEC 18004: the side is 4v+17 modules; alphanumeric capacities at L, M, Q, H.
	capacity := [][4]int{{25, 20, 16, 10}, {47, 38, 29, 20}, {77, 61, 47, 35}, {114, 90, 67, 50}}
	for v, caps := range capacity {
		for level, n := range caps {
			for extra, want := range []int{4*(v+1) + 17, 4*(v+2) + 17} {
				m, err := Matrix(strings.Repeat("A", n+extra), Level(level))
				if err != nil || len(m) != want || len(m[0]) != want {
					t.Errorf("level %d, %d characters: side %d, %v; want %d", level, n+extra, len(m), err,
						want)
				}
			}
		}
	}
}

// formatLevel reads the level from the format information beside the upper
// left finder: its first two bits, masked with 10 (ISO/IEC 18004: L 01, M 00,
// Q 11, H 10).
func formatLevel(m [][]bool) string {
	bit := func(b bool, mask int) int {
		if b {
			return 1 ^ mask
		}
		return mask
	}
	return fmt.Sprintf("%d%d", bit(m[8][0], 1), bit(m[8][1], 0))
}

func TestFormatInformation(t *testing.T) {
	for level, want := range map[Level]string{L: "01", M: "00", Q: "11", H: "10"} {
		m, err := Matrix(cardURL, level)
		if err != nil || formatLevel(m) != want {
			t.Errorf("level %d: format bits %s, %v; want %s", level, formatLevel(m), err, want)
		}
	}
	url, err := CardURL("https://tally.shop.example:8443", "B7K3M9QXA")
	if err != nil {
		t.Fatal(err)
	}
	j := job{sheet: newSheet(A5, "", printed),
		c: &Card{Code: "B7K3M9QXA", URL: strings.TrimSuffix(url, "/S/B7K3M9QXA")}}
	if err := j.codes(); err != nil || formatLevel(j.main.modules) != "10" {
		t.Errorf("the card's main QR: format bits %s, %v; want level H, 10", formatLevel(j.main.modules), err)
	}
}

// withStain lays a black square over 16 % of the symbol at place i, j of 6 by 6.
func withStain(m [][]bool, i, j int) *image.Gray {
	const scale = 8
	n := len(m)
	img := image.NewGray(image.Rect(0, 0, (n+8)*scale, (n+8)*scale))
	draw.Draw(img, img.Bounds(), image.White, image.Point{}, draw.Src)
	box := func(x, y, w, h int, c color.Color) {
		draw.Draw(img, image.Rect(x, y, x+w, y+h), image.NewUniform(c), image.Point{}, draw.Src)
	}
	for y, row := range m {
		for x, dark := range row {
			if dark {
				box((x+4)*scale, (y+4)*scale, scale, scale, color.Black)
			}
		}
	}
	side := n * scale * 4 / 10
	free := n*scale - side
	box(4*scale+free*i/5, 4*scale+free*j/5, side, side, color.Black)
	return img
}

func TestStainsOnTheCard(t *testing.T) {
	t.Parallel()
	// 16 % of the symbol under one stain, at 36 places. Measured beforehand on
	// other symbols: level H is still read at 67 to 77 % of the places, level M at none.
	read := map[Level][2]int{}
	for _, level := range []Level{M, H} {
		m, err := Matrix(cardURL, level)
		if err != nil {
			t.Fatal(err)
		}
		var byZXing []found
		var files []string
		for i := range 36 {
			img := withStain(m, i%6, i/6)
			byZXing = append(byZXing, zxing(t, img, len(m))...)
			files = append(files, savePNG(t, img))
		}
		byZBar := zbar(t, files...)
		for _, f := range append(byZXing[:len(byZXing):len(byZXing)], byZBar...) {
			if f.text != cardURL {
				t.Errorf("misread %q under a stain", f.text)
			}
		}
		read[level] = [2]int{len(byZXing), len(byZBar)}
	}
	t.Logf("read under 36 stains by gozxing and zbar: level M %v, level H %v", read[M], read[H])
	for i, reader := range []string{"gozxing", "zbar"} {
		if read[H][i] < 20 || read[M][i] > 3 {
			t.Errorf("%s reads %d of 36 stained at H, want most; %d at M, want hardly any", reader,
				read[H][i], read[M][i])
		}
	}
}

func TestMatrixRefuses(t *testing.T) {
	for name, tc := range map[string]struct {
		content string
		level   Level
	}{
		"empty": {"", H}, "no level": {"A", 9}, "too long": {strings.Repeat("A", 5000), H},
	} {
		if _, err := Matrix(tc.content, tc.level); err == nil {
			t.Errorf("%s: want an error", name)
		}
	}
}
