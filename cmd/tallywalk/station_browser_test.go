package main

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"tallywalk/traveler"
)

// lines are what was scanned of a batch, as the record has it.
func (r *rig) lines(card string) (actions []string) {
	r.t.Helper()
	var story struct {
		Lines []struct {
			Scan struct{ Action string }
		}
	}
	r.do("GET", "/api/v1/batches/"+card+"/story", nil, &story)
	for _, l := range story.Lines {
		actions = append(actions, l.Scan.Action)
	}
	return actions
}

// station opens the station page at a machine.
func (b *tab) station(machine string) *tab {
	b.t.Helper()
	return b.open("/station").waitFor("choose").click("pick-" + machine).click("choose-ok").waitFor("here")
}

// likely waits until the big button says what it is to say.
func (b *tab) likely(key string) *tab {
	b.t.Helper()
	return b.until(fmt.Sprintf(
		`document.querySelector('[data-test="likely"]:not(:disabled)')?.dataset.key === %q`, key))
}

// ready waits until what has just appeared may be pressed.
func (b *tab) ready() *tab {
	b.t.Helper()
	return b.until(`!document.documentElement.hasAttribute('data-guard')`)
}

// What is pressed at a station, and what only seems to be.
func TestPressesAtAStation(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	b := browse(t, r).station("T1")
	b.pickedTime(r.card("W-501"))
	b.secondTap(r.card("W-502"))
	b.typedByHand()
	b.slowScanner(r.card("W-502"), r.card("W-503"))
}

// secondTap is muddle 27: the big button is hit twice. Whatever the second hit is
// made with, the next step is not said with it.
func (b *tab) secondTap(card string) {
	b.t.Helper()
	b.scanner(card).likely("setup").click("likely").likely("run")
	b.do(chromedp.Click(control("likely")), chromedp.Focus(control("likely")), chromedp.KeyEvent("\r"))
	b.ready()
	b.recorded(card, "setup").click("likely").likely("count").recorded(card, "setup", "run")
}

// recorded waits until the record has of a batch what was said: a station goes on
// before it does.
func (b *tab) recorded(card string, want ...string) *tab {
	b.t.Helper()
	look := time.NewTicker(30 * time.Millisecond)
	defer look.Stop()
	end := time.After(pageTime)
	for {
		got := b.r.lines(card)
		if slices.Equal(got, want) {
			return b
		}
		select {
		case <-end:
			b.t.Fatalf("the record of %s has %v, not %v; the page says:\n%s", card, got, want, b.says())
		case <-look.C:
		}
	}
}

// typedByHand types what no scanner could mean: a count into the pad, and the
// beginning of a works order.
func (b *tab) typedByHand() {
	b.t.Helper()
	b.likely("count").click("likely").waitFor("counts").ready()
	b.do(chromedp.KeyEvent("12"))
	b.untilSays("counts-ok", "12 good").click("back")
	b.likely("count").click("close").waitFor("here").ready()
	b.do(chromedp.KeyEvent("w-50"))
	b.untilSays("typed", "W-50").click("key-2").click("typed-ok").likely("count")
}

// slowly types as a slow scanner does, the given milliseconds a key.
func (b *tab) slowly(text string, ms int) *tab {
	b.t.Helper()
	for _, k := range text {
		b.do(chromedp.KeyEvent(string(k)))
		b.do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`new Promise((ok) => setTimeout(ok, %d))`, ms),
			chromedp.EvalAwaitPromise))
	}
	return b
}

// slowScanner is muddle 26: a code is read slowly while another card is open,
// which runs, and a button has the focus. It opens its own card, and says nothing
// of the other.
func (b *tab) slowScanner(one, two string) {
	t, r := b.t, b.r
	t.Helper()
	before := len(r.lines(one))
	b.likely("count").ready()
	b.do(chromedp.Focus(control("likely")))
	b.slowly(two+"\r", 100)
	b.until(fmt.Sprintf(`document.querySelector('[data-test="batch"]')?.dataset.card === %q`, two)).likely(
		"setup")
	// A key is lost: a refusal, and what was open stays open.
	b.slowly(one[:4]+one[5:]+"\r", 100).until(
		`document.querySelector('[data-test="told"]')?.dataset.kind === 'refuse'`)
	b.until(fmt.Sprintf(`document.querySelector('[data-test="batch"]')?.dataset.card === %q`, two))
	if a, b := r.lines(one), r.lines(two); len(a) != before || len(b) != 0 {
		t.Errorf("reading cards said %v and %v", a, b)
	}
}

// badge is the code of someone's badge.
func (r *rig) badge(person string) string {
	r.t.Helper()
	var all struct {
		People []struct{ Person, Code string }
	}
	r.do("GET", "/api/v1/people", nil, &all)
	for _, p := range all.People {
		if p.Person == person {
			return p.Code
		}
	}
	r.t.Fatalf("%s is not among %+v", person, all)
	return ""
}

