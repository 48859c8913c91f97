package main

import (
	"fmt"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// handClock is a clock that a test moves on.
type handClock struct {
	began time.Time
	start time.Time
	moved atomic.Int64
}

// newHandClock is a clock that shows a moment and goes on from there.
func newHandClock(at time.Time) *handClock { return &handClock{began: time.Now(), start: at} }

func (h *handClock) now() time.Time {
	return h.start.Add(time.Since(h.began) + time.Duration(h.moved.Load()))
}

// set moves the clock on to a moment; it never goes back.
func (h *handClock) set(at time.Time) {
	if d := at.Sub(h.now()); d > 0 {
		h.moved.Add(int64(d))
	}
}

// at sends a scan at a moment, to which it moves the clock.
func (r *rig) at(h *handClock, at time.Time, s said) answer {
	r.t.Helper()
	h.set(at)
	s["at"] = at.UTC().Format(time.RFC3339Nano)
	a := r.scan(s)[0]
	if a.Outcome != "kept" {
		r.t.Fatalf("%v: %+v", s, a)
	}
	return a
}

// release releases a batch and gives its card.
func (r *rig) release(part string, pieces int, order string) string {
	r.t.Helper()
	var out struct{ Card string }
	if status := r.do("POST", "/api/v1/batches",
		map[string]any{"id": newID(), "part": part, "route_rev": "1", "pieces": pieces, "works_order": order},
		&out); status != 201 {
		r.t.Fatalf("release %s: %d", order, status)
	}
	return out.Card
}

// put gives a field a value, as picking or typing it does.
func (b *tab) put(field, value string) *tab {
	b.t.Helper()
	b.until(fmt.Sprintf(`document.querySelector(%q)`, field))
	b.do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`((e) => {
		e.value = %q;
		for (const kind of ['input', 'change']) e.dispatchEvent(new Event(kind, {bubbles: true}));
	})(document.querySelector(%q))`, value, field)))
	return b
}

var mondaySix = time.Date(2026, 11, 23, 6, 0, 0, 0, time.UTC)

// pacedShop has five batches of the guide pin turned as they were scanned, a
// sixth whose start nobody scanned, which alone was measured, and one at work. The pin
// is planned with 25 min of set-up and 1.1 min a piece.
func pacedShop(t *testing.T) (*rig, *handClock, string) {
	h := newHandClock(mondaySix)
	r := newRig(t, rigOptions{open: true, runFrom: h.now})
	at := mondaySix.Add(time.Hour)
	for i, setup := range []int{26, 28, 30, 32, 34} {
		card := r.release("1002-11", 20, fmt.Sprintf("W-60%d", i))
		r.at(h, at, said{"station": "T1", "card": card, "action": "setup"})
		at = at.Add(time.Duration(setup) * time.Minute)
		r.at(h, at, said{"station": "T1", "card": card, "action": "run"})
		at = at.Add(24 * time.Minute)
		r.at(h, at, said{"station": "T1", "card": card, "action": "finish", "good": 20})
		at = at.Add(10 * time.Minute)
	}
	unseen := r.release("1002-11", 20, "W-605")
	at = at.Add(2 * time.Minute)
	r.at(h, at, said{"station": "T2", "card": unseen, "action": "finish", "good": 20})
	r.at(h, at.Add(5*time.Minute), said{"station": "Q1", "card": unseen, "action": "run"})
	r.at(h, at.Add(45*time.Minute), said{"station": "Q1", "card": unseen, "action": "finish", "good": 20})
	now := r.card("W-502")
	at = at.Add(time.Hour)
	r.at(h, at, said{"station": "T1", "card": now, "action": "run"})
	r.at(h, at.Add(time.Hour), said{"station": "T1", "card": now, "action": "count", "good": 20})
	return r, h, now
}

