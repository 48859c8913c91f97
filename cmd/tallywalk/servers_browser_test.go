package main

import (
	"fmt"
	"net"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
	"tallywalk/web/webtest"
)

// halls is two servers of one record, at addresses where nobody else takes the port while
// one is away, and what a supervisor asks the second one.
func halls(t *testing.T, first, second string, open bool) (a, b *webtest.Rig, boss *rig) {
	t.Helper()
	ofA, ofB := &webtest.Servers{}, &webtest.Servers{}
	a = webtest.New(t, webtest.Options{Listen: first + ":0", Servers: ofA, Open: open})
	b = a.Beside(webtest.Options{Listen: second + ":0", Servers: ofB})
	lasts := time.Now().Add(time.Hour) // they hear each other for as long as a test takes
	one, two := story.Server{Name: "hall 1", URL: a.Base, Heard: lasts},
		story.Server{Name: "hall 2", URL: b.Base, Writes: true, Heard: lasts}
	mine, theirs := one, two
	mine.Self, theirs.Self = true, true
	ofA.Hear(mine, two)
	ofB.Hear(one, theirs)
	return a, b, &rig{t: t, base: b.Base, token: b.As(traveler.RoleSupervisor).Token}
}

// hung takes connections at an address and never answers.
func hung(t *testing.T, base string) (end func()) {
	t.Helper()
	ln, err := net.Listen("tcp", strings.TrimPrefix(base, "http://"))
	if err != nil {
		t.Fatal(err)
	}
	taken := make(chan []net.Conn, 1)
	go func() {
		var all []net.Conn
		for {
			c, err := ln.Accept()
			if err != nil {
				break
			}
			all = append(all, c)
		}
		taken <- all
	}()
	return func() {
		_ = ln.Close()
		for _, c := range <-taken {
			_ = c.Close()
		}
	}
}

// knowsOthers waits until a device knows the other servers, and has its pass there.
func (b *tab) knowsOthers() *tab {
	b.t.Helper()
	return b.until(`JSON.parse(localStorage.getItem('tallywalk.servers') || '{}').pass`)
}

// through waits until the station asks another server, or its own where name is empty.
func (b *tab) through(name string) *tab {
	b.t.Helper()
	return b.until(fmt.Sprintf(`document.querySelector('[data-test="link"]')?.dataset.through === %q`, name))
}

// The server that a station's page came from dies, or takes connections and answers nothing:
// the station goes on with the other one, over a reload too; when the first one is back,
// every scan is there once. How long the change took is measured.
func TestStationChangesOver(t *testing.T) {
	t.Parallel()
	for name, hangs := range map[string]bool{"dead": false, "hung": true} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			first := map[bool]string{false: "127.0.0.11", true: "127.0.0.12"}[hangs]
			a, _, boss := halls(t, first, "127.0.0.13", false)
			card := boss.card("W-502")
			b := browse(t, &rig{t: t, base: a.Base, token: boss.token}).enrolled().station("T1")
			b.equipped(card).knowsOthers().scanner(card).front(card).likely("setup").click("likely").waits(
				0).through("")

			back := a.Again
			a.Stop()
			if hangs {
				end := hung(t, a.Base)
				back = func() { end(); a.Again() }
			}
			b.likely("run").click("likely")
			began := time.Now()
			b.waits(0).until(`document.querySelector('[data-test="link"]').dataset.through === 'hall 2'`)
			t.Logf("the scan was with the other server after %v",
				time.Since(began).Round(10*time.Millisecond))
			b.untilSays("link", "hall 2").untilSays("link", "hall 1 is not available")
			b.r = boss
			b.recorded(card, "setup", "run")

			b.do(chromedp.Reload())
			b.front(card).through("hall 2").likely("count").click("likely").waitFor("counts").click(
				"digit-7").click("counts-ok")
			b.waits(0).recorded(card, "setup", "run", "count")

			back()
			b.click("step-finish").waitFor("counts").click("digit-3").click("counts-ok").recorded(card,
				"setup", "run", "count", "finish")
			b.each(card, 4)
			if got := (&rig{t: t, base: a.Base, token: boss.token}).lines(card); !slices.Equal(got,
				[]string{"setup", "run", "count", "finish"}) {
				t.Errorf("the record has %v", got)
			}
		})
	}
}

