package main

import (
	"fmt"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// plate is the code of a machine's plate.
func (r *rig) plate(machine string) string {
	r.t.Helper()
	var shop struct {
		Machines []struct{ Machine, Code string }
	}
	r.do("GET", "/api/v1/shop", nil, &shop)
	for _, m := range shop.Machines {
		if m.Machine == machine {
			return m.Code
		}
	}
	r.t.Fatalf("%s is not among %+v", machine, shop)
	return ""
}

// by is what was said of a batch, and by whom.
func (r *rig) by(card string) (actions, people []string) {
	r.t.Helper()
	var story struct {
		Lines []struct {
			Scan struct{ Action, Operator string }
		}
	}
	r.do("GET", "/api/v1/batches/"+url.PathEscape(card)+"/story", nil, &story)
	for _, l := range story.Lines {
		actions, people = append(actions, l.Scan.Action), append(people, l.Scan.Operator)
	}
	return actions, people
}

// Muddle 22: set-up by one operator, run by another, with two machines on one tablet.
// The next one's badge hands over what runs at both; an inspector's does not, nor does
// the badge of whoever has it.
func TestRunsAreHandedOver(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	one, two := r.card("W-502"), r.release("1002-11", 40, "W-900")
	b := browse(t, r).enrolled().station("T1").signOn("11", "A. Operator")
	b.scanner(one).likely("setup").click("likely").likely("run").click("likely").likely("count")
	// The plate of a second machine asks; a digit of the action sheet answers.
	b.scanner(r.plate("T2")).waitFor("plate").ready().scanner("A00001K0H") // 1
	b.until(`document.querySelector('[data-test="machine-T2"]')?.getAttribute('aria-current') === 'true' && document.querySelector('[data-test="machine-T1"]')`)
	b.scanner(two).likely("setup").click("likely").likely("run").click("likely").likely("count").click(
		"close")
	b.until(fmt.Sprintf(`document.querySelector('[data-test="here-%s"]')`, two)).recorded(two, "setup", "run")

	b.signOn("31", "I. Inspector").signOn("12", "B. Operator")
	b.recorded(one, "setup", "run", "run").recorded(two, "setup", "run", "run")
	b.signOn("12", "B. Operator")
	for _, card := range []string{one, two} {
		if _, people := r.by(card); !slices.Equal(people, []string{"11", "11", "12"}) {
			t.Errorf("%s was said by %v", card, people)
		}
	}
	// It is taken back as any scan is.
	b.until(`document.querySelector('[data-test="undo-bar"]')`).click("undo").recorded(two, "setup", "run",
		"run", "undo")
}

// A plate that is read by mistake changes nothing; changing is said as well as adding.
func TestPlateAsks(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	b := browse(t, r).station("T1")
	b.scanner(r.plate("T2")).waitFor("plate").click("back").until(
		`!document.querySelector('[data-test="plate"]')`)
	b.until(`!document.querySelector('[data-test="machine-T2"]')`)
	b.scanner(r.plate("T2")).waitFor("plate").ready()
	b.do(chromedp.KeyEvent("2"))
	b.until(`document.querySelector('[data-test="machine-T2"]') && !document.querySelector('[data-test="machine-T1"]')`)
}

// The station forgets who is there at the end of the shift, warns before, and keeps the
// one who taps.
func TestForgottenAtTheEndOfTheShift(t *testing.T) {
	t.Parallel()
	h := newHandClock(time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)) // a Wednesday
	r := newRig(t, rigOptions{open: true, runFrom: h.now})
	r.do("POST", "/api/v1/calendars", map[string]any{"calendar": "two", "zone": "UTC",
		"machines": []string{"T1"}, "turns": []map[string]any{
			{"kind": "shift", "days": "mon-fri", "from": "06:00", "to": "14:00"},
			{"kind": "shift", "days": "mon-fri", "from": "14:00", "to": "22:00"},
		}}, nil)
	soon := func(yes bool) string {
		return fmt.Sprintf(`document.querySelector('[data-test="operator"]')?.dataset.soon === '%t'`, yes)
	}
	b := browse(t, r).enrolled().station("T1").signOn("11", "A. Operator").until(soon(false))
	at := func(hour, minute int) *tab {
		h.set(time.Date(2026, 11, 25, hour, minute, 0, 0, time.UTC))
		return b.open("/station").waitFor("here")
	}
	at(13, 52).until(soon(true)).ready().click("operator").until(soon(false))
	at(14, 5).until(soon(false))
	at(14, 45).until(`document.querySelector('[data-test="operator"]')?.classList.contains('none')`)
	// Whoever signs on then is there until ten at night.
	b.signOn("12", "B. Operator").until(soon(false))
	at(21, 40).until(soon(false))
	at(21, 55).until(soon(true))
	at(22, 1).until(`document.querySelector('[data-test="operator"]')?.classList.contains('none')`)
}

