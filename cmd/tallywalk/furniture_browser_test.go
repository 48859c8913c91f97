package main

import (
	"context"
	"fmt"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"

	"tallywalk/traveler"
)

// again starts a server on the data and the address of one that has stopped.
func (r *rig) again(o rigOptions) *rig {
	r.t.Helper()
	o.dir, o.listen = r.dir, strings.TrimPrefix(r.base, "http://")
	n := newRig(r.t, o)
	n.token = r.token
	return n
}

// screen makes a wall screen's link and gives its path.
func (r *rig) screen(settings map[string]any) string {
	r.t.Helper()
	var out struct{ Link string }
	if status := r.do("POST", "/api/v1/screens", settings, &out); status != 201 {
		r.t.Fatalf("screen: %d", status)
	}
	return out.Link[strings.Index(out.Link, "/wall/"):]
}

// A screen's link brings its board back as it was made, also to a browser that
// has forgotten everything; light and dark follow the shop's clock.
func TestScreenLinkNeedsNoHand(t *testing.T) {
	t.Parallel()
	h := newHandClock(time.Date(2026, 11, 25, 18, 58, 0, 0, time.UTC))
	r := newRig(t, rigOptions{runFrom: h.now}).as(traveler.RoleSupervisor)
	link := r.screen(map[string]any{"name": "Hall", "board": "pace", "m": 8, "in": 65, "theme": "clock"})
	b := browse(t, r).open(link).waitFor("wall-rows")
	b.until(`location.pathname === '/pace' && new URLSearchParams(location.search).get('m') === '8' && new URLSearchParams(location.search).get('in') === '65'`)
	b.until(`document.documentElement.dataset.theme === 'light'`)
	b.do(chromedp.Evaluate[chromedp.Void](`window.same = true`))
	h.set(time.Date(2026, 11, 25, 19, 0, 5, 0, time.UTC))
	b.until(`document.documentElement.dataset.theme === 'dark' && window.same`)
	h.set(time.Date(2026, 11, 26, 6, 0, 5, 0, time.UTC))
	b.until(`document.documentElement.dataset.theme === 'light' && window.same`)

	b.do(forgotten, chromedp.Evaluate[chromedp.Void](`localStorage.clear()`))
	b.open("/pace?wall=1").until(
		`location.pathname === '/sign-in' && decodeURIComponent(location.search).includes('wall=1')`)
	b.open(link).waitFor("wall-rows").until(`new URLSearchParams(location.search).get('m') === '8'`)
}

// forgotten clears the browser's cookies.
func forgotten(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
	_, err := cdp.Call(ctx, t, network.ClearBrowserCookies, cdp.Empty{})
	return chromedp.Void{}, err
}

// What a screen's link can be made with.
func TestScreenSettings(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{}).as(traveler.RoleSupervisor)
	for _, c := range []struct {
		field string
		body  map[string]any
	}{
		{"board", map[string]any{"name": "x", "board": "roof"}},
		{"m", map[string]any{"name": "x", "m": 0.2}},
		{"in", map[string]any{"name": "x", "in": 500}},
		{"theme", map[string]any{"name": "x", "theme": "pink"}},
		{"dark", map[string]any{"name": "x", "theme": "clock", "dark": "7pm"}},
	} {
		var p struct{ Field string }
		if status := r.do("POST", "/api/v1/screens", c.body, &p); status != 400 || p.Field != c.field {
			t.Errorf("%v: %d, field %q, want %q", c.body, status, p.Field, c.field)
		}
	}
	r.screen(map[string]any{"name": "Plain"})
	var all struct {
		Screens []struct {
			Name, Board, Theme string
			M, In              float64
		}
	}
	r.do("GET", "/api/v1/stations", nil, &all)
	if len(all.Screens) != 1 || all.Screens[0].Board != "waits" || all.Screens[0].M != 5 ||
		all.Screens[0].In != 43 || all.Screens[0].Theme != "auto" {
		t.Errorf("%+v", all)
	}
}

