package plan

import (
	"bytes"
	"image"
	"image/jpeg"
	"image/png"
	"testing"
)

// FuzzPictureKind: a picture that is taken is of one of three kinds, and of pixels
// whose memory has its limit.
func FuzzPictureKind(f *testing.F) {
	var p, j bytes.Buffer
	if err := png.Encode(&p, image.NewGray(image.Rect(0, 0, 3, 2))); err != nil {
		f.Fatal(err)
	}
	if err := jpeg.Encode(&j, image.NewGray(image.Rect(0, 0, 3, 2)), nil); err != nil {
		f.Fatal(err)
	}
	for _, s := range []string{
		p.String(), j.String(), "", `<svg xmlns="http://www.w3.org/2000/svg"><path d=""/></svg>`,
		"\ufeff<svg/>", "<svg/><svg/>",
		`<!DOCTYPE svg [<!ENTITY a "b">]><svg>&a;</svg>`, "<svg></g></svg>", "<html/>",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, body []byte) {
		switch kind, w, h := pictureKind(body); kind {
		case "":
			if w != 0 || h != 0 {
				t.Fatalf("no picture of %d x %d", w, h)
			}
		case "image/svg+xml":
			if w != 0 || h != 0 || !bytes.Contains(body, []byte("svg")) {
				t.Fatalf("%q is an SVG of %d x %d", body, w, h)
			}
		case "image/png", "image/jpeg":
			if w <= 0 || h <= 0 || w > mostPixels || h > mostPixels || w*h > mostPixels {
				t.Fatalf("%s of %d x %d", kind, w, h)
			}
		default:
			t.Fatalf("a picture of kind %s", kind)
		}
	})
}