// enrolled makes the browser a station of its own.
func (b *tab) enrolled() *tab {
	b.t.Helper()
	var out struct{ Code string }
	if got := b.r.do("POST", "/api/v1/enrol-codes", map[string]any{"name": "Tablet"}, &out); got != 201 {
		b.t.Fatalf("enrol code: %d", got)
	}
	b.open("/healthz")
	b.do(chromedp.Evaluate[chromedp.Void](
		fmt.Sprintf(`fetch('/api/v1/enrol', {method: 'POST', headers: {'Content-Type': 'application/json'},
		body: JSON.stringify({code: %q})})`, out.Code), chromedp.EvalAwaitPromise))
	return b
}

// signOn reads someone's badge.
func (b *tab) signOn(person, name string) *tab {
	b.t.Helper()
	return b.scanner(b.r.badge(person)).untilSays("operator", name)
}

// offers waits until a step is offered, or no longer.
func (b *tab) offers(step string, yes bool) *tab {
	b.t.Helper()
	return b.until(fmt.Sprintf(
		`Boolean(document.querySelector('[data-test="step-%s"], [data-test="likely"][data-key="%s"]')) === %t`, step, step, yes))
}

// rejected takes a batch to a first-off that an inspector rejects at the station,
// with the inspector still there.
func rejected(t *testing.T, r *rig) (b *tab, card string) {
	t.Helper()
	card = r.card("W-501")
	b = browse(t, r).enrolled().station("T1").signOn("11", "A. Operator")
	b.scanner(card).likely("setup").click("likely").likely("firstoff").click("likely")
	b.untilSays("first-waiting", "Do not run").offers("verdict", false).until(
		`!document.querySelector('[data-test="likely"]')`)
	b.signOn("31", "I. Inspector").likely("verdict").click("likely").click("reason-size")
	b.untilSays("first-refused", "rejected").untilSays("undo-bar", "First-off rejected: 1 scrap")
	return b, card
}

// Each is offered what that one may do. A badge that is read ends what the one
// before could take back.
func TestBadgesAtAStation(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	b, card := rejected(t, r)
	b.offers("run", true).offers("hold", true)
	b.signOn("11", "A. Operator")
	b.until(`!document.querySelector('[data-test="undo-bar"]')`).offers("run", false).offers("hold",
		false).likely("firstoff")
	b.scanner("A00000H00").untilSays("told-text", "not your scan").click("told-ok")
	b.signOn("31", "I. Inspector").untilSays("undo-bar", "First-off rejected: 1 scrap").click("undo")
	b.untilSays("first-waiting", "Do not run")
	if got := r.lines(card); len(got) != 4 || got[3] != "undo" {
		t.Errorf("the batch's scans are %v", got)
	}
}

// pickedTime looks where a picked time is: it stands in the big button, well away
// from it, and is for the next scan only.
func (b *tab) pickedTime(card string) {
	b.t.Helper()
	b.scanner(card).likely("setup").click("when-5").untilSays("likely", "Start set-up, 5 min ago")
	b.until(`(() => {
		const mm = parseFloat(getComputedStyle(document.documentElement).getPropertyValue('--mm'));
		const at = (n) => document.querySelector('[data-test="' + n + '"]').getBoundingClientRect();
		return Math.abs(at('when-5').top - at('likely').bottom) > 20 * mm;
	})()`)
	b.click("close").scanner(card).likely("setup").until(
		`!document.querySelector('[data-test="likely"]').textContent.includes('ago')`)
	b.click("when-5").click("likely").likely("firstoff").until(
		`!document.querySelector('[data-test="likely"]').textContent.includes('ago')`)
}

// Pieces that are lost keep their reason, or are asked for one: whatever is named next,
// by a code of the sheet or on the glass, drops none and gives none another's reason.
func TestLossesAreNotDropped(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	card := r.card("W-501")
	b := browse(t, r).station("T1")
	b.scanner(card).likely("setup").click("likely").likely("firstoff").click("step-count").waitFor("counts")
	b.click("outcome-scrap").click("digit-2").click("outcome-good").untilSays("edge", "Why?")
	b.until(`document.querySelector('[data-test="outcome-scrap"]').ariaSelected === 'true'`).untilSays(
		"typed", "2")
	b.click("reason-size").untilSays("counts-ok", "2 scrap")
	// The reason first, then the number; then another outcome on the glass.
	b.scanner(string(traveler.ReasonCode("scrap", "size"))).untilSays("typed", ": ").click("digit-3")
	b.click("outcome-rework").untilSays("counts-ok", "5 scrap").click("digit-1").click("counts-ok").untilSays(
		"counts", "Why?")
	b.until(`!document.querySelector('[data-test="typed"]').textContent.includes(':')`)
	// A code of the sheet is no code of a batch.
	b.click("back").click("close").waitFor("here").click("open-type").click("key-W").scanner(
		"A00001W06").untilSays("edge", "Refused")
	b.untilSays("typed", "W")
}
