package main

import (
	"fmt"
	"testing"

	"tallywalk/traveler"
)

// A works order typed into the field at the top leads to its batch, from any page; the
// waits board is narrowed down by customer, and the address keeps it.
func TestFindAndNarrow(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true}).as(traveler.RoleSupervisor)
	card := r.card("W-502")
	b := browse(t, r).open("/calendars").typed("find", "w-50").waitFor("found")
	b.until(`document.querySelectorAll('[data-test="hit"]').length === 3`)
	b.typed("find", "2\r").until(`location.pathname === '/batch/` + card + `'`)

	b.open("/waits").waitFor("narrow-customer")
	rows := func(n int) {
		b.until(fmt.Sprintf(`document.querySelectorAll('[data-test="wait-row"]').length === %d`, n))
	}
	rows(3)
	b.until(`(() => { const s = document.querySelector('[data-test="narrow-customer"]'); s.value = 'Harbour plant';
		s.dispatchEvent(new Event('change', {bubbles: true})); return true })()`)
	rows(1)
	b.until(`location.search.includes('customer=Harbour')`).click("narrow-hot")
	rows(0)
	b.click("narrow-hot")
	rows(1)
}
