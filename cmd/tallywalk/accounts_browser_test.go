package main

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// The page of accounts gives a token that lets a program in, revokes it, and
// replaces a badge; a card's QR of an operation opens the station at it.
func TestTokensAndBadgesByHand(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	b := browse(t, r).open("/accounts").waitFor("token-name")
	b.typed("token-name", "cell 3").click("token-go").waitFor("token-given").waitFor("token-row")
	secret := b.value(`document.querySelector('[data-test="token-given"]').textContent`)
	program := *r
	program.token = secret
	if got := program.do("GET", "/api/v1/me", nil, nil); got != 200 {
		t.Errorf("the token that was shown: %d", got)
	}
	b.do(chromedp.Evaluate[chromedp.Void](
		`document.querySelector('[data-test="token-row"] [data-test="remove"]').click()`))
	b.until(`!document.querySelector('[data-test="token-row"]')`)
	if got := program.do("GET", "/api/v1/me", nil, nil); got != 401 {
		t.Errorf("the token that was revoked: %d", got)
	}
	code := `document.querySelector('[data-person="11"] [data-label="Badge code"]').textContent.trim()`
	b.until(`document.querySelector('[data-person="11"]')`)
	was := b.value(code)
	b.do(chromedp.Evaluate[chromedp.Void](
		`document.querySelector('[data-person="11"] [data-test="replace"]').click()`))
	b.until(code + ` !== '` + was + `'`)
	if say := r.refused("GET", "/api/v1/people/"+was, nil, 403); !strings.Contains(say, "replaced") {
		t.Error(say)
	}
	card := r.card("W-501")
	b.open("/station").waitFor("choose").click("pick-T1").click("choose-ok").waitFor("here")
	b.open("/S/"+card+"/20").untilSays("operation", "Operation 20, as scanned")
}
