package paper_test

import (
	"strings"
	"testing"
	"unicode/utf8"

	"tallywalk/traveler/paper"
)

// A name fits a printer that cuts after 63 octets, between two letters, and is known by
// what any printer leaves of it.
func TestJobName(t *testing.T) {
	t.Parallel()
	const id = "018f3b6e-7c1a-7b3e-9c4d-0123456789ad"
	for _, title := range []string{"", "W-501", strings.Repeat("ü", 40), "x" + strings.Repeat("ü", 40),
		strings.Repeat("部", 30)} {
		name := paper.JobName(id, 12, title)
		if len(name) > 63 || !utf8.ValidString(name) || strings.TrimSpace(name) != name {
			t.Errorf("%q: %q", title, name)
		}
		if len(title) > 40 && len(name) < 60 {
			t.Errorf("%q is cut more than it need be: %q", title, name)
		}
		for n := len(name); n >= 24; n-- {
			if !paper.IsJob(name, name[:n]) {
				t.Errorf("%q is not known by %q", name, name[:n])
			}
		}
	}
	name := paper.JobName(id, 1, "W-501")
	for _, other := range []string{
		"", "1", name[:12], paper.JobName(id, 2, "W-501"), paper.JobName(id, 11, "W-501"),
		"W-501 " + id + " 1",
		paper.JobName("018f3b6e-7c1a-7b3e-9c4d-0123456789ae", 1, "W-501"), paper.JobName(id+"0", 1, ""),
	} {
		if paper.IsJob(name, other) {
			t.Errorf("%q is taken for %q", other, name)
		}
	}
	if short := paper.JobName("released-B12345678", 1, "W-9"); paper.IsJob(short, short[:19]) {
		t.Errorf("%q is taken for %q", short[:19], short)
	}
	if name := paper.JobName(strings.Repeat("9", 70), 1, "W-501"); strings.Contains(name, " ") {
		t.Errorf("no room for a title: %q", name)
	}
}
