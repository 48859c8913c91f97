package main

import (
	"fmt"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"sync/atomic"
	"testing"
	"testing/fstest"
	"time"

	"github.com/chromedp/cdproto/storage"
	"github.com/chromedp/chromedp"

	"tallywalk/kiosk"
	"tallywalk/web/webtest"
)

// keptBy is true in the page once something holds of what the station keeps in the
// browser: of a value in its box, as v.
func keptBy(key, holds string) string {
	return fmt.Sprintf(`(window.box ||= {}, indexedDB.open('tallywalk-station').onsuccess = (e) => {
		const got = e.target.result.transaction('values').objectStore('values').get(%q);
		got.onsuccess = () => { const v = got.result; window.box[%q] = v !== undefined && Boolean(%s); e.target.result.close(); };
	}, window.box[%q])`, key, holds, holds, holds)
}

// equipped waits until the station can go on alone: the page itself is kept in the
// browser, and what is known of a batch.
func (b *tab) equipped(card string) *tab {
	b.t.Helper()
	b.until(`navigator.serviceWorker.controller`)
	return b.until(keptBy("floor", fmt.Sprintf(`v.known[%q] && v.boards.T1`, card)))
}

// waits waits until so many scans are kept in the station.
func (b *tab) waits(n int) *tab {
	b.t.Helper()
	return b.until(fmt.Sprintf(
		`Number(document.querySelector('[data-test="link"]')?.dataset.waiting) === %d`, n))
}

// front waits until a batch is open.
func (b *tab) front(card string) *tab {
	b.t.Helper()
	return b.until(fmt.Sprintf(`document.querySelector('[data-test="batch"]')?.dataset.card === %q`, card))
}

// stationRig is a shop at an address where nobody else takes the port while the
// server is away, and a station at T1 that can go on alone.
func stationRig(t *testing.T, listen, card string) (*rig, *tab, string) {
	t.Helper()
	r := newRig(t, rigOptions{listen: listen + ":0", open: true})
	b := browse(t, r).enrolled().station("T1")
	code := r.card(card)
	return r, b.equipped(code), code
}

// Without the server a card of the list is scanned, set up, run, counted and
// finished, each at once; what does not fit is refused in the server's words; a
// reload in the middle loses nothing.
func TestAloneFromListToFinish(t *testing.T) {
	t.Parallel()
	r, b, card := stationRig(t, "127.0.0.5", "W-502")
	r.stop()
	b.scanner(card).front(card).likely("setup").click("likely").likely("run").click("likely").likely("count")
	b.waits(2).untilSays("link", "2 scans stored on this tablet since")
	b.click("likely").waitFor("counts").click("digit-9").click("digit-9").click("digit-9").click("counts-ok")
	b.untilSays("told-text", "120 pieces were started; operation 10 would have 999.").click("told-ok")
	b.likely("count").click("likely").waitFor("counts").click("digit-3").click("digit-0").click("counts-ok")
	b.untilSays("n-good", "30").untilSays("left", "90").waits(3)

	b.do(chromedp.Reload())
	b.front(card).untilSays("n-good", "30").likely("count").waits(3).untilSays("here", "30 good of 120")
	b.click("step-finish").waitFor("counts").click("digit-9").click("digit-0").click("counts-ok").waits(4)
	b.until(`!document.querySelector('[data-test="here-` + card + `"]')`)

	back := r.again(rigOptions{open: true})
	b.waits(0)
	if got := back.lines(card); !slices.Equal(got, []string{"setup", "run", "count", "finish"}) {
		t.Errorf("the record has %v", got)
	}
	if a := back.now(card); a.Good != 0 || a.State != "waiting" {
		t.Errorf("%+v, which waits for its next operation", a)
	}
}

// A card that was released after the link was cut is taken as it is.
func TestAloneWithAStranger(t *testing.T) {
	t.Parallel()
	r, b, _ := stationRig(t, "127.0.0.6", "W-502")
	b.block(r.base + "/api/*")
	var made struct{ Card string }
	if got := r.do("POST", "/api/v1/batches", map[string]any{
		"id": newID(), "part": "1002-11", "route_rev": "1", "pieces": 20, "works_order": "W-777",
	}, &made); got != 201 {
		t.Fatalf("release: %d", got)
	}
	b.scanner(made.Card).front(made.Card).untilSays("alone", "does not know this card yet")
	b.likely("setup").click("likely").likely("run").click("likely").likely("count").waits(2)
	b.unblock()
	b.waits(0).recorded(made.Card, "setup", "run").untilSays("batch", "W-777")
}

