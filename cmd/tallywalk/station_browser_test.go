package main

import (
	"fmt"
	"testing"

	"github.com/chromedp/chromedp"
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
	return b.until(fmt.Sprintf(`document.querySelector('[data-test="likely"]:not(:disabled)')?.dataset.key === %q`, key))
}

// ready waits until what has just appeared may be pressed.
func (b *tab) ready() *tab {
	b.t.Helper()
	return b.until(`!document.documentElement.hasAttribute('data-guard')`)
}

// Muddle 27: the big button is hit twice. Whatever the second hit is made with,
// the next step is not said with it.
func TestSecondTapDoesNothing(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	card := r.card("W-502")
	b := browse(t, r).station("T1")
	b.scanner(card).likely("setup").click("likely").likely("run")
	b.do(chromedp.Click(control("likely")), chromedp.Focus(control("likely")), chromedp.KeyEvent("\r"))
	b.ready()
	if got := r.lines(card); len(got) != 1 || got[0] != "setup" {
		t.Errorf("two taps said %v", got)
	}
	b.click("likely").likely("count")
	if got := r.lines(card); len(got) != 2 || got[1] != "run" {
		t.Errorf("a tap after a while said %v", got)
	}
}

// slowly types as a slow scanner does, the given milliseconds a key.
func (b *tab) slowly(text string, ms int) *tab {
	b.t.Helper()
	for _, k := range text {
		b.do(chromedp.KeyEvent(string(k)))
		b.do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`new Promise((ok) => setTimeout(ok, %d))`, ms), chromedp.EvalAwaitPromise))
	}
	return b
}

// Muddle 26: a code is read slowly while another card is open and a button has
// the focus. It opens its own card, and says nothing of the other.
func TestSlowScannerOverAnOpenCard(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	one, two := r.card("W-502"), r.card("W-503")
	r.scan(said{"station": "T1", "card": one, "action": "run"})
	b := browse(t, r).station("T1")
	b.scanner(one).likely("count").ready()
	b.do(chromedp.Focus(control("likely")))
	b.slowly(two+"\r", 100)
	b.until(fmt.Sprintf(`document.querySelector('[data-test="batch"]')?.dataset.card === %q`, two)).likely("setup")
	if a, b := r.lines(one), r.lines(two); len(a) != 1 || len(b) != 0 {
		t.Errorf("reading a card said %v and %v", a, b)
	}
	// A key is lost: a refusal.
	b.slowly(one[:4]+one[5:]+"\r", 100).until(`document.querySelector('[data-test="told"]')?.dataset.kind === 'refuse'`)
	if a, b := r.lines(one), r.lines(two); len(a) != 1 || len(b) != 0 {
		t.Errorf("a broken code said %v and %v", a, b)
	}
}
