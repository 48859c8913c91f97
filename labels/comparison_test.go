package labels

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
)

// sampleComparison lays routes side by side, with a note and an answer of so
// many words each.
func sampleComparison(names []string, answers, notes int) *comparisonPage {
	c := &comparisonPage{
		Title:   "Routes of part VB-2041-03 Valve body, 3-port",
		Under:   "A batch of 60 pieces started; money in EUR.",
		Columns: names, Parts: []string{"run", "set-up", "outside", "waiting"},
		StripsTitle: "Where the mean lead time goes",
		Curve: curveChart{Title: "Cost of a good piece over the batch size",
			Marks: []curveMark{{60, "this batch"}, {33, "equal at 33"}, {34, "equal at 34"}}},
	}
	for i, n := range names {
		line := curveLine{Name: n}
		for q := 1; q <= 5000; q += q/20 + 1 {
			line.Points = append(line.Points, [2]float64{float64(q), 20 + float64(i) + 240/float64(q)})
		}
		c.Curve.Lines = append(c.Curve.Lines, line)
		c.Strips = append(c.Strips,
			strip{n, []float64{12, 4, 0, 200 - 30*float64(i)}, fmt.Sprintf("%d.5 d", 9-i)})
	}
	for k := range 19 {
		row := comparisonRow{Name: fmt.Sprintf("Figure of the row %d", k), Strong: k%5 == 0, Part: k%5 > 2}
		for i := range names {
			row.Cells = append(row.Cells, fmt.Sprintf("%d%d.25 (1%d.01–2%d.99)", k, i, k, i))
		}
		c.Rows = append(c.Rows, row)
	}
	for i := range answers {
		c.Answer = append(c.Answer,
			fmt.Sprintf("Answer%d: a good piece costs less on the second route than on the first, by a quarter, and that is as sure as the batches behind it allow, end%d.", i, i))
	}
	for i := range notes {
		c.Notes = append(c.Notes,
			fmt.Sprintf("Note%d: of an operation with fewer than five batches the planned value is taken, and what was inferred is left out of times, stop%d.", i, i))
	}
	return c
}

// Whatever is laid side by side, nothing of it is lost, and it stands on one
// page. Read back by poppler's pdftotext.
func TestComparisonLosesNothing(t *testing.T) {
	t.Parallel()
	long := "Complete on the machine with two spindles, as planned in May"
	for _, x := range []struct {
		names          []string
		answers, notes int
	}{
		{[]string{"Route 3"}, 0, 4},
		{[]string{"Route 3", "Route 4"}, 3, 8},
		{[]string{"Route 3", "Route 4", "Proposal"}, 7, 12},
		{[]string{"Route 3", "Route 4", long + " A", long + " B"}, 14, 18},
	} {
		t.Run(fmt.Sprintf("%d routes", len(x.names)), func(t *testing.T) {
			c := sampleComparison(x.names, x.answers, x.notes)
			var b bytes.Buffer
			if err := writeComparison(&b, c, printed, English()); err != nil {
				t.Fatal(err)
			}
			pdf := save(t, b.Bytes())
			text := strings.Join(strings.Fields(words(t, pdf)), " ")
			if n := strings.Count(tool(t, "pdfinfo", pdf), "Pages: 1") +
				strings.Count(tool(t, "pdfinfo", pdf), "Pages:           1\n"); n != 1 {
				t.Errorf("not one page:\n%s", tool(t, "pdfinfo", pdf))
			}
			if strings.Contains(text, ellipsis) {
				t.Errorf("something was cut:\n%s", text)
			}
			for i := range x.answers {
				wantText(t, text, fmt.Sprintf("Answer%d:", i), fmt.Sprintf("end%d.", i))
			}
			for i := range x.notes {
				wantText(t, text, fmt.Sprintf("Note%d:", i), fmt.Sprintf("stop%d.", i))
			}
			for _, r := range c.Rows {
				wantText(t, text, r.Name)
				for _, v := range r.Cells {
					wantText(t, text, strings.Fields(v)...)
				}
			}
			for i, n := range x.names {
				wantText(t, text, strings.Fields(n)...)
				wantText(t, text, c.Strips[i].Total)
			}
		})
	}
}

// What no page could hold goes on to a second one rather than being lost.
func TestComparisonGoesOn(t *testing.T) {
	t.Parallel()
	var b bytes.Buffer
	if err := writeComparison(&b, sampleComparison([]string{"Route 3", "Route 4"}, 3, 120), printed,
		English()); err != nil {
		t.Fatal(err)
	}
	text := words(t, save(t, b.Bytes()))
	for i := range 120 {
		wantText(t, text, fmt.Sprintf("stop%d.", i))
	}
}

func wantText(t *testing.T, text string, want ...string) {
	t.Helper()
	for _, w := range want {
		if !strings.Contains(text, w) {
			t.Errorf("the page lacks %q", w)
		}
	}
}