// own starts a browser of its own on a profile that stays, and gives a tab of it.
func own(t testing.TB, r *rig, profile string) *tab {
	t.Helper()
	opts := browserOptions(chromedp.UserDataDir(profile))
	alloc, endAlloc := chromedp.NewExecAllocator(t.Context(), opts...)
	t.Cleanup(endAlloc)
	ctx, end := chromedp.NewContext(alloc)
	t.Cleanup(end)
	return (&tab{t: t, ctx: ctx, r: r}).opened()
}

// killed ends a browser as a flat battery does, and gives a tab of the next one on
// the same profile.
func (b *tab) killed(profile string) *tab {
	b.t.Helper()
	p := chromedp.FromContext(b.ctx).Browser.Process()
	if err := p.Kill(); err != nil {
		b.t.Fatal(err)
	}
	// Its children go with it; what it locked is free when it is gone.
	_ = exec.Command("sh", "-c", fmt.Sprintf("while kill -0 %d 2>/dev/null; do :; done", p.Pid)).Run()
	for _, name := range []string{"SingletonLock", "SingletonCookie", "SingletonSocket"} {
		_ = os.Remove(filepath.Join(profile, name)) // of a browser that is no more
	}
	return own(b.t, b.r, profile)
}

// The browser is killed while scans wait, and while they are sent: each is there
// once.
func TestBrowserKilledWithScans(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{listen: "127.0.0.7:0", open: true})
	profile := t.TempDir()
	b := own(t, r, profile).enrolled().station("T1")
	card := r.card("W-502")
	b.equipped(card)
	r.stop()
	b.scanner(card).front(card).likely("setup").click("likely").likely("run").click("likely").likely(
		"count").waits(2)
	b = b.killed(profile)
	b.open("/station").front(card).likely("count").waits(2)
	b.stops(card, 200).waits(202)
	back := r.again(rigOptions{open: true})
	b.until(`Number(document.querySelector('[data-test="link"]').dataset.waiting) < 202`)
	b = b.killed(profile)
	b.r = back
	b.open("/station").waits(0)
	b.each(card, 202)
}

// stops says so many stops and runs of a batch at once, as fast as the page takes
// them.
func (b *tab) stops(card string, n int) *tab {
	b.t.Helper()
	b.do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`(async () => {
		const { sayScan } = await import(document.querySelector('script[type=module]').src.replace('main.js', 'outbox.js'));
		for (let i = 0; i < %d; i++)
			sayScan({station: 'T1', card: %q, action: i %% 2 ? 'run' : 'stop', ...(i %% 2 ? {} : {reason: 'tool'}), language: 'en'});
	})()`, n, card), chromedp.EvalAwaitPromise))
	return b
}

// each looks that the record has so many scans of a batch, each once and in the
// order in which they were said.
func (b *tab) each(card string, n int) {
	t, r := b.t, b.r
	t.Helper()
	var story struct {
		Lines []struct {
			Scan struct {
				ID string
				N  int
			}
		}
	}
	r.do("GET", "/api/v1/batches/"+card+"/story", nil, &story)
	ids, last := map[string]bool{}, 0
	for _, l := range story.Lines {
		if ids[l.Scan.ID] || l.Scan.N <= last {
			t.Fatalf("scan %d is there twice, or after %d", l.Scan.N, last)
		}
		ids[l.Scan.ID], last = true, l.Scan.N
	}
	if len(ids) != n {
		t.Errorf("the record has %d scans, not %d", len(ids), n)
	}
}

