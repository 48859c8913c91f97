package main

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"tallywalk/traveler"
)

// A station stays open while the disk is lost and a copy put back: it notices by
// itself, with nobody at it, and sends again what its box holds.
func TestStationSendsAgain(t *testing.T) {
	t.Parallel()
	// Nobody else takes ports at this address while the server is away.
	r := newRig(t, rigOptions{listen: "127.0.0.4:0"})
	code := enrolCode(r)
	card := r.as(traveler.RoleSupervisor).card("W-502")
	b := browse(t, r).open("/station").waitFor("enrol")
	b.until(fmt.Sprintf(`window.may || (window.enrolled ||= fetch('/api/v1/enrol', {
		method: 'POST', headers: {'Content-Type': 'application/json'}, body: JSON.stringify({code: %q})}).then(() => (window.may = true)), false)`, code))
	b.open("/station?card=" + card)
	b.until(`document.querySelector('[data-test="likely"]')?.dataset.action === 'setup'`)
	copied, _, _ := strings.Cut(r.cli("backup", "--to", t.TempDir()), ": ")
	b.click("likely").until(`document.querySelector('[data-test="likely"]')?.dataset.action === 'run'`)
	running := fmt.Sprintf(
		`(fetch('/api/v1/batches/%s').then((a) => a.json()).then((x) => (window.state = x.state), () => 0), window.state === 'running')`, card)
	b.click("likely").until(running)
	scans := func(r *rig) int { return strings.Count(r.cli("export", "scans"), `"outcome":"kept"`) }
	if n := scans(r); n != 2 {
		t.Fatalf("%d scans before", n)
	}
	r.stop()
	if err := os.RemoveAll(r.dir); err != nil {
		t.Fatal(err)
	}
	r.cli("restore", copied)
	if n := scans(r); n != 0 {
		t.Fatalf("%d scans in the copy", n)
	}
	back := r.again(rigOptions{}).as(traveler.RoleSupervisor)
	// It asks every quarter of a minute; the network that comes back is sooner.
	b.do(chromedp.Evaluate[chromedp.Void](`window.state = ''; window.dispatchEvent(new Event('online'))`))
	b.until(running)
	if n := scans(back); n != 2 {
		t.Errorf("%d scans after", n)
	}
}
