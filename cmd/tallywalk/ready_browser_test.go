package main

import (
	"testing"
)

// What is missing for an operation is said at the station, and at a desk that it is there.
func TestWhatIsThereIsSaid(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	card := r.card("W-503")
	b := browse(t, r).open("/station").waitFor("choose").click("pick-T1").click("choose-ok").waitFor("here")
	b.scanner(card).waitFor("likely").until(`!document.querySelector('[data-test="step-ready"]')`)
	r.cli("import", "reasons",
		r.written("reasons.csv",
			"kind,reason,text,work_centres\nstop,tool,Tool,\nready,fixture,Fixture,TURN\nready,tools,Tools,\n"))
	b.open("/station").waitFor("here").scanner(card).click("step-ready").click("thing-fixture-missing")
	b.until(`document.querySelector('[data-test="thing-fixture"]')?.dataset.state === 'missing'`).click(
		"thing-tools-there")
	b.until(`document.querySelector('[data-test="thing-tools"]')?.dataset.state === 'there'`).click(
		"back").untilSays("missing", "Fixture")
	// The code of the action sheet says that the thing is missing, without a step before it.
	b.reason("ready", "tools").untilSays("missing", "Fixture, Tools").recorded(card, "ready", "ready",
		"ready")
	b.open("/waits").until(
		`document.querySelector('[data-test="wait-row"][data-card="` + card +
			`"]')?.textContent.includes('Fixture missing')`)
	b.open("/batch/"+card).untilSays("ready-to-run", "Fixture missing").click("ready").waitFor(
		"dialog").click("ready-all").click("dialog-go")
	b.until(`!document.querySelector('[data-test="ready-to-run"] b')`)
}
