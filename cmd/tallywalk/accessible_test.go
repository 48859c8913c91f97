package main

import (
	"encoding/json"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// axeScript is axe-core as .tools/package-lock.json pins it, the outside reader of
// the pages' accessibility (WCAG 2.2, with contrast at level AAA and the size of
// targets, which it leaves out unless asked).
const axeScript = "../../.tools/node_modules/axe-core/axe.min.js"

// axeRun gives one line for each element that breaks a rule.
const axeRun = `axe.run(document, {
  resultTypes: ["violations"],
  rules: { "color-contrast-enhanced": { enabled: true }, "target-size": { enabled: true } },
}).then((r) => JSON.stringify(r.violations.flatMap((v) => v.nodes.slice(0, 5).map((n) =>
  v.id + ": " + n.target.join(" ") + ": " + (n.any[0] || n.all[0] || n.none[0] || v).message + ": " + n.html.slice(0, 160)))))`

// accessible fails the test for each finding of axe-core on the page as it is.
func (b *tab) accessible(name string) {
	b.t.Helper()
	axe, err := os.ReadFile(axeScript)
	if err != nil {
		b.t.Fatalf("%v (go run ./cmd/check page installs it)", err)
	}
	b.do(chromedp.Evaluate[chromedp.Void](string(axe) + "\n;0"))
	raw, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](axeRun, chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatalf("%s: %v", name, err)
	}
	var found []string
	if err := json.Unmarshal([]byte(raw), &found); err != nil {
		b.t.Fatal(err)
	}
	for _, f := range found {
		b.t.Errorf("%s: %s", name, f)
	}
}

// look is a page, and what it shows once it is there.
type look struct{ path, ready string }

// allPages are the pages of a shop with a past; machine and card are at work in it.
func allPages(card, part string) []look {
	return []look{
		{"/", "[data-test=sheet-actions]"},
		{"/morning", "[data-test=morning-line]"},
		{"/waits", "[data-test=wait-row]"},
		{"/waits?wall=1&m=5&in=55", "[data-test=wall-centre]"},
		{"/waits?wall=1&m=8&in=55", "[data-test=wall-rows]"},
		{"/ground", "[data-test=place]"},
		{"/ground?wall=1&m=5&in=55", "[data-test=wall-total]"},
		{"/ground/plan", "main svg"},
		{"/pace", "[data-test=pace-op]"},
		{"/pace?wall=1&m=5&in=55", "[data-test=wall-rows]"},
		{"/calendars", "[data-test=weeks]"},
		{"/history", "[data-test=figures]"},
		{"/week", "[data-test=week-cause]"},
		{"/losses", "[data-test=pareto]"},
		{"/machines", "[data-test=hours]"},
		{"/fits", "[data-test=fits-summary]"},
		{"/ahead", "[data-test=load-section], [data-test=no-dates]"},
		{"/promise", "[data-test=enquiry], [data-test=no-dates]"},
		{"/what-if", "[data-test=ask], [data-test=no-dates]"},
		{"/next", "[data-test=machine-line]"},
		{"/trace", "[data-test=trace-go]"},
		{"/compare?part=" + part, "[data-test=answer]"},
		{"/compare/change?part=" + part, "main form, main select"},
		{"/compare/machine?part=" + part, "[data-test=case]"},
		{"/sites", "[data-test=not-here]"},
		{"/check", "[data-test=check-summary]"},
		{"/batches", "[data-test=batch-row]"},
		{"/batch/" + card, "[data-test=operation-row]"},
		{"/questions", "[data-test=questions-open]"},
		{"/lists", "[data-test=sheet]"},
		{"/health", `[data-test="health-numbers"]`},
		{"/keeping", "main .summary, main .empty"},
		{"/typed?card=" + card, "[data-test=typed-row]"},
		{"/printers", "[data-test=printer-go]"},
		{"/stations", "main table, main form"},
		{"/accounts", "main table, main form"},
		{"/sign-in", "main form"},
		{"/enrol", "main form, main button"},
		{"/station?card=" + card, "[data-test=batch]"},
		{"/nothing-here", "main"},
	}
}

// TestAccessible holds every page of the demo to axe-core, by turns light at a desk
// and dark on a phone; with TALLYWALK_LONG each page both ways.
func TestAccessible(t *testing.T) {
	t.Parallel()
	r := demoRig(t, "--weeks", "12")
	b := browse(t, r)
	machine, card := r.atWork()
	b.open("/station").waitFor("choose")
	b.accessible("station, machine to choose")
	b.click("pick-" + machine).click("choose-ok").waitFor("here")
	long := os.Getenv("TALLYWALK_LONG") != ""
	for i, p := range allPages(card, "2140-06") {
		b.open(p.path).until(fmt.Sprintf(`document.querySelector(%q)`, p.ready))
		wall := strings.Contains(p.path, "wall=1")
		if long || wall || i%2 == 0 {
			b.seen(p.path+", light", "light", 1280, 800)
		}
		if !wall && (long || i%2 == 1) {
			b.seen(p.path+", phone, dark", "dark", 390, 844)
		}
	}
}

// seen looks at the page as it is in one size and theme.
func (b *tab) seen(name, theme string, w, h int64) {
	b.t.Helper()
	b.do(chromedp.EmulateViewport(w, h), scheme(theme))
	b.settled()
	b.fits(name, w)
	b.accessible(name)
}

// TestAccessibleWhenEmpty does so in a shop in which nothing has happened yet.
func TestAccessibleWhenEmpty(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true, noShop: true})
	b := browse(t, r)
	for _, path := range []string{"/", "/morning", "/waits", "/ground", "/ground/plan", "/pace", "/calendars",
		"/history", "/week", "/losses", "/machines", "/ahead", "/promise", "/what-if", "/next", "/fits",
		"/trace", "/compare", "/compare/change", "/compare/machine", "/sites", "/check", "/batches",
		"/questions", "/lists", "/health", "/keeping", "/stations", "/accounts", "/typed", "/printers",
		"/station"} {
		b.open(path).until(`document.querySelector("main")?.innerText.length > 10`)
		b.seen(path+", empty", "light", 1280, 800)
	}
	b.open("/calendars").waitFor("no-machines")
}