// From the line of an operation down to the scans behind it. By hand: planned
// 5 x (25 + 20 x 1.1) = 235 min, actual 150 + 5 x 24 = 270, so 14.9 % over.
func TestPaceDownToTheScans(t *testing.T) {
	t.Parallel()
	r, h, card := pacedShop(t)
	b := browse(t, r).open("/pace")
	pin := `document.querySelector('[data-test="pace-op"][data-part="1002-11"][data-operation="10"]')`
	b.until(pin).until(`Math.abs(Number(` + pin + `.dataset.deviation) - (270/235 - 1)) < 0.001`)
	b.until(pin + `.textContent.includes('15 % over plan')`).until(
		pin + `.textContent.includes('1 not counted')`)
	b.until(pin + `.querySelector('[data-test="pace-setup"]').textContent.replaceAll('\u00a0', ' ').includes('planned 25 min, actual 30 min; median 30 min, half from 28 min to 32 min')`)
	b.until(pin + `.querySelector('[data-test="half"]')`)
	measured := `document.querySelector('[data-test="pace-op"][data-part="1002-11"][data-operation="20"]')`
	b.until(measured + `.textContent.includes('only 1 batch: too few to conclude from')`).until(
		measured + `.dataset.deviation === ''`)
	b.until(`!` + measured + `.querySelector('[data-test="half"]')`)

	// 20 pieces planned with 22 min took 60; the other 100 end 110 min after.
	now := `document.querySelector('[data-test="pace-now"][data-card="` + card + `"]')`
	b.untilSays("now-made", "20 of 120 made")
	b.until(now + `.querySelector('[data-test="now-against"]').textContent.replaceAll('\u00a0', ' ').includes('planned 22 min, took 1 h')`)
	b.until(now + `.dataset.past === '0'`).until(now + `.querySelector('[data-test="now-ends"]')`)
	h.set(h.now().Add(3 * time.Hour))
	b.until(now+`.dataset.past === '1'`).untilSays("now-past", "over")

	b.put(string(control("pace-by-centre")), "TURN")
	b.until(`location.search === '?centre=TURN' && !` + measured)
	b.open("/pace?part=1002-11&sort=part").until(
		`document.querySelector('[data-test="pace-sort"]').value === 'part'`)
	b.until(`[...document.querySelectorAll('[data-test="pace-op"]')].map((e) => e.dataset.operation).join() === '10,20'`)

	b.do(chromedp.Evaluate[chromedp.Void](pin + `.querySelector('[data-test="pace-open"]').click()`))
	b.waitFor("plot-piece").until(`location.pathname === '/pace/operation'`)
	b.until(`document.querySelectorAll('[data-test="plot-piece"] [data-test="dot"]').length === 5 && document.querySelectorAll('[data-test="plot-setup"] [data-test="dot"]').length === 5`)
	b.until(`document.querySelectorAll('[data-test="pace-batch"]').length === 5 && document.querySelectorAll('[data-test="pace-left"]').length === 1`)
	b.untilSays("pace-why", "start not scanned").waitFor("csv")
	b.do(chromedp.Evaluate[chromedp.Void](
		`document.querySelector('[data-test="pace-batch"] [data-test="pace-visit"]').click()`))
	b.until(`location.pathname.startsWith('/batch/') && document.querySelector('.visit.meant [data-test="visit-scans"]')?.open`)
	b.until(`document.querySelectorAll('.visit.meant [data-test="visit-scans"] tr, .visit.meant [data-test="visit-scans"] li').length >= 3`)
}

// On the wall: what is past its plan first, then only what enough batches show.
func TestPaceOnTheWall(t *testing.T) {
	t.Parallel()
	r, h, card := pacedShop(t)
	h.set(h.now().Add(3 * time.Hour))
	b := browse(t, r)
	for _, s := range [][2]int64{{1920, 1080}, {3840, 2160}, {1080, 1920}} {
		b.do(chromedp.EmulateViewport(s[0], s[1]))
		b.open("/pace?wall=1&m=4&in=55").waitFor("wall-now")
		b.until(fmt.Sprintf(
			`document.querySelector('[data-test="wall-now"]').dataset.card === %q && document.querySelector('[data-test="wall-now"]').dataset.past === '1'`, card))
		b.until(`[...document.querySelectorAll('[data-test="wall-op"]')].map((e) => e.dataset.part).join() === '1002-11'`)
		b.fits("the wall", s[0])
		b.until(`[...document.querySelectorAll('.wall-rows > *')].every((e) => e.getBoundingClientRect().bottom <= document.querySelector('.wall-foot').getBoundingClientRect().top + 1)`)
	}
}

// Sizes and colours of the pages, with everything on them.
func TestPacePagesFit(t *testing.T) {
	t.Parallel()
	r, _, _ := pacedShop(t)
	b := browse(t, r)
	op := "/pace/operation?" +
		url.Values{"part": {"1002-11"}, "route_rev": {"1"}, "operation": {"10"}}.Encode()
	for _, p := range []struct{ path, ready string }{{"/pace", "pace-op"}, {op, "plot-piece"},
		{"/calendars", "keeper"}, {"/stations", "screen"}} {
		for i, w := range []int64{390, 800, 1280, 1920} {
			b.do(chromedp.EmulateViewport(w, 900), scheme([]string{"light", "dark"}[i%2]))
			b.open(p.path).waitFor(p.ready)
			b.settled()
			b.fits(strings.TrimPrefix(p.path, "/"), w)
		}
	}
}

// An operation that nobody was at says so.
func TestPaceOfNothing(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	b := browse(t, r).open("/pace/operation?part=1002-11&route_rev=1&operation=10")
	b.untilSays("failed", "Nothing was done at operation 10 of part 1002-11")
	b.open("/pace").waitFor("pace-empty")
}