// The server goes away under an open wall screen and comes back: the screen says
// how old it is, so that nobody misses it, and comes back into step by itself.
func TestWallSurvivesARestart(t *testing.T) {
	t.Parallel()
	// Nobody else takes ports at these addresses while the server is away.
	for board, at := range map[string]string{"waits": "127.0.0.2:0", "pace": "127.0.0.3:0"} {
		t.Run(board, func(t *testing.T) {
			t.Parallel()
			r := newRig(t, rigOptions{listen: at}).as(traveler.RoleSupervisor)
			link := r.screen(map[string]any{"name": "Hall", "board": board, "m": 4, "in": 55})
			b := browse(t, r)
			b.do(chromedp.EmulateViewport(1920, 1080))
			b.open(link).waitFor("wall-rows").until(
				`document.querySelector('[data-test="link-state"]').dataset.state === 'step'`)
			b.do(chromedp.Evaluate[chromedp.Void](`window.same = true`))
			before := b.total()

			r.stop()
			b.until(`document.querySelector('[data-test="link-state"]').dataset.state === 'stale' && document.documentElement.classList.contains('is-stale')`)
			b.untilSays("link-state", "No news for")
			b.until(`parseFloat(getComputedStyle(document.querySelector('#page')).borderTopWidth) > 5 && document.querySelector('[data-test="wall-rows"]')`)

			back := r.again(rigOptions{})
			b.until(`document.querySelector('[data-test="link-state"]').dataset.state === 'step' && !document.documentElement.classList.contains('is-stale')`)
			back.scan(said{"station": "T1", "card": back.card("W-502"), "action": "run"})
			b.until(fmt.Sprintf(
				`document.querySelector('[data-test="wall-total"]').textContent !== %q && window.same === true`, before))
		})
	}
}

// total is what the head of a wall screen says.
func (b *tab) total() string {
	b.t.Helper()
	s, err := chromedp.Run(b.ctx,
		chromedp.Evaluate[string](`document.querySelector('[data-test="wall-total"]').textContent`))
	if err != nil {
		b.t.Fatal(err)
	}
	return s
}

// A computer that slept finds its sockets dead: a clock that jumped by an hour
// is taken for sleep, and the board is fetched again at once.
func TestWallWakesUp(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	b := browse(t, r).open("/waits?wall=1").waitFor("wall-rows")
	b.do(chromedp.Evaluate[chromedp.Void](`(() => {
		const Own = window.WebSocket; window.opened = 0;
		window.WebSocket = class extends Own { constructor(...a) { super(...a); window.opened++; } };
		const real = Date.now; Date.now = () => real() + 3600e3;
	})()`))
	b.until(`window.opened >= 1 && document.querySelector('[data-test="link-state"]').dataset.state === 'step'`)
}

// line is the selector of a field in a line of a calendar.
func line(n int, field string) string {
	return fmt.Sprintf(`[data-line="%d"] [data-test=%q]`, n, field)
}

