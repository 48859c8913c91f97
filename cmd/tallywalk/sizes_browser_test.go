package main

import (
	"fmt"
	"os"
	"strconv"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// glass is a touch screen: its CSS pixels, how many device pixels one of them is, and
// how many are a millimetre. 0 = nobody has measured it.
type glass struct {
	name          string
	width, height int64
	ratio, mm     float64
}

// The screens of the shop floor: tablets of 8 inches, scaled and not, and a phone of six;
// as guessed, and as measured with a bank card (the diagonal in mm over that in pixels).
var glasses = []glass{
	{"tablet", 1280, 800, 1, 0},
	{"tablet measured", 1280, 800, 1, 7.43},
	{"scaled tablet", 962, 601, 1.33, 0},
	{"scaled tablet measured", 962, 601, 1.33, 5.58},
	{"phone", 360, 740, 3, 0},
	{"phone measured", 360, 740, 3, 5.4},
}

// on shows the page on a screen.
func (b *tab) on(g glass) *tab {
	b.t.Helper()
	b.do(
		action(emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{
			Width: g.width, Height: g.height, DeviceScaleFactor: g.ratio, Mobile: true, ScreenWidth: g.width,
			ScreenHeight: g.height,
		}),
		action(emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{Enabled: true}),
	)
	b.open("/healthz")
	set := `localStorage.removeItem('tallywalk.mm')`
	if g.mm > 0 {
		set = fmt.Sprintf(`localStorage.setItem('tallywalk.mm', '%g')`, g.mm)
	}
	b.do(chromedp.Evaluate[chromedp.Void](set))
	return b
}

// faults lists what is too small for gloves on the page, covered, or out of sight: the
// big button 20 mm (15 on a phone), other steps 15, nothing wider than the screen, and
// nothing under the undo line; wherever it is scrolled to.
const faults = `(() => {
  const mm = parseFloat(getComputedStyle(document.documentElement).getPropertyValue('--mm'));
  const big = (innerWidth < 480 ? 15 : 20) * mm, out = [];
  const name = (e) => (e.dataset.test || e.className) + ' ' + e.textContent.trim().slice(0, 20);
  const small = (e, least) => {
    const r = e.getBoundingClientRect();
    if (r.height && Math.min(r.width, r.height) < least - 0.5) out.push(name(e) + ': ' + Math.round(r.width / mm * 10) / 10 + ' x ' + Math.round(r.height / mm * 10) / 10 + ' mm');
  };
  const all = (s) => [...document.querySelectorAll(s)].filter((e) => e.getBoundingClientRect().height);
  all('.main').forEach((e) => small(e, big));
  all('.step').forEach((e) => small(e, 15 * mm));
  if (document.documentElement.scrollWidth > innerWidth) out.push('wider than the screen: ' + document.documentElement.scrollWidth);
  const undo = document.querySelector('.undo')?.getBoundingClientRect();
  const main = document.querySelector('main').getBoundingClientRect();
  if (undo && main.bottom > undo.top + 0.5) out.push('the page goes on under the undo line');
  if (undo && undo.bottom > innerHeight + 0.5) out.push('the undo line is out of sight');
  const shown = (e) => {
    const r = e.getBoundingClientRect(), top = document.elementFromPoint(r.left + r.width / 2, r.bottom - 2);
    if (r.bottom > innerHeight || !e.contains(top)) out.push(name(e) + ': ends at ' + Math.round(r.bottom) + ' of ' + innerHeight + (top ? ', under ' + name(top) : ''));
  };
  all('[data-test="likely"], [data-test="counts-ok"], [data-test="accept"]').forEach(shown);
  if (!document.querySelector('main').scrollTop) all('[data-test^="digit-"]').forEach(shown);
  return out.join('; ');
})()`

// suits holds what the page shows against the sizes.
func (b *tab) suits(view string, g glass) *tab {
	b.t.Helper()
	b.ready()
	if got := b.value(faults); got != "" {
		b.t.Errorf("%s, %s: %s", g.name, view, got)
	}
	return b
}

// word is the height of the capitals of the word at the edge in mm, or why it does not
// fit the screen.
const word = `(() => {
  const e = document.querySelector('.edge-text'), s = getComputedStyle(e), r = e.getBoundingClientRect();
  const mm = parseFloat(getComputedStyle(document.documentElement).getPropertyValue('--mm'));
  const pen = document.createElement('canvas').getContext('2d');
  pen.font = s.fontWeight + ' ' + s.fontSize + ' ' + s.fontFamily;
  if (r.left < 0 || r.right > innerWidth || e.scrollWidth > e.clientWidth + 1) return 'too wide: ' + r.width;
  return String(pen.measureText('H').actualBoundingBoxAscent / mm);
})()`

// The word at the edge is read at two metres: capitals of a 200th of that (FAA HF-STD-001,
// as in the rule of wall boards). A phone is in the hand.
func (b *tab) readAtTwoMetres(g glass) {
	b.t.Helper()
	b.scanner("B0000000").until(`document.querySelector('[data-test="edge"]').dataset.kind === 'refuse'`)
	got := b.value(word)
	if mm, err := strconv.ParseFloat(got, 64); err != nil || mm < 10 && g.width > 480 || mm < 4 {
		b.t.Errorf("%s: the word at the edge: %s", g.name, got)
	}
}

// What an operator presses is large enough for gloves, and in sight: on tablets of
// 8 inches and on a phone, measured and as guessed.
func TestSizesForGloves(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	long := os.Getenv("TALLYWALK_LONG") != ""
	for i, g := range glasses {
		if !long && i%3 != 0 {
			continue // two of them; all with TALLYWALK_LONG
		}
		t.Run(g.name, func(t *testing.T) {
			card, first := r.release("1002-11", 40, fmt.Sprint("S-", i)),
				r.release("1001-04", 20, fmt.Sprint("F-", i))
			b := browse(t, r).on(g).station("T1")
			b.scanner(card).likely("setup").suits("a card that waits", g)
			b.click("likely").likely("run").waitFor("undo-bar").suits("setting, with the undo line", g)
			b.click("likely").likely("count").suits("running", g)
			b.click("likely").waitFor("counts").suits("counting", g)
			b.click("outcome-scrap").click("digit-1").click("reason-size").waitFor("loss-off-0").suits(
				"a loss", g)
			b.click("outcome-good").click("digit-9").suits("counting with losses", g).click("counts-ok")
			b.offers("stop", true).click("step-stop").waitFor("reasons").suits("reasons", g).click("back")
			b.waitFor("batch").click("menu").waitFor("menu-panel").suits("the menu", g).click("back")
			b.scanner(first).likely("setup").click("likely").likely("firstoff").click("likely").likely(
				"verdict").click("likely")
			b.waitFor("verdict").suits("the verdict", g)
			b.readAtTwoMetres(g)
		})
	}
}
