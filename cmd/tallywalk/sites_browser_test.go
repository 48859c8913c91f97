package main

import (
	"sync/atomic"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/web/ask"
	"tallywalk/web/webtest"
)

// TestSitesPage walks through the page of a group's server: what waits at each site and in
// all, a site that cannot be reached, the list of one, a period, and routes of one part.
func TestSitesPage(t *testing.T) {
	t.Parallel()
	away := atomic.Bool{}
	var sites []ask.Site
	for _, name := range []string{"hall", "works"} {
		var now atomic.Pointer[time.Time] // a server reads it meanwhile
		set := func(at time.Time) { now.Store(&at) }
		set(time.Date(2026, 11, 17, 5, 0, 0, 0, time.UTC))
		r := webtest.New(t, webtest.Options{Now: func() time.Time { return *now.Load() }}).As(
			traveler.RoleSupervisor)
		r.Play(webtest.Order{Name: "W-600", Day: 17, Good: 9, Scrap: 1, Due: "2026-11-18"}, set)
		sites = append(sites, ask.Site{
			Name: name, Desk: r.Desk, Zone: func() *time.Location { return time.UTC },
			State: func() ask.SiteState {
				if name == "works" && away.Load() {
					return ask.SiteState{AsOf: time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC),
						Wrong: []traveler.Msg{{Key: "stream.unheard"}}}
				}
				return ask.SiteState{Reached: true, AsOf: time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC),
					Servers: 1}
			},
		})
	}
	shown := webtest.New(t, webtest.Options{
		Now: func() time.Time { return time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC) }, Open: true,
		Empty: true, Sites: sites,
	})
	b := browse(t, &rig{t: t, base: shown.Base})
	b.open("/").waitFor("sites-now")
	b.until(`location.pathname === "/sites" && document.querySelectorAll("[data-test=site]").length === 3`)
	b.until(`[...document.querySelectorAll("[data-test=waits]")].map((x) => Number(x.textContent)).every((n, i, all) => n > 0 && (i < 2 || n === all[0] + all[1]))`)
	b.until(`document.querySelectorAll("header nav a[href='/waits']").length === 0`)
	b.until(`[...document.querySelectorAll("[data-test=past-finished] b")].map((x) => x.textContent).join() === "1,1,2"`)
	b.until(`document.querySelector("[data-test=period]").textContent.includes("25 Nov")`)

	away.Store(true)
	b.waitFor("site-wrong").until(
		`document.querySelector("[data-test=site][data-name=works] [data-test=record]").textContent.includes("cannot be reached")`)
	b.until(`document.querySelector("[data-test=site][data-name=''] [data-test=record]").textContent.includes("not as of now: works")`)
	away.Store(false)
	b.until(`!document.querySelector("[data-test=site-wrong]")`)

	b.click("site-open").waitFor("site-waits").until(
		`document.querySelectorAll("[data-test=wait]").length > 0`)
	b.click("waits-close").until(`!document.querySelector("[data-test=site-waits]")`)

	b.until(`document.querySelectorAll("[data-test=compare-part] option").length > 1`)
	b.choose("compare-part", "1002-11")
	b.until(`document.querySelectorAll("[data-test=route]").length === 2`)
	b.until(`document.querySelector("[data-test=differs-minutes]") !== null`)
	b.seen("sites, light", "light", 1280, 800)
	b.seen("sites, dark", "dark", 390, 844)
}