// A calendar written by hand: faults are named at their line, and what it comes
// to is shown before it is kept.
func TestCalendarByHand(t *testing.T) {
	t.Parallel()
	h := newHandClock(mondaySix)
	r := newRig(t, rigOptions{open: true, runFrom: h.now})
	b := browse(t, r).open("/calendars").click("calendar-new").typed("calendar-name", "nights")
	b.put(line(1, "turn-from"), "22").put(line(1, "turn-to"), "6").click("day-fri").click("add-break")
	b.put(line(2, "turn-from"), "13:30").until(
		`document.querySelector('[data-line="2"] [data-test="turn-fault"]')`)
	b.put(line(2, "turn-from"), "2:00").put(line(2, "turn-to"), "0230")
	// Mon-Thu 22 to 6 with half an hour's break: on Tuesday 5.5 h of the night
	// before and 2 h of its own.
	b.until(`!document.querySelector('[data-test="turn-fault"]') && document.querySelector('[data-test="day"][data-date="2026-11-24"]')?.dataset.open === '27000'`)
	b.click("calendar-save").until(`document.querySelector('[data-test="calendar"][data-name="nights"]')`)
	b.untilSays("turns", "Shift Mon–Thu 22:00–06:00")

	b.click("off").put(string(control("step-date")), "2026-11-26")
	b.click("dialog-go").untilSays("turns", "Day off Thu 26 Nov")
	b.click("overtime").put(string(control("step-date")), "2026-11-28")
	b.click("dialog-go").untilSays("turns", "Overtime Sat 28 Nov 06:00–12:00")
	b.until(`document.querySelector('[data-test="day"][data-date="2026-11-28"]').dataset.open === '21600'`)

	b.do(chromedp.Evaluate[chromedp.Void](
		`document.querySelector('[data-test="keeper"][data-machine="T1"] [data-test="machine-change"]').click()`))
	b.put(string(control("machine-calendar")), "nights")
	b.click("machine-unattended").click("dialog-go")
	b.until(`document.querySelector('[data-test="keeper"][data-machine="T1"]').dataset.calendar === 'nights' && document.querySelector('[data-test="keeper"][data-machine="T1"]').dataset.unattended === 'true'`)
}

// Those who may not plan read the calendars and change none; a change ahead is
// shown with its date, and what holds now stays.
func TestCalendarsAheadAndRoles(t *testing.T) {
	t.Parallel()
	h := newHandClock(mondaySix)
	r := newRig(t, rigOptions{runFrom: h.now})
	day := map[string]any{"calendar": "day", "zone": "UTC",
		"turns": []map[string]any{{"kind": "shift", "days": "mon-fri", "from": "08:00", "to": "16:00"}}}
	if status := r.as(traveler.RoleSupervisor).do("POST", "/api/v1/calendars", day, nil); status != 403 {
		t.Errorf("a supervisor plans: %d", status)
	}
	planner := r.as(traveler.RolePlanner)
	planner.do("POST", "/api/v1/calendars", day, nil)
	longer := map[string]any{"calendar": "day", "zone": "UTC", "from": "2026-12-07",
		"turns": []map[string]any{{"kind": "shift", "days": "mon-fri", "from": "08:00", "to": "18:00"}}}
	var all struct {
		Calendars []struct {
			Turns []struct{ To string }
			Ahead []struct{ From time.Time }
			Days  []struct {
				Date string
				Open float64 `json:"open_s"`
			}
		}
	}
	if status := planner.do("POST", "/api/v1/calendars", longer, &all); status != 200 ||
		len(all.Calendars) != 1 {
		t.Fatalf("%d %+v", status, all)
	}
	c := all.Calendars[0]
	if c.Turns[0].To != "16:00" || len(c.Ahead) != 1 ||
		!c.Ahead[0].From.Equal(time.Date(2026, 12, 7, 0, 0, 0, 0, time.UTC)) {
		t.Errorf("%+v", c)
	}
	hours := map[string]float64{}
	for _, d := range c.Days {
		hours[d.Date] = d.Open / 3600
	}
	if hours["2026-12-04"] != 8 || hours["2026-12-06"] != 0 || hours["2026-12-07"] != 10 {
		t.Errorf("%v", hours)
	}
}

