package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"

	"tallywalk/traveler"
)

// A shop's own spreadsheet with odd headers is dropped: the headers are matched, the
// preview says what is new and what is refused, and only then it is kept. A route is
// revised in a table.
func TestListsByHand(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true}).as(traveler.RoleAdministrator)
	file := filepath.Join(t.TempDir(), "our reasons.csv")
	if err := os.WriteFile(file, []byte("Sort;Kürzel;Text\nstop;chuck;Chuck worn\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	b := browse(t, r).open("/lists?kind=reasons").waitFor("file")
	b.do(chromedp.SetUploadFiles(control("file"), []string{file}))
	b.waitFor("unknown").waitFor("refused").match("Sort", "kind").match("Kürzel", "reason")
	b.untilSays("counts", "1 new").until(
		`document.querySelector('[data-test="line"]').dataset.what === 'new'`)
	b.click("take").until(`document.querySelector('[data-test="preview"]').dataset.taken === 'true'`)

	b.open("/lists?kind=routes&part=1001-04&route_rev=1").waitFor("copy-as-rev")
	b.until(`document.querySelectorAll('[data-test="sheet-row"]').length === 3`)
	b.typed("copy-as-rev", "2").click("copy").until(
		`document.querySelector('[data-test="cell-0-route_rev"]').value === '2'`)
	b.click("check").untilSays("counts", "1 new").click("take")
	b.until(`document.querySelector('[data-test="preview"]').dataset.taken === 'true'`)
	var shop struct {
		Parts []struct {
			Part string
			Rev  string `json:"route_rev"`
		}
	}
	r.do("GET", "/api/v1/shop", nil, &shop)
	for _, p := range shop.Parts {
		if p.Part == "1001-04" && p.Rev == "2" {
			return
		}
	}
	t.Errorf("the new revision is not there: %+v", shop.Parts)
}

// match says what column a header stands for.
func (b *tab) match(head, column string) *tab {
	b.t.Helper()
	b.until(`(() => { const s = document.querySelector('[data-test="match-` + head +
		`"]'); if (!s) return false;
		s.value = '` + column + `'; s.dispatchEvent(new Event('change', {bubbles: true})); return true })()`)
	return b.until(`!document.querySelector('[data-test="match-` + head + `"]')`)
}
