package main

import (
	"testing"
)

// Two batches are finished with pieces that nobody counted. One answer for both says what
// follows before it is given; a tick taken off leaves that one open.
func TestQuestionsAnsweredTogether(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	for _, order := range []string{"W-502", "W-501"} {
		card := r.card(order)
		r.scan(
			said{"station": "T1", "card": card, "action": "run", "operation": 10, "anyway": true,
				"reason": "urgent"},
			said{"station": "T1", "card": card, "action": "finish", "operation": 10, "good": 10,
				"anyway": true, "reason": "urgent"},
		)
	}
	open := func() (n int) {
		var q struct{ Open []struct{ Kind string } }
		r.do("GET", "/api/v1/questions", nil, &q)
		for _, x := range q.Open {
			if x.Kind == "uncounted" {
				n++
			}
		}
		return n
	}
	if n := open(); n != 2 {
		t.Fatalf("%d are asked about", n)
	}
	const missing = `document.querySelector('[data-test="alike"][data-kind="uncounted"] [data-choice="missing"]')`
	b := browse(t, r).open("/questions?kind=uncounted").until(missing + `?.textContent.includes('missing, ')`)
	b.until(missing+`.click() === undefined`).waitFor("dialog").untilSays("bulk-follows", "missing")
	b.until(`document.querySelectorAll('[data-test="bulk-one"] input').length === 2`)
	b.until(`document.querySelector('[data-test="bulk-one"] input').click() === undefined`).untilSays(
		"dialog-go", "Decide 1")
	b.click("dialog-go").untilSays("note", "1 decided")
	b.until(`document.querySelectorAll('[data-test="question"]').length === 1`)
	if n := open(); n != 1 {
		t.Errorf("%d stay open", n)
	}
	b.click("note-action").until(`document.querySelector('[data-test="alike"][data-count="2"]')`)
}