// Earlier times are picked: the last break and the end of the shift come from
// the machine's calendar.
func TestEarlierTimesAtTheStation(t *testing.T) {
	h := newHandClock(time.Date(2026, 11, 25, 7, 0, 0, 0, time.UTC)) // a Wednesday
	r := newRig(t, rigOptions{open: true, runFrom: h.now})
	r.do("POST", "/api/v1/calendars", map[string]any{"calendar": "day", "zone": "UTC",
		"machines": []string{"T1"}, "turns": []map[string]any{
			{"kind": "shift", "days": "mon-fri", "from": "06:00", "to": "14:00"},
			{"kind": "break", "days": "mon-fri", "from": "10:00", "to": "10:30"},
		}}, nil)
	card := r.card("W-503")
	b := browse(t, r).open("/station").waitFor("choose").click("pick-T1").click("choose-ok").waitFor("here")
	b.scanner(card).until(`document.querySelector('[data-test="likely"]')?.dataset.action === 'setup'`)
	b.until(`document.querySelector('[data-test="when-break"]').dataset.at === '2026-11-24T10:00:00Z'`).untilSays("when-end", "14:00")
	b.click("when-end").until(
		`document.querySelector('[data-test="when-end"]').getAttribute('aria-pressed') === 'true'`).click(
		"likely")
	b.until(`document.querySelector('[data-test="state"]')`).recorded(card, "setup")
	var story struct {
		Lines []struct{ At time.Time }
	}
	r.do("GET", "/api/v1/batches/"+url.PathEscape(card)+"/story", nil, &story)
	if want := time.Date(2026, 11, 24, 14, 0, 0, 0, time.UTC); len(story.Lines) != 1 ||
		!story.Lines[0].At.Equal(want) {
		t.Errorf("%+v, want one at %v", story.Lines, want)
	}
}

// A run left on overnight is cut, drawn as closed, and asked about; the answer
// that it worked through gives it back.
func TestLeftOnOvernight(t *testing.T) {
	t.Parallel()
	h := newHandClock(time.Date(2026, 11, 24, 14, 0, 0, 0, time.UTC))
	r := newRig(t, rigOptions{open: true, runFrom: h.now})
	r.do("POST", "/api/v1/calendars", map[string]any{"calendar": "day", "zone": "UTC",
		"machines": []string{"T1"}, "turns": []map[string]any{
			{"kind": "shift", "days": "mon-fri", "from": "08:00", "to": "16:00"},
		}}, nil)
	card := r.card("W-502")
	r.at(h, h.start.Add(time.Hour), said{"station": "T1", "card": card, "action": "run"})
	r.at(h, h.start.Add(19*time.Hour), said{"station": "T1", "card": card, "action": "finish", "good": 120})
	b := browse(t, r).open("/batch/" + card).until(
		`document.querySelector('[data-test="strip"] svg[role="img"] [data-kind="closed"]')`)
	b.untilSays("visit-closed", "16 h").untilSays("visit-run", "2 h")
	b.open("/questions").until(
		`document.querySelector('[data-test="group"][data-group="closed"] [data-kind="closed"]')`)
	b.untilSays("choice", "Machine was off")
	b.do(chromedp.Evaluate[chromedp.Void](
		`document.querySelector('[data-test="choice"][data-choice="worked"]').click()`))
	b.until(`document.querySelector('[data-test="settled-list"]')`)
	b.open("/batch/"+card).untilSays("visit-run", "18 h").until(
		`!document.querySelector('[data-test="strip"] svg[role="img"] [data-kind="closed"]')`)
}

// A page that was open before is asked for and answered with no more than that it
// stands; its files are in the browser. Boards and figures are news each time and
// do not count. The station's page may come from the device itself, which sends
// nothing at all.
func TestSecondVisitIsShort(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	b := browse(t, r)
	const loaded = `[...performance.getEntriesByType('resource'), ...performance.getEntriesByType('navigation')]
		.filter((e) => !new URL(e.name).pathname.startsWith('/api/'))`
	for path, ready := range map[string]string{"/waits": "centre", "/station": "choose"} {
		b.open(path).waitFor(ready).open("/batches").waitFor("batch-row").open(path).waitFor(ready)
		b.until(loaded + `.length > 5`).until(loaded + `.reduce((n, e) => n + e.transferSize, 0) < 10_000`)
	}
}
