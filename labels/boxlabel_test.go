package labels

import (
	"bytes"
	"encoding/hex"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
)

func sampleLabel(kind LabelKind) Label {
	return Label{
		Kind: kind, Code: "B7K3M9QXA", URL: "https://tally.shop.example:8443", WorksOrder: "W-26-1187",
		Part:     "VB-2041-03",
		PartName: "Valve body, 3-port, Ø 42 h6", DrawingRev: "C", Customer: "Brook & Hollow Pumps",
		OrderLine: "4500-11873/20",
		Parent:    "B1A92HTSJ", Lots: []string{"H 88213-2"}, Pieces: 17, Operation: 30, WorkCentre: "GRIND",
		Reason:  "Out of tolerance (oversize)",
		Printed: printed,
	}
}

var labelSizes = []LabelSize{Label100x50, Label100x150, LabelRoll62}

func writeLabels(t testing.TB, size LabelSize, language string, all ...Label) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := WriteLabels(&b, all, size, In(language)); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// The bytes are those of ANSI MH10.8.2 in an ISO/IEC 15434 envelope, worked out apart
// from this package: W12345, 1W20, Q50.
func TestEnvelope(t *testing.T) {
	got, err := Envelope(
		[]Identified{{IDWorksOrder, "12345"}, {IDOperation, "20"}, {IDLot, ""}, {IDQuantity, "50"}})
	if want := "5b293e1e30361d5731323334351d315732301d5135301e04"; err != nil ||
		hex.EncodeToString([]byte(got)) != want {
		t.Errorf("%x, %v; want %s", got, err, want)
	}
	for _, bad := range [][]Identified{nil, {{IDLot, ""}}, {{IDLot, "Ä"}}, {{IDLot, "a\x1db"}}} {
		if got, err := Envelope(bad); err == nil {
			t.Errorf("%q is written as %q", bad, got)
		}
	}
}

// Each label of each size reads back, and the second code of what leaves the shop too,
// byte by byte; it says its word in each language.
func TestLabels(t *testing.T) {
	t.Parallel()
	for _, size := range labelSizes {
		var all []Label
		for _, kind := range LabelKinds {
			all = append(all, sampleLabel(kind))
		}
		pdf := save(t, writeLabels(t, size, "en", all...))
		wide, high := size.Measures()
		var w, h float64
		_, measures, _ := strings.Cut(tool(t, "pdfinfo", pdf), "Page size:")
		if _, err := fmt.Sscanf(measures, "%f x %f", &w, &h); err != nil || math.Abs(w-wide*72/25.4) > 0.1 ||
			math.Abs(h-high*72/25.4) > 0.1 {
			t.Errorf("size %d: %v by %v points, %v; want %v by %v mm", size, w, h, err, wide, high)
		}
		for i, pg := range rasterise(t, pdf, printer{203, true}) {
			kind := LabelKinds[i]
			want := []string{cardURL}
			if kind.away() {
				second := "[)>\x1e06\x1dWW-26-1187\x1d1W30\x1dPVB-2041-03\x1dQ17\x1d1TB7K3M9QXA\x1dK4500-11873/20\x1e\x04"
				want = append(want, second)
			}
			slices.Sort(want)
			if got := texts(zbar(t, pg.path)); !slices.Equal(got, want) {
				t.Errorf("%v, %s: zbar reads %q, want %q", size, kind, got, want)
			}
			if got := texts(zxing(t, pg.dots(t), 33)); !slices.Equal(got, want) {
				t.Errorf("%v, %s: gozxing reads %q, want %q", size, kind, got, want)
			}
		}
	}
	for _, language := range []string{"en", "de", "es", "pl", "tr"} {
		for _, size := range labelSizes {
			var all []Label
			for _, kind := range LabelKinds {
				all = append(all, sampleLabel(kind))
			}
			pages := strings.Split(words(t, save(t, writeLabels(t, size, language, all...))), "\f")
			for i, kind := range LabelKinds {
				got := strings.Join(strings.Fields(pages[i]), " ")
				for _, want := range []string{In(language)["label_"+string(kind)], "W-26-1187", "17"} {
					if !strings.Contains(got, want) {
						t.Errorf("%s, %v, %s: no %q in %s", language, size, kind, want, got)
					}
				}
				if kind.aside() && !strings.Contains(got, In(language)["label_quarantine"][:10]) {
					t.Errorf("%s, %v, %s: nothing of quarantine in %s", language, size, kind, got)
				}
			}
		}
	}
}

// Whatever a shop types, words keep to their places and to the label.
func TestNastyLabels(t *testing.T) {
	t.Parallel()
	for _, size := range labelSizes {
		wide, high := size.Measures()
		var all []Label
		for _, s := range nasty {
			for _, kind := range []LabelKind{LabelReview, LabelOutside} {
				l := sampleLabel(kind)
				l.WorksOrder, l.Part, l.PartName = s, s, s
				l.DrawingRev, l.Customer, l.OrderLine = s, s, s
				l.Reason, l.WorkCentre, l.Lots = s, s, []string{s, s}
				all = append(all, l)
			}
		}
		const pt = 72 / 25.4
		for n, ws := range wordPages(t, save(t, writeLabels(t, size, "de", all...))) {
			for i, w := range ws {
				if w.XMin < 0 || w.XMax > wide*pt || w.YMin < -3 || w.YMax > high*pt+3 {
					t.Errorf("size %v, label %d: %q leaves the label: %+v", size, n, w.Text, w)
				}
				for _, v := range ws[:i] {
					if !w.apart(v) {
						t.Errorf("size %v, label %d: %q and %q overlap", size, n, v.Text, w.Text)
					}
				}
			}
		}
	}
}

func TestRefusedLabels(t *testing.T) {
	odd := sampleLabel(LabelBox)
	odd.Code = "b 1"
	for name, all := range map[string][]Label{"none": nil, "an odd code": {odd}} {
		if err := WriteLabels(&bytes.Buffer{}, all, Label100x50, nil); err == nil {
			t.Errorf("%s: written", name)
		}
	}
	if _, err := ParseLabelSize("A4"); err == nil {
		t.Error("A4 is taken for a label")
	}
}
