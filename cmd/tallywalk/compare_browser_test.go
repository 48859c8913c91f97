package main

import (
	"fmt"
	"testing"

	"github.com/chromedp/chromedp"
)

// set gives a field of a test name a value and leaves it.
func (b *tab) set(name, value string) *tab {
	b.t.Helper()
	return b.put(fmt.Sprintf(`[data-test=%q]`, name), value)
}

// press clicks by the page's own way, wherever the control stands.
func (b *tab) press(name string) *tab {
	b.t.Helper()
	sel := fmt.Sprintf(`document.querySelector('[data-test=%q]:not([disabled])')`, name)
	b.until(sel)
	b.do(chromedp.Evaluate[chromedp.Void](sel + `.click()`))
	return b
}

// sentOn loads the page at its own address again, as someone does to whom it was
// sent.
func (b *tab) sentOn() *tab {
	b.t.Helper()
	b.do(chromedp.Evaluate[chromedp.Void](`localStorage.clear()`), chromedp.Reload())
	return b
}

// The question that a production lead asks, all the way: two routes, what they
// come to and why, a value that is known better, operations combined, a page to
// hand over, and the proposal as a revision on which a batch is released.
func TestCompareToRevision(t *testing.T) {
	t.Parallel()
	r := demoRig(t, "--weeks", "26")
	b := browse(t, r).open("/compare?part=2140-06")
	b.waitFor("answers")
	b.until(`document.querySelector('[data-test="says-cost"]').dataset.verdict === 'better'`).untilSays(
		"says-cost", "Route 4 costs")
	b.untilSays("warning", "No cost of labour was given")
	b.press("costs").set("currency", "chf").set("labour_per_h", "48").set("per_piece", "6.5").set("size",
		"60")
	b.untilSays("says-cost", "CHF less for a good piece than route 3").untilSays("figures", "CHF")
	b.until(`!document.querySelector('[data-test="warning"]')`)
	b.until(`document.querySelectorAll('[data-test="curve"] polyline').length === 2`).press(
		"curve-minutes").untilSays("curve-section", "Machine minutes of a good piece over")
	b.until(`[...document.querySelectorAll('[data-test="centre"]')].some((e) => e.dataset.centre === 'MILLTURN' && e.textContent.includes('takes'))`)
	b.untilSays("clamping", "association").untilSays("notes", "Freed hours are money only where")
	b.until(`document.querySelector('[data-test="to-ground"]').getAttribute('href').includes('over=4')`)

	// A set-up that someone knows better; it can be taken back, and is sent on.
	shown := `document.querySelector('[data-test="value-1-10-setup"]')`
	b.until(shown)
	b.do(chromedp.Evaluate[chromedp.Void](
		`document.querySelectorAll('[data-test="steps-of"]').forEach((e) => { e.open = true; })`))
	b.press("value-1-10-setup").waitFor("value-edit").set("edit-low", "200").set("edit-likely", "300").set(
		"edit-high", "250").press("edit-ok").untilSays("value-edit", "must go up")
	b.set("edit-high", "420").press("edit-ok")
	edited := shown + `?.textContent.includes('300') && ` + shown +
		`.parentElement.querySelector('[data-source="assumed"]')`
	b.until(edited)
	b.sentOn().until(edited).untilSays("says-cost", "CHF")
	b.press("back-1-10-setup").until(shown + `.parentElement.querySelector('[data-source="measured"]')`)

	b.press("to-combine").waitFor("combine").press("combine-go").untilSays("combine-problem", "work centre")
	b.set("combine-centre", "MILLTURN").press("second-40").set("combine-setup-likely", "150").set(
		"combine-one-off", "4800").set("combine-name", "All in one").press("combine-go")
	b.until(`document.querySelectorAll('[data-test="answer"]').length === 2`).untilSays("answer",
		"“All in one” would")
	b.until(`document.querySelector('[data-test="row-one_off"]').textContent.includes('4,800')`)

	b.press("pdf").untilSays("note", "Saved routes-of-2140-06.pdf").press("xlsx").untilSays("note",
		"Saved routes-of-2140-06.xlsx")
	b.set("release-rev", "4").press("release-route").untilSays("release-problem",
		"has a route revision 4 already")
	b.set("release-rev", "5").press("release-route").untilSays("route-released", "Route 5 of part 2140-06")
	var batch struct{ Card string }
	if status := r.do("POST", "/api/v1/batches",
		map[string]any{"id": newID(), "part": "2140-06", "route_rev": "5", "pieces": 10},
		&batch); status != 201 {
		t.Errorf("a batch on the new revision: %d", status)
	}
	b.fitsAll("compare", r.base+"/compare?part=2140-06", "answers")
	compareChange(b)
	compareMachine(b)
}

