package main

import (
	"context"
	"fmt"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/fetch"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"tallywalk/traveler"
)

// tab is one page of a real browser (Debian's chromium).
type tab struct {
	t   testing.TB
	ctx context.Context
	r   *rig
}

const pageTime = 5 * time.Minute // before a page counts as stuck, on however busy a machine

// chromium is the browser of all tests, started by the first that needs it.
var chromium struct {
	start sync.Once
	ctx   context.Context
	err   error
	end   func()
}

// browserOptions are those of every browser of the tests, and more. The one without a window is
// taken where there is one: the other draws its own bars and menus, which nobody sees.
func browserOptions(more ...chromedp.ExecAllocatorOption) []chromedp.ExecAllocatorOption {
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.Flag("disable-quic", true),
		chromedp.Flag("disable-component-update", true), chromedp.DisableGPU)
	// Debian's command is a script that waits for the program, so killing it would leave the program.
	for _, name := range []string{"/usr/lib/chromium/chromium-headless-shell", "chromium-headless-shell"} {
		if path, err := exec.LookPath(name); err == nil {
			opts = append(opts, chromedp.ExecPath(path))
			break
		}
	}
	return append(opts, more...)
}

func startChromium() {
	alloc, endAlloc := chromedp.NewExecAllocator(context.Background(), browserOptions()...)
	ctx, end := chromedp.NewContext(alloc)
	chromium.ctx, chromium.end = ctx, func() { end(); endAlloc() }
	chromium.err = chromedp.Do(ctx)
}

// endChromium ends the browser after the last test.
func endChromium() {
	if chromium.end != nil {
		chromium.end()
	}
}

// browse gives a tab with cookies and storage of its own. Anything a page throws
// fails the test.
func browse(t testing.TB, r *rig) *tab {
	t.Helper()
	chromium.start.Do(startChromium)
	if chromium.err != nil {
		t.Fatalf("no browser: %v (go run ./cmd/check --install gets it)", chromium.err)
	}
	ctx, end := chromedp.NewContext(chromium.ctx, chromedp.WithNewBrowserContext())
	t.Cleanup(end)
	return (&tab{t: t, ctx: ctx, r: r}).opened()
}

// another opens a second tab of the same browser.
func (b *tab) another() *tab {
	ctx, end := chromedp.NewContext(b.ctx)
	b.t.Cleanup(end)
	return (&tab{t: b.t, ctx: ctx, r: b.r}).opened()
}

func (b *tab) opened() *tab {
	b.t.Helper()
	if err := chromedp.Do(b.ctx); err != nil {
		b.t.Fatalf("no tab: %v", err)
	}
	thrown := chromedp.Events(b.ctx, runtime.ExceptionThrown)
	go func() {
		for e, err := range thrown {
			if err != nil {
				return
			}
			b.t.Errorf("a page threw: %s", exceptionText(e.ExceptionDetails))
		}
	}()
	b.do(chromedp.EmulateViewport(1280, 800))
	return b
}

func exceptionText(d *runtime.ExceptionDetails) string {
	if d == nil {
		return "something"
	}
	if d.Exception != nil && d.Exception.Description != "" {
		return d.Exception.Description
	}
	return d.Text
}

func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, pageTime)
	defer cancel()
	if err := chromedp.Do(ctx, steps...); err != nil {
		b.t.Fatalf("%v; the page says:\n%s", err, b.says())
	}
}

