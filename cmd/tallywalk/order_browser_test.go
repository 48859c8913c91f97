package main

import (
	"fmt"
	"testing"

	"github.com/chromedp/chromedp"

	"tallywalk/traveler"
)

// A customer rings: from the waits board the job is made hot, and stands first; its page
// says who changed it, and why. Scrap then leaves it short, and a make-up batch is
// released with the quantity worked out.
func TestHotAndShort(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true}).as(traveler.RoleSupervisor)
	card := r.card("W-503")
	b := browse(t, r).open("/waits")
	row := fmt.Sprintf(`[data-test="wait-row"][data-card=%q]`, card)
	b.until(`document.querySelector('` + row + `')`)
	first := `document.querySelector('[data-test="wait-row"]').dataset.card === '` + card + `'`
	b.until(`!(` + first + `)`)
	b.do(chromedp.Evaluate[chromedp.Void](
		`document.querySelector('` + row + ` [data-test="order"]').click()`))
	b.waitFor("order-hot").click("order-hot").typed("order-reason", "customer rang").click("dialog-go")
	b.until(first).until(`document.querySelector('` + row + ` [data-mark="hot"]')`)

	b.open("/batch/" + card).waitFor("changes")
	b.until(`document.querySelector('[data-what="hot"]').textContent.includes('customer rang')`)
	b.until(`document.querySelector('h1 [data-mark="hot"]')`)
	r.scan(
		said{"station": "T1", "card": card, "action": "run"},
		said{"station": "T1", "card": card, "action": "finish", "good": 26,
			"scrap": []any{map[string]any{"reason": "size", "n": 4}}},
	)
	b.until(`document.querySelector('[data-test="short-of"]')?.dataset.short === '4'`)
	b.click("makeup").until(
		`Number(document.querySelector('[data-test="makeup-pieces"]')?.value) >= 4`).click("dialog-go")
	b.waitFor("made-up").until(`document.querySelector('[data-test="short-of"]').dataset.short === '0'`)
	b.until(`document.querySelector('[data-test="fact-made_up"]')`)
}
