package main

import (
	"context"
	"fmt"
	"math"
	"strings"
	"tallywalk/cmd/tallywalk/demo"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// shows waits until the main part of a page says a text.
func (b *tab) shows(text string) *tab {
	b.t.Helper()
	return b.until(fmt.Sprintf(
		`document.querySelector('main').textContent.replaceAll('\u00a0', ' ').includes(%q)`, text))
}

// In a shop in which nothing has happened yet, each page of figures says so, in
// words, and none is wider than its screen.
func TestFiguresOfAnEmptyShop(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	b := browse(t, r)
	for _, p := range []struct{ path, ready string }{
		{"/history", "no-history"}, {"/losses", "no-losses"}, {"/machines", "no-hours"},
		{"/fits", "all-fit"}, {"/trace", "trace-empty"}, {"/trace?q=nothing", "trace-none"},
		{"/losses?part=1001-04&from=2020-01-01&to=2020-02-01", "no-losses"},
	} {
		for _, w := range []int64{390, 1280} {
			b.do(chromedp.EmulateViewport(w, 900))
			b.open(p.path).waitFor(p.ready)
			b.settled()
			b.fits(p.path, w)
			b.shoot("empty"+strings.NewReplacer("/", "-", "?", "-", "=", "-", "&", "-").Replace(p.path),
				"light", w, 900)
		}
	}
	b.open("/").waitFor("way-losses").click("way-losses").until(`location.pathname === '/losses'`).click(
		"nav-trace").until(`location.pathname === '/trace'`)
	b.typed("trace-q", "H71").click("trace-go").until(`location.search === '?q=H71'`)
	b.until(`document.querySelectorAll('[data-test="family"]').length === 2`).until(
		`[...document.querySelectorAll('[data-test="lots"], .lot')].some((e) => e.textContent === 'H73')`)
}

// lossyShop has one batch of the guide pin that lost three pieces: two at turning
// (1.1 min a piece), one found at the measuring (0.3 min) that turning caused; it
// stood over a night. The shop is open from 06:00 to 22:00 in Berlin, an hour
// before the clock of these times.
func lossyShop(t *testing.T) (*rig, string) {
	h := newHandClock(mondaySix)
	r := newRig(t, rigOptions{open: true, runFrom: h.now})
	r.cli("import", "calendars", "../../testdata/example/calendars.csv")
	card := r.release("1002-11", 20, "W-700")
	at := func(hour float64) time.Time { return mondaySix.Add(time.Duration(hour * float64(time.Hour))) }
	r.at(h, at(1), said{"station": "T1", "card": card, "action": "setup"})
	r.at(h, at(2), said{"station": "T1", "card": card, "action": "run"})
	r.at(h, at(12), said{"station": "T1", "card": card, "action": "stop", "reason": "tool"}) // 19:00 in Berlin
	r.at(h, at(25), said{"station": "T1", "card": card, "action": "run"})                    // 08:00 the next day
	r.at(h, at(26), said{"station": "T1", "card": card, "action": "finish", "good": 18,
		"scrap": []map[string]any{{"reason": "size", "n": 2}}})
	r.at(h, at(27), said{"station": "Q1", "card": card, "action": "run"})
	r.at(h, at(28), said{"station": "Q1", "card": card, "action": "finish", "good": 17,
		"scrap": []map[string]any{{"reason": "position", "n": 1, "caused_at": 10}}})
	h.set(at(30))
	return r, card
}

// Down from a loss to the batch behind it. By hand: turning caused 3 pieces, and
// found 2 with 2 x 1.1 = 2.2 min of work in them; the piece found at measuring
// had 1.1 + 0.3 = 1.4 min. Without rates nothing is said to cost anything.
func TestLossesDownToTheBatch(t *testing.T) {
	t.Parallel()
	r, card := lossyShop(t)
	b := browse(t, r).open("/losses?by=caused&measure=pieces")
	bar := func(key string) string {
		return fmt.Sprintf(`document.querySelector('[data-test="bar"][data-key=%q]')`, key)
	}
	b.until(bar("1002-11/1/10") +
		`.querySelector('[data-test="bar-amount"]').textContent === '3 pieces'`).waitFor("no-cost").until(
		`!document.querySelector('[data-test="total-cost"]')`)
	b.until(`document.querySelectorAll('[data-test="bar"]').length === 1`)
	b.put(string(control("losses-by")), "found").until(
		bar("1002-11/1/20") + `.querySelector('[data-test="bar-share"]').textContent === '100 %'`)
	b.until(bar("1002-11/1/10") + `.querySelector('[data-test="bar-share"]').textContent === '67 %'`)
	b.do(chromedp.Evaluate[chromedp.Void](
		bar("1002-11/1/20") + `.querySelector('[data-test="bar-batches"]').click()`))
	b.until(fmt.Sprintf(
		`document.querySelector('[data-test="behind-row"]')?.dataset.card === %q && location.search.includes('key=')`, card))
	b.until(`document.querySelector('[data-test="behind-row"]').textContent.includes('1 piece')`)
	b.do(chromedp.Evaluate[chromedp.Void](
		bar("1002-11/1/10") + `.querySelector('[data-test="bar-open"]').click()`))
	b.until(`new URLSearchParams(location.search).get('operation') === '10' && new URLSearchParams(location.search).get('by') === 'reason'`)
	b.until(bar("size")).until(
		bar("position") + `.textContent.includes('Moved in the chuck or vice')`).waitFor("no-chart")
	var l struct {
		Bars []struct {
			Key     string
			Minutes float64
			Cost    *float64
		}
	}
	r.do("GET", "/api/v1/losses?by=reason", nil, &l)
	for _, x := range l.Bars {
		if want := map[string]float64{"size": 2.2, "position": 1.4}[x.Key]; math.Abs(x.Minutes-want) > 1e-9 ||
			x.Cost != nil {
			t.Errorf("%+v, want %v min", x, want)
		}
	}
	b.do(chromedp.Evaluate[chromedp.Void](`history.back()`))
	b.until(`document.querySelector('[data-test="losses-by"]').value === 'found'`)
}

// A choice whose figures take long leaves those of the choice before dimmed, says so,
// and can be left and taken up again. What is printed names the choice, and has
// the bars of its chart.
func TestFiguresOfTheChoiceBefore(t *testing.T) {
	t.Parallel()
	r, _ := lossyShop(t)
	b := browse(t, r).open("/history?from=2020-01-01").waitFor("figures").until(
		`!document.querySelector('.outdated')`)
	b.do(chromedp.Evaluate[chromedp.Void](`(() => {
		window.own = window.fetch;
		window.fetch = (path, o) => String(path).includes('/history?') ?
			new Promise((_, no) => o.signal.addEventListener('abort', () => no(o.signal.reason))) : window.own(path, o);
	})()`))
	b.put(string(control("filter-customer")), "Nobody").waitFor("working").until(
		`document.querySelector('#main.outdated [data-test="figures"]')`)
	b.press("working-leave").waitFor("working-again").until(`document.querySelector('#main.outdated')`)
	b.do(chromedp.Evaluate[chromedp.Void](`(() => { window.fetch = window.own; })()`))
	b.press("working-again").waitFor("no-history").until(
		`!document.querySelector('.outdated') && !document.querySelector('[data-test="working"]')`)
	b.do(printed)
	b.untilSays("filters-printed", "Customer: Nobody").untilSays("filters-printed", "From: 2020-01-01")
	b.until(`getComputedStyle(document.querySelector('[data-test="filters-printed"]')).display === 'block'`)
	b.until(`getComputedStyle(document.querySelector('header.bar')).display === 'none'`)
	b.do(chromedp.Evaluate[chromedp.Void](
		`document.body.insertAdjacentHTML('beforeend', '<svg class="chart"><rect class="bar" id="probe"/></svg>')`))
	b.until(`getComputedStyle(document.querySelector('#probe')).display !== 'none'`)
}

// printed makes the browser show a page as paper will.
func printed(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
	_, err := cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
	return chromedp.Void{}, err
}

// A stop counts while its machine was open: from 19:00 to 22:00 and from 06:00 to
// 08:00 are 5 h of the 13 h that it stood. It ran from 09:00 to 19:00 without two
// breaks of half an hour, and an hour in the morning.
func TestStopsCountWhileOpen(t *testing.T) {
	t.Parallel()
	r, card := lossyShop(t)
	var m struct {
		Machines []struct {
			Machine string
			Stop    float64 `json:"stop_s"`
			Run     float64 `json:"run_s"`
		}
	}
	r.do("GET", "/api/v1/machine-hours", nil, &m)
	for _, x := range m.Machines {
		if x.Machine == "T1" && (x.Stop != 5*3600 || x.Run != 10*3600) {
			t.Errorf("%+v", x)
		}
	}
	b := browse(t, r).open("/machines")
	b.until(`[...document.querySelectorAll('[data-test="filter-period"] option')].map((o) => o.value).join() ===
		'30,91,365,own'`) // the server looks over 800 days at most
	row := `document.querySelector('[data-test="machine"][data-machine="T1"]')`
	b.until(row + `.textContent.replaceAll('\u00a0', ' ').includes('10 h')`).until(
		row + `.querySelector('[data-test="hours-part"][data-kind="stop"]')`)
	b.do(chromedp.Evaluate[chromedp.Void](row + `.querySelector('[data-test="machine-open"]').click()`))
	b.until(fmt.Sprintf(
		`location.search === '?machine=T1' && document.querySelector('[data-test="machine-visit"] [data-card=%q]')`, card))
	b.open("/losses?kind=stop&measure=minutes&machine=T2").waitFor("no-losses").open(
		"/losses?kind=stop&measure=minutes&machine=T1").untilSays("bar-amount", "5 h").shows("Tool worn")
	b.open("/trace?q=w-700").until(
		`document.querySelector('[data-test="sum-scrap"]').textContent.includes('3')`).until(
		`document.querySelectorAll('[data-test="trace-op"]').length === 2`)
}

// What the figures of a history with everything in it come to: the planner takes
// a wrong plan over into a new revision, looks up a date, and follows a delivery
// back to its material.
func TestPlannerOverTheFigures(t *testing.T) {
	t.Parallel()
	r := demoRig(t, "--weeks", "20", "--pace", "1")
	b := browse(t, r)

	b.open("/fits?part=" + demo.PartWrongPlan).until(
		fmt.Sprintf(`document.querySelector('[data-test="fit"][data-operation="%d"][data-what="piece"][data-off="1"]')`, demo.OpWrongPlan))
	take := fmt.Sprintf(
		`document.querySelector('[data-test="take"][data-operation="%d"][data-what="piece"]')`,
		demo.OpWrongPlan)
	b.until(take + ` && document.querySelector('[data-test="take-go"]').disabled`)
	b.do(chromedp.Evaluate[chromedp.Void](take + `.querySelector('[data-test="take-on"]').click()`))
	b.until(`!document.querySelector('[data-test="take-go"]').disabled`)
	b.put(string(control("take-rev")), "9").click("take-go").waitFor("take-done")
	old, made := r.cycle(demo.PartWrongPlan, "1", int(demo.OpWrongPlan)),
		r.cycle(demo.PartWrongPlan, "9", int(demo.OpWrongPlan))
	if math.Abs(made/old-demo.TrueCycleWrong) > 0.04 {
		t.Errorf("the plan was %v min, the new one %v; the shop works at %v of it", old, made,
			demo.TrueCycleWrong)
	}

	b.open("/history?part=3320-07").until(`document.querySelectorAll('[data-test="point"]').length > 5`)
	b.do(chromedp.Evaluate[chromedp.Void](
		`document.querySelector('[data-test="past-row"] [data-test="batch-link"]').click()`))
	b.until(`location.pathname.startsWith('/batch/')`)
	b.open("/trace?q=Harbour+plant").until(
		`document.querySelector('[data-test="deliveries"] [data-test="delivery"] a')`)
	b.do(chromedp.Evaluate[chromedp.Void](`document.querySelector('[data-test="delivery"] a').click()`))
	b.until(`location.search.includes('delivery') && document.querySelectorAll('[data-test="family"]').length === 1 && document.querySelector('.lot') && document.querySelector('[data-test="trace-op"]')`)
	figuresFit(b)
	poolsAreShown(b)
}

// cycle is the planned minutes of a cycle.
func (r *rig) cycle(part, rev string, op int) float64 {
	r.t.Helper()
	var s struct {
		Parts []struct {
			Part       string
			Rev        string `json:"route_rev"`
			Operations []struct {
				Operation int
				Cycle     float64 `json:"cycle_min"`
			}
		}
	}
	r.do("GET", "/api/v1/shop", nil, &s)
	for _, p := range s.Parts {
		for _, o := range p.Operations {
			if p.Part == part && p.Rev == rev && o.Operation == op {
				return o.Cycle
			}
		}
	}
	r.t.Errorf("no operation %d in route %s of %s", op, rev, part)
	return math.NaN()
}

// figuresFit looks at the pages of figures in the sizes they are made for.
func figuresFit(b *tab) {
	b.t.Helper()
	for i, w := range []int64{390, 800, 1280, 1920} {
		b.do(chromedp.EmulateViewport(w, 900), scheme([]string{"light", "dark"}[i%2]))
		for _, p := range []struct{ path, ready string }{
			{"/history", "past-row"}, {"/losses?by=found", "control"}, {"/losses?part=4480-15", "change"},
			{"/losses?kind=stop&by=machine&measure=events", "bar"},
			{"/machines?machine=F5", "machine-visit"}, {"/fits", "fit"},
			{"/trace?q=North+works&operations=1", "trace-op"},
		} {
			b.open(p.path).until(fmt.Sprintf(`document.querySelector('[data-test=%q]')`, p.ready))
			b.until(`(() => { for (const d of document.querySelectorAll('main details')) d.open = true; return true; })()`)
			b.fits(p.path, w)
		}
	}
}
