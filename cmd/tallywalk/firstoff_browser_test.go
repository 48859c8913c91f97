package main

import (
	"fmt"
	"testing"
)

// filled puts a text into a field as someone who types slowly would: what comes as fast
// as a scanner's keys is taken for a scan.
func (b *tab) filled(name, text string) *tab {
	b.t.Helper()
	field := fmt.Sprintf(`document.querySelector('[data-test=%q]')`, name)
	return b.until(fmt.Sprintf(
		`(() => { const f = %s; f.value = %q; f.dispatchEvent(new Event("input", {bubbles: true})); return true })()`, field, text))
}

// An inspector rejects a first-off and notes a dimension. The supervisor lets it run all
// the same, and answers the question that this is: what was made is set aside. The batch
// page and the trace say what was found.
func TestRejectedFirstOffIsAnswered(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	card := r.card("W-501")
	b := browse(t, r).enrolled().station("T1").signOn("11", "A. Operator")
	b.scanner(card).likely("setup").click("likely").likely("firstoff").click("likely")
	b.signOn("31", "I. Inspector").likely("verdict").click("likely").click("measure-add")
	b.filled("measure-dimension", "bore").filled("measure-found", "20,03").click("reason-size").waitFor(
		"measure-odd")
	b.filled("measure-nominal", "20").filled("measure-upper", "0,021").click("reason-size")
	b.untilSays("first-refused", "by 31").offers("hold", true)

	said := said{"station": "T1", "card": card, "action": "run", "anyway": true, "reason": "told"}
	r.scan(said, map[string]any{"station": "T1", "card": card, "action": "count", "good": 6})
	b = browse(t, r) // a desk, which is no station
	b.open("/batch/"+card).untilSays("measured", "bore: 20.03 mm, allowed 20 to 20.021; 0.009 mm too large")
	b.untilSays("rejected", "I. Inspector").untilSays("rejected", "run all the same")
	for _, choice := range []string{"passed", "hold", "quarantine"} {
		b.until(`document.querySelector('[data-test="question"] [data-choice="` + choice + `"]')`)
	}
	b.until(`(document.querySelector('[data-choice="quarantine"]').click(), true)`)
	b.until(`document.querySelector('[data-test="figure-review"]').textContent === '6'`)
	b.until(`document.querySelector('[data-test="settled"]')`)
	b.open("/trace?q="+card).untilSays("trace-measured", "0.009 mm too large")
}
