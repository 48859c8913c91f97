package main

import (
	"bytes"
	"image/png"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"

	"tallywalk/traveler"
)

// A new hand goes through the round at a station, with the card that the page shows,
// read from the glass. The record has nothing of it, and the station is as it was.
func TestPractice(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	real := r.card("W-501")
	b := browse(t, r).enrolled().station("T1").signOn("11", "A. Operator")
	b.scanner(string(traveler.PracticeCard)).untilSays("told-text", "card for practice").click("told-ok")
	before := r.head()
	b.click("menu").click("menu-practice").waitFor("practice-round").untilSays("practice",
		"Nothing is recorded")
	b.untilSays("operator", "No one")
	b.scanner(real).untilSays("told-text", "This is practice").click("told-ok")
	b.scanner(b.glassCode()).likely("setup").click("likely").likely("firstoff").click("likely")
	b.click("practice-pass").likely("run").click("likely").likely("count").click("likely").waitFor("counts")
	b.click("digit-5").click("counts-ok").likely("count").click("likely").waitFor("counts")
	b.click("outcome-scrap").click("digit-1").click("reason-size").click("counts-ok")
	b.click("step-stop").click("reason-tool").likely("run.on").click("likely")
	b.scanner(r.badge("11")).untilSays("operator", "New hand")
	b.until(`document.querySelector('[data-test="round-again"]').dataset.done === 'true'`)
	b.click("step-finish").waitFor("counts").click("digit-3").click("counts-ok").untilSays("undo-bar",
		"3 good")
	b.click("undo").until(`document.querySelector('[data-test="round-undo"]').dataset.done === 'true'`)
	b.until(`[...document.querySelectorAll('[data-test^="round-"]')].every((li) => li.dataset.done === 'true')`)
	b.untilSays("practice-round", "Done, in")
	b.click("practice-end").waitFor("here").untilSays("operator", "A. Operator")
	b.until(`!document.querySelector('[data-test="practice"]') && !document.querySelector('[data-test="undo-bar"]')`)
	if after := r.head(); after != before {
		t.Errorf("practice took the record from %d to %d", before, after)
	}
	b.scanner(real).likely("setup").click("likely").recorded(real, "setup")
}

// head is the last sequence of the record.
func (r *rig) head() (seq traveler.Seq) {
	r.t.Helper()
	var me struct{ Seq traveler.Seq }
	r.do("GET", "/api/v1/me", nil, &me)
	return me.Seq
}

// glassCode is what a reader sees on the screen.
func (b *tab) glassCode() string {
	b.t.Helper()
	raw, err := chromedp.Run(b.ctx, chromedp.Screenshot(`.practice-code`))
	if err != nil {
		b.t.Fatal(err)
	}
	img, err := png.Decode(bytes.NewReader(raw))
	if err != nil {
		b.t.Fatal(err)
	}
	bmp, err := gozxing.NewBinaryBitmapFromImage(img)
	if err != nil {
		b.t.Fatal(err)
	}
	read, err := qrcode.NewQRCodeReader().Decode(bmp, nil)
	if err != nil {
		b.t.Fatal("the practice card on the screen: ", err)
	}
	return read.GetText()
}