// fitsAll holds a page against the widths it is read at.
func (b *tab) fitsAll(name, address, ready string) {
	b.t.Helper()
	for _, s := range [][2]int64{{390, 844}, {800, 1280}, {1920, 1080}, {1280, 800}} {
		b.do(chromedp.EmulateViewport(s[0], s[1]), chromedp.Navigate(address))
		b.waitFor(ready).settled()
		b.fits(name, s[0])
	}
}

// compareChange looks whether the change did what it should.
func compareChange(b *tab) {
	b.open("/compare/change?part=2140-06&before=3&after=4").waitFor("change-answer")
	what := func(k string) string {
		return fmt.Sprintf(`document.querySelector('[data-test="changed"][data-what=%q]')`, k)
	}
	b.until(what("minutes") + `.dataset.verdict === 'better'`).until(
		what("minutes") + `.querySelectorAll('[data-test="dot"]').length > 10`)
	b.until(what("lead") + `.querySelector('[data-test="dot"]').getAttribute('href').startsWith('/batch/B')`)
	b.untilSays("looks", "look").set("smallest", "25").until(`location.search.includes('smallest=25')`)
	// Turned round, the same batches are worse; with no batch, nothing is said.
	b.open("/compare/change?part=2140-06&before=4&after=3").until(
		what("minutes") + `?.dataset.verdict === 'worse'`)
	b.open("/compare/change?part=2140-06&before=3&after=5").until(
		what("minutes") + `?.dataset.verdict === 'either'`)
	b.fitsAll("change", b.r.base+"/compare/change", "change-answer")
}

// compareMachine asks what a machine would come to.
func compareMachine(b *tab) {
	b.open("/compare/machine").waitFor("case-results")
	b.until(`document.querySelector('[data-test="work_centre"]').value === 'MILLTURN'`).untilSays("case-says",
		"count for nothing")
	// An old route as the one then: nothing of it works at that machine.
	b.set("now-0", "3").set("then-0", "3").waitFor("not-used").set("then-0", "4").until(
		`!document.querySelector('[data-test="not-used"]')`)
	b.set("price", "420000").set("per_piece", "8").set("replaced", "50").set("hour", "90").untilSays(
		"case-says", "would be back in")
	b.set("demand-0", "60000").untilSays("too-full", "never clears").untilSays("case-queue", "never clears")
	b.set("demand-0", "1800").set("then-0", "combined").set("combine-setup-likely", "140").until(
		`decodeURIComponent(location.search).includes('"likely":140')`)
	b.sentOn().waitFor("case-results").until(
		`document.querySelector('[data-test="then-0"]').value === 'combined'`).untilSays("case-says",
		"MILLTURN would take")
	// Until someone enters a load, it is that of the last quarter without the parts of the case.
	quarter := `Math.round(1000 * document.querySelector('[data-test="case-quarter"]').dataset.others) / 10`
	busy := `Number(document.querySelector('[data-test="busy"]').value) === `
	b.until(busy+quarter).set("busy", "35").untilSays("case-busy", "35").until(busy + "35").press(
		"busy-fill").until(busy + quarter)
	b.press("member-add").until(`document.querySelectorAll('[data-test="member"]').length === 2`)
	b.fitsAll("machine", b.r.base+"/compare/machine", "case-results")
}
