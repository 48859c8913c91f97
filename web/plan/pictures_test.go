package plan_test

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/gif"
	"image/jpeg"
	"image/png"
	"strings"
	"testing"

	"tallywalk/web/webtest"
)

// A plan points at a picture that is kept, and a picture is one: an SVG is
// well-formed XML with svg at its root (XML 1.0, 2.1; SVG 2, 5.1).
func TestPicturesAreKeptPictures(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{Open: true})
	var kept struct{ Ref, Type string }
	for body, want := range map[string]int{
		`<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0"/></svg>`: 201,

		"\ufeff<?xml version=\"1.0\"?>\n<!-- hall --><!DOCTYPE svg>\n<s:svg xmlns:s=\"http://www.w3.org/2000/svg\"></s:svg>\n": 201,
		`<html><svg></svg></html>`: 400,
		`<svg><path></svg>`:        400,
		`<svg>`:                    400,
		`<svg/><svg/>`:             400,
		`<svg/> more`:              400,
		`<!-- <svg -->`:            400,
		`<p>about <svg`:            400,
		`<!DOCTYPE svg [<!ENTITY a "b">]><svg><t>&a;</t></svg>`:      400,
		strings.Repeat("<svg>", 300) + strings.Repeat("</svg>", 300): 400,
		"":                          400,
		gifOf(t):                    400, // a format that a browser knows and a plan does not need
		pngClaiming(60_000, 60_000): 400,
		pngClaiming(4, 4):           400, // its pixels are missing
		pngOf(t, 40, 30):            201,
		jpegOf(t):                   201,
		jpegOf(t)[:200]:             400,
	} {
		var got struct{ Ref, Type string }
		if status := r.Do("POST", "/api/v1/ground/pictures", body, &got); status != want {
			t.Errorf("%.60q: %d, want %d", body, status, want)
		}
		if want == 201 && strings.Contains(body, "<svg xmlns=") {
			kept = got
		}
	}
	plan := func(ref string) map[string]any {
		return map[string]any{
			"corners": []any{}, "aisles": []any{},
			"picture": map[string]any{"ref": ref, "width_m": 10, "height_m": 10},
		}
	}
	for _, ref := range []string{
		"", "hall.png", "../../api/v1/export/scans", strings.Repeat("0", 64), strings.ToUpper(kept.Ref),
		kept.Ref + "0",
	} {
		r.Refused("POST", "/api/v1/ground/plan", plan(ref), 400)
	}
	if got := r.Do(
		"POST", "/api/v1/ground/plan", plan(kept.Ref), nil,
	); got != 200 || kept.Type != "image/svg+xml" {
		t.Errorf("a picture that is kept: %d, %+v", got, kept)
	}
}

// gifOf, pngOf and jpegOf are small pictures.
func gifOf(t *testing.T) string {
	t.Helper()
	var b bytes.Buffer
	if err := gif.Encode(&b, image.NewGray(image.Rect(0, 0, 8, 8)), nil); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func pngOf(t *testing.T, w, h int) string {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray(image.Rect(0, 0, w, h))); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func jpegOf(t *testing.T) string {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, 64, 48)), nil); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// pngClaiming is a PNG that says how many pixels it has, and has none of them
// (PNG third edition, 5 and 11.2.1).
func pngClaiming(w, h uint32) string {
	head := binary.BigEndian.AppendUint32([]byte("IHDR"), w)
	head = append(binary.BigEndian.AppendUint32(head, h), 8, 0, 0, 0, 0)
	chunk := func(b []byte) []byte {
		out := binary.BigEndian.AppendUint32(nil, uint32(len(b)-4))
		return binary.BigEndian.AppendUint32(append(out, b...), crc32.ChecksumIEEE(b))
	}
	return "\x89PNG\r\n\x1a\n" + string(chunk(head)) + string(chunk([]byte("IEND")))
}