// The server is ended in the middle of sending, and comes back: each scan is there
// once. How long 200 take is measured.
func TestServerGoesWhileScansAreSent(t *testing.T) {
	t.Parallel()
	r, b, card := stationRig(t, "127.0.0.8", "W-502")
	r.stop()
	b.stops(card, 200).waits(200)
	back := r.again(rigOptions{open: true})
	b.until(`Number(document.querySelector('[data-test="link"]').dataset.waiting) < 200`)
	back.stop()
	b.stops(card, 200)
	b.until(`Number(document.querySelector('[data-test="link"]').dataset.waiting) >= 200`)
	b.do(chromedp.Evaluate[chromedp.Void](`window.gone = new Promise((done) => {
		const look = () => Number(document.querySelector('[data-test="link"]').dataset.waiting) ? setTimeout(look, 10) : done(performance.now());
		look();
	})`))
	last := back.again(rigOptions{open: true})
	began := time.Now()
	b.waits(0)
	t.Logf("%d scans were gone %v after the server was back", 200,
		time.Since(began).Round(10*time.Millisecond))
	b.r = last
	b.each(card, 400)
}

// Storage that was cleared is a new life: the station says what is gone.
func TestClearedStorageIsSaid(t *testing.T) {
	t.Parallel()
	r, b, card := stationRig(t, "127.0.0.9", "W-502")
	r.stop()
	b.stops(card, 3).waits(3)
	b.do(chromedp.Navigate(r.base + "/station?away")) // the page itself is kept
	b.waits(3)
	b.do(action(storage.ClearDataForOrigin,
		storage.ClearDataForOriginParams{Origin: r.base, StorageTypes: "indexeddb,local_storage"}))
	b.do(chromedp.Reload())
	b.untilSays("lost", "3 scans, from") // though nothing answers
	back := r.again(rigOptions{open: true})
	b.waitFor("choose").untilSays("lost", "3 scans, from").click("lost-ok").until(
		`!document.querySelector('[data-test="lost"]')`)
	b.do(chromedp.Reload())
	b.waitFor("choose").until(`!document.querySelector('[data-test="lost"]')`)
	if got := back.lines(card); len(got) != 0 {
		t.Errorf("the record has %v", got)
	}
}

// replaceable is a server whose program is replaced: at one address, now the one,
// then the other.
type replaceable struct {
	now  atomic.Pointer[httputil.ReverseProxy]
	base string
}

func newReplaceable(t *testing.T, first string) *replaceable {
	t.Helper()
	p := &replaceable{}
	p.use(t, first)
	srv := httptest.NewServer(
		http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { p.now.Load().ServeHTTP(w, r) }))
	t.Cleanup(srv.Close)
	p.base = srv.URL
	return p
}

func (p *replaceable) use(t *testing.T, base string) {
	t.Helper()
	to, err := url.Parse(base)
	if err != nil {
		t.Fatal(err)
	}
	p.now.Store(&httputil.ReverseProxy{Rewrite: func(r *httputil.ProxyRequest) {
		r.SetURL(to)
		r.Out.Host = r.In.Host
	}})
}

// edited is the station page of another version.
func edited(t *testing.T) fs.FS {
	t.Helper()
	out := fstest.MapFS{}
	err := fs.WalkDir(kiosk.Page(), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := fs.ReadFile(kiosk.Page(), name)
		if name == "main.js" {
			data = append(data, "document.documentElement.dataset.version = 'next';\n"...)
		}
		out[name] = &fstest.MapFile{Data: data}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// A new version of the program takes over the page that a device keeps when nobody
// is in the middle of something; until then the old one goes on, whole.
func TestNewVersionWaitsForTheCount(t *testing.T) {
	t.Parallel()
	old, next := webtest.New(t, webtest.Options{Open: true}),
		webtest.New(t, webtest.Options{Open: true, Kiosk: edited(t)})
	p := newReplaceable(t, old.Base)
	b := browse(t, &rig{t: t, base: p.base}).station("T1").until(`navigator.serviceWorker.controller`)
	b.click("open-type").waitFor("typed") // over the screen: someone types
	p.use(t, next.Base)
	waiting := `(navigator.serviceWorker.getRegistration('/station').then((r) => (r.update().catch(() => {}), window.next = Boolean(r.waiting))), window.next)`
	b.until(waiting)
	b.until(`document.querySelector('[data-test="typed"]') && !document.documentElement.dataset.version`)
	b.do(chromedp.Evaluate[chromedp.Void](
		`fetch(document.querySelector('script[type=module]').src).then((a) => (window.was = a.ok && !a.redirected))`, chromedp.EvalAwaitPromise))
	b.until(`window.was`)
	b.click("back").until(`document.documentElement.dataset.version === 'next'`)
}
