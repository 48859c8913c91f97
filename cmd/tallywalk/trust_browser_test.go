package main

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	cdppage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// trustingBrowser is a browser of its own whose store of certificates holds the rig's
// authority, as someone installs it: no error is ignored.
func trustingBrowser(t *testing.T, r *rig) *tab {
	t.Helper()
	home := t.TempDir()
	store := filepath.Join(home, ".pki", "nssdb")
	if err := os.MkdirAll(store, 0o700); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{
		{"-N", "--empty-password"},
		{"-A", "-t", "C,,", "-n", "tallywalk", "-i", filepath.Join(r.dir, authorityDir, "authority.crt")},
	} {
		cmd := exec.CommandContext(t.Context(), "certutil",
			append([]string{"-d", "sql:" + store}, args...)...)
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Fatalf("certutil %v: %v: %s", args, err, out)
		}
	}
	return ownBrowser(t, r, home)
}

// ownBrowser is a browser apart from that of the other tests, with a folder of its own.
func ownBrowser(t *testing.T, r *rig, home string, more ...chromedp.ExecAllocatorOption) *tab {
	t.Helper()
	env := chromedp.Env("HOME="+home, "XDG_CONFIG_HOME="+home, "XDG_DATA_HOME="+home)
	alloc, endAlloc := chromedp.NewExecAllocator(t.Context(), browserOptions(append(more, env)...)...)
	t.Cleanup(endAlloc)
	ctx, end := chromedp.NewContext(alloc)
	t.Cleanup(end)
	return (&tab{t: t, ctx: ctx, r: r}).opened()
}

// at opens another address than the rig's.
func (b *tab) at(url string) *tab {
	b.t.Helper()
	b.do(chromedp.Navigate(url))
	return b
}

// standing waits until the page of trust says how the device stands.
func (b *tab) standing(state string) *tab {
	b.t.Helper()
	return b.until(fmt.Sprintf(`document.querySelector('[data-test="standing"]')?.dataset.state === %q`,
		state))
}

// before runs a script in each page before its own.
func (b *tab) before(js string) *tab {
	b.t.Helper()
	_, err := chromedp.Run(b.ctx,
		func(ctx context.Context, t *chromedp.Target) (cdppage.AddScriptToEvaluateOnNewDocumentResult,
			error) {
			return cdp.Call(ctx, t, cdppage.AddScriptToEvaluateOnNewDocument,
				cdppage.AddScriptToEvaluateOnNewDocumentParams{Source: js})
		})
	if err != nil {
		b.t.Fatal(err)
	}
	return b
}

// At a device that trusts the authority, an address of an old card ends where it should,
// over TLS, without a warning: what needs a safe origin is there, service workers too,
// which a browser that ignores errors of certificates refuses.
func TestDeviceThatTrusts(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{tls: tlsLocal})
	_, link, _ := strings.Cut(r.out.String(), "/first?code=")
	code, _, _ := strings.Cut(link, "\n")
	local := strings.Replace(r.base, "127.0.0.1", "localhost", 1)
	b := trustingBrowser(t, r)
	b.at(r.plain() + "/trust").standing("trusted")
	b.at(r.plain() + "/station").waitFor("enrol").waitFor("plain-change").until(
		`location.protocol === 'http:'`)
	// Over HTTPS the device has another box, which is new and not a cleared one.
	b.at(r.base + "/station").waitFor("enrol").until(`document.cookie.includes('tallywalk_box')`)
	if b.value(`String(!!document.querySelector('[data-test="lost"]'))`) == "true" {
		t.Errorf("a device that changes to HTTPS says:\n%s", b.says())
	}
	b.at(strings.Replace(local, "https", "http", 1) + "/first?code=" + code)
	b.until(fmt.Sprintf(`location.href.startsWith(%q)`, local+"/first?code=")).waitFor("first-name")
	b.typed("first-name", "Ada").typed("first-password", "long enough for this").click("first-go")
	b.until(`location.pathname !== '/first' && isSecureContext && location.protocol === 'https:'`)
	b.at(local + "/waits").until(
		`document.querySelector('[data-test="link-state"]')?.dataset.state === 'step'`)
	b.do(chromedp.Evaluate[chromedp.Void](`navigator.serviceWorker
		.register(document.querySelector('link[rel="modulepreload"][href$="/web/lib/words.js"]').href, {type: 'module'})
		.then(() => document.body.dataset.worker = 'taken', (err) => document.body.dataset.worker = String(err))`, chromedp.EvalAwaitPromise))
	b.until(`document.body.dataset.worker === 'taken'`)
	b.at(local + "/trust").standing("encrypted")
}

// A device that does not trust the server yet is not let to a browser's warning, but to
// what it needs: the fingerprint that the console says, the certificate, steps in
// pictures. One whose date is wrong sees that first.
func TestDeviceThatDoesNotTrustYet(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{tls: tlsLocal})
	b := browse(t, r).at(r.plain() + "/waits")
	b.standing("not-yet").until(`location.protocol === 'http:' && location.pathname === '/trust'`)
	shown := strings.Fields(b.value(`document.querySelector('[data-test="fingerprint"]').textContent`))
	if said := strings.Fields(r.out.String()); len(shown) != 16 ||
		!strings.Contains(strings.Join(said, " "), strings.Join(shown, " ")) {
		t.Errorf("%v, and the console\n%s", shown, r.out)
	}
	for platform, steps := range map[string]int{"android": 5, "ios": 5, "windows": 5, "macos": 4,
		"linux": 5} {
		b.until(fmt.Sprintf(`document.querySelectorAll('[data-test="how-%s"] li svg').length === %d`,
			platform, steps))
	}
	b.until(`[...document.querySelectorAll('details')].filter((d) => d.open).length === 1 && !document.querySelector('main').innerText.includes('trust.')`)
	b.before(`{ const real = Date.now; Date.now = () => real() - 10 * 365 * 86400e3; }`).at(
		r.plain() + "/trust").standing("date")
}

// A station that keeps unsent scans when its server turns to TLS sends them over plain
// HTTP, keeps its address until they are there, and changes when someone wants it to.
func TestStationChangesWithoutLosses(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	listen, card := strings.TrimPrefix(r.base, "http://"), r.card("W-502")
	r.stop()
	r = newRig(t, rigOptions{open: true, dir: r.dir, listen: listen, tls: tlsLocal})
	r.client = r.trusting()
	b := trustingBrowser(t, r)
	b.at(r.plain() + "/station").waitFor("choose").click("pick-T1").click("choose-ok").waitFor("here")
	b.until(`location.protocol === 'http:'`)
	b.scanner(card).until(`document.querySelector('[data-test="likely"]')?.dataset.action === 'setup'`)
	b.block(r.plain() + "/api/*") // as when the network is gone
	b.click("likely").until(`Number(document.querySelector('[data-test="link"]').dataset.waiting) === 1`)
	b.click("menu").waitFor("plain-waits").until(`!document.querySelector('[data-test="plain-change"]')`)
	b.at(r.plain() + "/trust?next=/station").standing("kept").until(`location.protocol === 'http:'`)
	b.unblock()
	b.at(r.plain() + "/station").waitFor("here").until(
		`Number(document.querySelector('[data-test="link"]').dataset.waiting) === 0`)
	if a := r.now(card); a.State != "setting" {
		t.Errorf("the scan is not there: %+v", a)
	}
	b.click("menu").click("plain-change")
	b.until(`location.protocol === 'https:' && location.pathname === '/station'`).waitFor("choose")
}