// A wall screen goes on with the other server, over a reload too, and says so; it shows what
// was said there.
func TestWallChangesOver(t *testing.T) {
	t.Parallel()
	a, b, boss := halls(t, "127.0.0.14", "127.0.0.15", false)
	var given struct{ Link string }
	if got := boss.do("POST", "/api/v1/screens", map[string]any{"name": "Hall", "board": "waits"},
		&given); got != 201 {
		t.Fatal(got)
	}
	wall := browse(t, &rig{t: t, base: a.Base}).open(given.Link[strings.Index(given.Link, "/wall/"):])
	wall.knowsOthers().waitFor("wall-rows")
	wall.until(`navigator.serviceWorker.controller`)
	a.Stop()
	wall.untilSays("link-state", "live through hall 2")
	wall.do(chromedp.Reload())
	wall.untilSays("link-state", "live through hall 2").waitFor("wall-rows")
	before := wall.value(`document.querySelector('[data-test="wall-total"]').textContent`)
	b.As(traveler.RoleOperator).Scan(
		webtest.Said{"station": "T1", "card": boss.card("W-502"), "action": "setup"})
	wall.until(fmt.Sprintf(`document.querySelector('[data-test="wall-total"]').textContent !== %q`, before))
}

// What two servers of one record, which both come and go, are sent is there once, in the order
// in which it was said.
func TestNothingIsLostWhereBothFlap(t *testing.T) {
	t.Parallel()
	a, z, boss := halls(t, "127.0.0.18", "127.0.0.19", false)
	card := boss.card("W-502")
	b := browse(t, &rig{t: t, base: a.Base, token: boss.token}).enrolled().station("T1")
	b.equipped(card).knowsOthers().scanner(card).front(card).likely("setup").click("likely").waits(0)
	const rounds, each = 3, 30
	for range rounds {
		a.Stop()
		b.stops(card, each)
		z.Stop()
		b.stops(card, each).until(`Number(document.querySelector('[data-test="link"]').dataset.waiting) > 0`)
		a.Again()
		b.stops(card, each)
		z.Again()
	}
	b.r = boss
	b.waits(0).each(card, 1+rounds*3*each)
}

// A board that was loaded before another server joined is loaded again, since its policy lets
// it ask no server that was not there then.
func TestWallLearnsOfAServer(t *testing.T) {
	t.Parallel()
	heard := &webtest.Servers{}
	a := webtest.New(t, webtest.Options{Open: true, Servers: heard, Listen: "127.0.0.20:0"})
	self := story.Server{Name: "hall 1", URL: a.Base, Self: true, Writes: true}
	heard.Hear(self)
	wall := browse(t, &rig{t: t, base: a.Base}).open("/waits?wall=1").waitFor("wall-rows")
	heard.Hear(self, story.Server{Name: "hall 2", URL: "http://127.0.0.21:9", Heard: time.Now()})
	wall.do(chromedp.Evaluate[chromedp.Void](`window.early = true`))
	wall.until(`(import(document.querySelector('script[type=module]').src.replace('pages/waits/waits.js', 'lib/wall.js')).then((m) => m.askServers()), !window.early)`)
	wall.waitFor("wall-rows")
}

// People are shown the way to the other servers while theirs does not answer, and no longer.
func TestPeopleAreShownTheWay(t *testing.T) {
	t.Parallel()
	a, b, _ := halls(t, "127.0.0.16", "127.0.0.17", true)
	look := browse(t, &rig{t: t, base: a.Base}).open("/batches").waitFor("demo")
	look.until(`!document.querySelector('[data-test="others"]')`)
	a.Stop()
	look.do(chromedp.Evaluate[chromedp.Void](
		`import(document.querySelector('script[type=module]').src.replace('pages/batch/batches.js', 'lib/api.js')).then((m) => m.syncClock().catch(() => {}))`, chromedp.EvalAwaitPromise))
	look.untilSays("others", "hall 2").until(
		fmt.Sprintf(`document.querySelector('[data-test="others"] a').href === %q`, b.Base+"/batches"))
	a.Again()
	look.do(chromedp.Evaluate[chromedp.Void](
		`import(document.querySelector('script[type=module]').src.replace('pages/batch/batches.js', 'lib/api.js')).then((m) => m.syncClock())`, chromedp.EvalAwaitPromise))
	look.until(`!document.querySelector('[data-test="others"]')`)
}