// A device is enrolled by the code on the supervisor's screen, read by its scanner; it
// gets another name; cut off, it says so and keeps what it has not sent, until it is
// enrolled again.
func TestDeviceComesAndIsCutOff(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{})
	_, link, _ := strings.Cut(r.out.String(), "/first?code=")
	first, _, _ := strings.Cut(link, "\n")
	boss := browse(t, r).open("/first?code=" + first)
	boss.typed("first-name", "Ada").typed("first-password", "long enough for this").click("first-go").until(
		`location.pathname !== '/first'`)
	enrolLink := func() string {
		boss.open("/stations").typed("enrol-code-name", "Tablet").click("enrol-code-go").waitFor("enrol-qr")
		return boss.value(`document.querySelector('[data-test="enrol-qr"]').dataset.link`)
	}
	b := browse(t, r).open("/station").waitFor("enrol").scanner(enrolLink())
	b.waitFor("choose").click("pick-T1").click("choose-ok").waitFor("here")
	boss.open("/stations").click("rename").until(`document.querySelector('[data-test="rename-name"]')`)
	boss.put(`[data-test="rename-name"]`, "By the lathe").click("rename-go").until(
		`document.querySelector('[data-test="stations-row"][data-name="By the lathe"]')`)

	card := r.as("supervisor").card("W-502")
	b.scanner(card).likely("setup").block(r.base + "/api/v1/scans*").click("likely").waits(1)
	boss.click("cut").until(`!document.querySelector('[data-test="stations-row"]')`)
	b.until(`document.querySelector('[data-test="cut-off"]')?.dataset.waiting === '1'`).unblock()

	// The second time the code comes with the address; a press says it.
	again := enrolLink()
	b.open(strings.TrimPrefix(again, r.base)).waitFor("enrol").until(`location.search === ''`).click(
		"typed-ok").waitFor("here")
	b.waits(0)
	(&tab{t: t, ctx: b.ctx, r: r.as("supervisor")}).recorded(card, "setup")
}

// Muddle 35: two cards of one works order stand at two machines. Each station goes by the
// card that was read; what is counted on one is not counted on the other.
func TestTwoCardsOfOneOrder(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	one := r.release("1002-11", 40, "W-901")
	b := browse(t, r).station("T1")
	b.scanner(one).likely("setup").click("step-split").waitFor("pieces").click("digit-1").click(
		"digit-5").click("pieces-ok").waitFor("told-card")
	two := b.value(`document.querySelector('[data-test="told-card"]').href.match(/batches\/(\w+)/)[1]`)
	b.click("told-ok").likely("setup").click("likely").likely("run").click("likely").likely("count")

	other := browse(t, r).station("T2")
	other.scanner(two).front(two).likely("setup").click("likely").likely("run").click("likely").likely(
		"count").click("likely")
	other.waitFor("counts").click("digit-1").click("digit-5").click("counts-ok").recorded(two, "setup", "run",
		"count")
	b.click("likely").waitFor("counts").click("digit-all").click("counts-ok").recorded(one, "split", "setup",
		"run", "count")
	for card, want := range map[string]int{one: 25, two: 15} {
		var now struct{ Operations []struct{ Good int } }
		r.do("GET", "/api/v1/batches/"+card, nil, &now)
		if len(now.Operations) != 2 || now.Operations[0].Good != want {
			t.Errorf("%s: %+v, not %d good", card, now, want)
		}
	}
}