func (b *tab) says() string {
	ctx, cancel := context.WithTimeout(b.ctx, 5*time.Second)
	defer cancel()
	s, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.body.innerText.slice(0, 1500)`))
	if err != nil {
		return err.Error()
	}
	return s
}

func (b *tab) open(path string) *tab {
	b.t.Helper()
	b.do(chromedp.Navigate(b.r.base + path))
	return b
}

// control is the selector of a control by its test name.
func control(name string) chromedp.CSS {
	return chromedp.CSS(fmt.Sprintf(`[data-test=%q]`, name))
}

// click presses a control, as someone does who has seen it: a station takes no
// press on what has only just appeared.
func (b *tab) click(name string) *tab {
	b.t.Helper()
	b.do(chromedp.WaitVisible(control(name)))
	b.until(`!document.documentElement.hasAttribute('data-guard')`)
	b.do(chromedp.Click(control(name)))
	return b
}

func (b *tab) waitFor(name string) *tab {
	b.t.Helper()
	b.do(chromedp.WaitVisible(control(name)))
	return b
}

// until waits until an expression is true in the page, whatever page that is
// by then.
func (b *tab) until(js string) *tab {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, pageTime)
	defer cancel()
	look := time.NewTicker(30 * time.Millisecond)
	defer look.Stop()
	for {
		ok, err := chromedp.Run(ctx, chromedp.Evaluate[bool](`Boolean(`+js+`)`))
		if err == nil && ok {
			return b
		}
		select {
		case <-ctx.Done():
			b.t.Fatalf("never true: %s: %v; the page says:\n%s", js, err, b.says())
		case <-look.C:
		}
	}
}

// untilSays waits until a control shows a text.
func (b *tab) untilSays(name, text string) *tab {
	b.t.Helper()
	return b.until(fmt.Sprintf(
		`[...document.querySelectorAll('[data-test=%q]')].some((e) => e.textContent.includes(%q))`, name,
		text))
}

func (b *tab) typed(name, text string) *tab {
	b.t.Helper()
	b.do(chromedp.WaitVisible(control(name)), chromedp.SendKeys(control(name), text))
	return b
}

// scanner types as a scanner does: fast, wherever the focus is, Enter at the end. The
// keys are made in the page, one right after the other: sent one by one they would come
// as slowly as the machine is busy, and no scanner does. What slow ones do is tested
// with slowly, whose keys are the browser's own.
func (b *tab) scanner(text string) *tab {
	b.t.Helper()
	b.do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`for (const key of [...%q, "Enter"])
		(document.activeElement || document.body).dispatchEvent(new KeyboardEvent("keydown", {key, bubbles: true, cancelable: true}))`, text)))
	return b
}

// A scan typed at the station shows on the waits board in a second page; what
// was done wrong is refused with the numbers, and taken back.
func TestStationToBoard(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	card := r.card("W-502")
	station := browse(t, r)
	board := station.another().open("/waits")
	board.until(fmt.Sprintf(`document.querySelector('[data-test="wait-row"][data-card=%q]')`, card))

	station.open("/station").waitFor("choose").click("pick-T1").click("choose-ok").waitFor("here")
	station.scanner(strings.ToUpper(r.base) + "/S/" + card)
	station.until(fmt.Sprintf(`document.querySelector('[data-test="batch"]')?.dataset.card === %q`, card))
	station.until(`document.querySelector('[data-test="likely"]')?.dataset.action === 'setup'`).click(
		"likely")
	board.until(fmt.Sprintf(
		`document.querySelector('[data-test="work-row"][data-card=%q]')?.dataset.state === 'setting'`, card))

	station.until(`document.querySelector('[data-test="likely"]')?.dataset.action === 'run'`).click("likely")
	board.until(fmt.Sprintf(
		`document.querySelector('[data-test="work-row"][data-card=%q]')?.dataset.state === 'running'`, card))

	station.until(`document.querySelector('[data-test="likely"]')?.dataset.action === 'count'`).click(
		"likely")
	station.waitFor("counts").click("digit-3").click("digit-0").click("counts-ok")
	board.untilSays("work-good", "30")
	station.waitFor("undo-bar").click("undo")
	board.until(`[...document.querySelectorAll('[data-test="work-good"]')].some((e) => e.textContent.trim().startsWith('0 of'))`)
	if a := r.now(card); a.Good != 0 || a.State != "running" {
		t.Errorf("after the undo: %+v", a)
	}
}

// now is a batch as it stands.
func (r *rig) now(card string) (b struct {
	State string
	Good  int
	Scrap int
}) {
	r.t.Helper()
	if status := r.do("GET", "/api/v1/batches/"+card, nil, &b); status != 200 {
		r.t.Fatalf("batch %s: %d", card, status)
	}
	return b
}

// A refusal says what the numbers are, and can be said anyway in one tap; a
// question is settled in one tap on the questions page.
func TestRefusalAnywayAndQuestion(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	card := r.card("W-502")
	r.scan(said{"station": "T1", "card": card, "action": "run"},
		said{"station": "T1", "card": card, "action": "finish", "good": 40, "missing": 80})
	r.scan(said{"station": "Q1", "card": card, "action": "run"})
	b := browse(t, r)
	b.open("/station").waitFor("choose").click("pick-Q1").click("choose-ok").waitFor("here")
	b.scanner(card).until(`document.querySelector('[data-test="likely"]')?.dataset.action === 'count'`).click(
		"likely")
	b.waitFor("counts").click("digit-4").click("digit-4").click("counts-ok")
	b.untilSays("told-text", "Operation 20 has 40 pieces from operation 10; 44 were counted.").click(
		"anyway-told")
	b.until(`document.querySelector('[data-test="told"]')?.dataset.kind === 'ask'`).untilSays("told-text",
		"The supervisor has been told").click("told-ok")
	b.until(`document.querySelector('[data-test="n-good"]')?.textContent.includes('44')`)
	b.open("/questions").waitFor("group")
	b.until(`document.querySelector('[data-test="questions-open"]').textContent.includes('1')`)
	b.until(`[...document.querySelectorAll('[data-test="group"] button')].length >= 3`)
	b.do(chromedp.Evaluate[chromedp.Void](
		`[...document.querySelectorAll('[data-test="group"] button')].find((e) => e.textContent.includes('Earlier')).click()`))
	b.until(`document.querySelector('[data-test="settled-list"]')`)
	var q struct{ Open []any }
	r.do("GET", "/api/v1/questions", nil, &q)
	if len(q.Open) != 0 {
		t.Errorf("%+v", q)
	}
}

// The first day by hand: the one-time link, a station's code, names with
// scripts in them shown as they are.
func TestFirstDayByHand(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{})
	_, link, _ := strings.Cut(r.out.String(), "/first?code=")
	code, _, _ := strings.Cut(link, "\n")
	b := browse(t, r)
	b.open("/first?code=" + code).waitFor("first-name")
	b.typed("first-name", "Ada").typed("first-password", "long enough for this").click("first-go")
	b.until(`location.pathname !== '/first'`)
	b.open("/batches").waitFor("batch-row")
	nasty := `<img src=x onerror=alert(1)>`
	rr := r.as(traveler.RoleSupervisor)
	if status := rr.do("POST", "/api/v1/batches",
		map[string]any{"id": newID(), "part": "1001-04", "route_rev": "1", "pieces": 5, "works_order": nasty},
		nil); status != 201 {
		t.Fatalf("release: %d", status)
	}
	b.open("/batches").untilSays("batch-row", nasty)
	b.open("/waits").until(
		fmt.Sprintf(`document.body.innerText.includes(%q) && !document.querySelector('main img[src="x"]')`,
			nasty))
	b.open("/stations").typed("enrol-code-name", "Tablet").click("enrol-code-go").waitFor("enrol-code-given")
}

// A scan that does not get through is kept in the page, survives a reload, and
// is there once when the way is free again.
func TestOutboxSurvives(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	card := r.card("W-502")
	b := browse(t, r)
	b.open("/station").waitFor("choose").click("pick-T1").click("choose-ok").waitFor("here")
	b.scanner(card).until(`document.querySelector('[data-test="likely"]')?.dataset.action === 'setup'`)
	b.block(r.base + "/api/v1/scans*")
	b.click("likely").until(`Number(document.querySelector('[data-test="link"]').dataset.waiting) === 1`)
	b.do(chromedp.Reload())
	b.waitFor("here")
	b.until(`Number(document.querySelector('[data-test="link"]').dataset.waiting) === 1`)
	if a := r.now(card); a.State != "waiting" {
		t.Fatalf("%+v", a)
	}
	b.unblock()
	b.until(`Number(document.querySelector('[data-test="link"]').dataset.waiting) === 0`)
	var story struct {
		Batch struct{ State string }
		Lines []struct {
			Scan struct{ Action string }
		}
	}
	r.do("GET", "/api/v1/batches/"+card+"/story", nil, &story)
	if story.Batch.State != "setting" || len(story.Lines) != 1 || story.Lines[0].Scan.Action != "setup" {
		t.Errorf("%+v", story)
	}
}

// block lets no request to an address through: the browser asks us about each,
// and we let it fail. unblock lets all through again. The Fetch domain has done so
// since 2018, whatever the browser's version.
func (b *tab) block(url string) *tab {
	b.t.Helper()
	paused := chromedp.Events(b.ctx, fetch.RequestPaused)
	go func() {
		for e, err := range paused {
			if err != nil {
				return
			}
			// A request that is gone by now needs no answer.
			_, _ = chromedp.Run(b.ctx,
				action(fetch.FailRequest,
					fetch.FailRequestParams{RequestID: e.RequestID,
						ErrorReason: network.ErrorReasonInternetDisconnected}))
		}
	}()
	b.do(action(fetch.Enable, fetch.EnableParams{Patterns: []*fetch.RequestPattern{{URLPattern: url}}}))
	return b
}

func (b *tab) unblock() *tab {
	b.t.Helper()
	b.do(action(fetch.Disable, cdp.Empty{}))
	return b
}

// action is a command of the browser's protocol without an answer.
func action[P any](c cdp.Command[P, cdp.Empty], params P) chromedp.Action[chromedp.Void] {
	return func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, t, c, params)
		return chromedp.Void{}, err
	}
}

// scheme makes the browser prefer light or dark.
func scheme(theme string) chromedp.Action[chromedp.Void] {
	return func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: theme}},
		})
		return chromedp.Void{}, err
	}
}
