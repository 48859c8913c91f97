package main

import (
	"encoding/json"
	"fmt"
	"os"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// wallGlasses are screens of 55 inches, as most halls have them, by their pixels.
var wallGlasses = []struct {
	name          string
	width, height int64
}{{"1080p", 1920, 1080}, {"4K", 3840, 2160}, {"portrait", 1080, 1920}}

// busyHall is a shop of fourteen work centres with forty batches on the floor: late, held
// and stopped ones, one that runs past its plan, and a works order with two cards.
func busyHall(t *testing.T) *rig {
	t.Helper()
	h := newHandClock(mondaySix)
	r := newRig(t, rigOptions{open: true, noShop: true, runFrom: h.now})
	machines, routes := "machine,name,work_centre,x_m,y_m,kind\n", "part,route_rev,operation,work_centre,setup_min,cycle_min\n"
	batches := "part,route_rev,pieces,works_order,due,released\n"
	for i, wc := range []string{
		"SAW", "TURN", "BARLATHE", "MILLTURN", "MILL3", "MILL5", "GRIND", "DEBURR", "WASH", "INSPECT", "HONE",
		"LAP", "STORES", "DOCK",
	} {
		kind := map[string]string{"STORES": "stores", "DOCK": "dock"}[wc]
		machines += fmt.Sprintf("P%d,Place %d,%s,%d,%d,%s\n", i, i, wc, i%5*12, i/5*10, kind)
		if kind == "" {
			routes += fmt.Sprintf("4%03d-%02d,A,10,%s,20,4\n4%03d-%02d,A,20,INSPECT,5,1\n", i, i, wc, i, i)
			for k := range 3 {
				due := mondaySix.AddDate(0, 0, 4*(i+k)-6).Format(time.DateOnly)
				batches += fmt.Sprintf("4%03d-%02d,A,%d,W-%d,%s,%s\n", i, i, 20+i, 7000+10*i+k, due,
					mondaySix.AddDate(0, 0, -2*k-1).Format(time.RFC3339))
			}
		}
	}
	r.cli("import", "machines", r.written("machines.csv", machines))
	r.cli("import", "routes", r.written("routes.csv", routes))
	r.cli("import", "batches", r.written("batches.csv", batches))
	for i, x := range []said{
		{"station": "P1", "card": "W-7011", "action": "run"},
		{"station": "P4", "card": "W-7042", "action": "run"},
		{"station": "P4", "card": "W-7042", "action": "stop", "reason": "tool"},
		{"station": "P2", "card": "W-7022", "action": "setup"},
		{"station": "office", "card": "W-7051", "action": "hold", "reason": "crack?"},
		{"station": "office", "card": "W-7061", "action": "split", "pieces": 5},
	} {
		r.at(h, mondaySix.Add(time.Duration(i+1)*time.Minute), x)
	}
	h.set(mondaySix.Add(6 * time.Hour))
	return r
}

// wallFaults lists what is wrong with a wall as it is drawn: text that lies on another,
// beyond the screen or its box, or under the capital height of the distance; with the
// distance in metres filled in.
const wallFaults = `(() => {
	const m = %v, out = [], seen = [];
	const c = document.createElement('canvas').getContext('2d');
	const perMM = Math.hypot(innerWidth, innerHeight) / (55 * 25.4);
	const walk = document.createTreeWalker(document.querySelector('.wall-board'), NodeFilter.SHOW_TEXT);
	const foot = document.querySelector('.wall-foot').getBoundingClientRect();
	for (let n; (n = walk.nextNode()); ) {
		const text = n.data.trim(), el = n.parentElement;
		if (!text || el.closest('title')) continue;
		const style = getComputedStyle(el), px = parseFloat(style.fontSize);
		c.font = '100px ' + style.fontFamily;
		const capital = (c.measureText('H').actualBoundingBoxAscent / 100) * px / perMM;
		if (capital < m * 5 - 0.3) out.push(text + ': capitals of ' + capital.toFixed(1) + ' mm');
		const range = document.createRange();
		range.selectNodeContents(n);
		const r = range.getBoundingClientRect(), mid = (r.top + r.bottom) / 2, half = Math.min(r.height, px) * 0.4;
		const box = { text, left: r.left, right: r.right, top: mid - half, bottom: mid + half };
		if (box.left < -1 || box.right > innerWidth + 1 || box.top < -1 || box.bottom > innerHeight + 1) out.push(text + ' is cut by the screen');
		if (!el.closest('.wall-foot') && box.bottom > foot.top + 1) out.push(text + ' lies under the foot');
		for (let e = el; e && !e.classList.contains('wall-board'); e = e.parentElement)
			if (getComputedStyle(e).overflowX !== 'visible' && e.scrollWidth > e.clientWidth + 1) out.push(text + ' is cut by its box');
		for (const o of seen)
			if (box.left < o.right - 1 && o.left < box.right - 1 && box.top < o.bottom - 1 && o.top < box.bottom - 1) out.push(text + ' lies on ' + o.text);
		seen.push(box);
	}
	const rows = document.querySelector('.wall-rows').getBoundingClientRect();
	if (rows.bottom > foot.top + 1) out.push('the rows reach into the foot');
	return JSON.stringify(out);
})()`

// Walls are read from 3, 5, 8 and 10 m on screens of 55 inches, flat, fine and upright:
// nothing lies on another or is cut, no capital is lower than distance/200 (FAA human
// factors design standard), and all that is late stands on the first page, by name or in
// its work centre's count. Two of the screens; all with TALLYWALK_LONG.
func TestWallsFromFar(t *testing.T) {
	t.Parallel()
	r := busyHall(t)
	b := browse(t, r)
	long := os.Getenv("TALLYWALK_LONG") != ""
	for _, page := range []string{"waits", "ground", "pace"} {
		for _, g := range wallGlasses {
			for _, m := range []int{3, 5, 8, 10} {
				if quick := g.name == "1080p" && m == 8 || g.name == "portrait" && m == 5; long || quick {
					b.do(chromedp.EmulateViewport(g.width, g.height))
					b.wall(page, "en", g.name, m)
				}
			}
		}
		// The narrowest, in all languages.
		for _, language := range []string{"de", "es", "pl", "tr"} {
			if long || language == "es" {
				b.wall(page, language, "portrait", 10)
			}
		}
	}
}

// A shop with names longer than a screen is wide: they end in dots, and push nothing off
// the screen.
func TestWallsWithLongNames(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true, noShop: true})
	machines, routes := "machine,name,work_centre,x_m,y_m\n", "part,route_rev,operation,work_centre,setup_min,cycle_min\n"
	batches := "part,route_rev,pieces,works_order,due\n"
	for i := range 5 {
		machines += fmt.Sprintf("MACHINE-IN-BAY-%d,Place %d,CYLINDRICAL-GRINDING-%d,%d,%d\n", i, i, i, i*9,
			i%2*9)
		routes += fmt.Sprintf("PART-%d,A,10,CYLINDRICAL-GRINDING-%d,20,4\n", i, i)
		batches += fmt.Sprintf("PART-%d,A,10,ORDER-OF-MANY-LETTERS-%d,2020-01-0%d\n", i, i, i+1)
	}
	r.cli("import", "machines", r.written("machines.csv", machines))
	r.cli("import", "routes", r.written("routes.csv", routes))
	r.cli("import", "batches", r.written("batches.csv", batches))
	for i := range 5 {
		r.scan(said{"station": fmt.Sprint("MACHINE-IN-BAY-", i),
			"card": fmt.Sprint("ORDER-OF-MANY-LETTERS-", i), "action": "arrive"})
	}
	b := browse(t, r)
	b.do(chromedp.EmulateViewport(1080, 1920))
	for _, page := range []string{"waits", "ground"} {
		b.open("/" + page + "?wall=1&m=10&in=55").until(
			`document.querySelector('.wall-rows *') && document.fonts.status === 'loaded'`)
		beyond := b.value(
			`[...document.querySelectorAll('.wall-board *')].filter((e) => e.getBoundingClientRect().right > innerWidth + 1 || e.getBoundingClientRect().bottom > innerHeight + 1).map((e) => e.textContent).join()`)
		if beyond != "" {
			t.Errorf("%s: beyond the screen: %s", page, beyond)
		}
		if late := b.value(
			`document.querySelectorAll('[data-test="wall-centre"]:not([data-late="0"]), [data-test="wall-cell"]:not([data-late="0"])').length`); late != "5" {
			t.Errorf("%s: %s of 5 work centres with a late batch", page, late)
		}
	}
}

// wall opens a wall on the screen as it is, and looks for faults.
func (b *tab) wall(page, language, glass string, m int) {
	b.t.Helper()
	b.open(fmt.Sprintf("/%s?wall=1&m=%d&in=55&language=%s", page, m, language))
	b.until(`document.querySelector('.wall-rows *') && document.fonts.status === 'loaded'`)
	name := fmt.Sprintf("%s at %d m, %s, %s", page, m, glass, language)
	var faults []string
	if err := json.Unmarshal([]byte(b.value(fmt.Sprintf(wallFaults, m))), &faults); err != nil {
		b.t.Fatalf("%s: %v", name, err)
	}
	for _, f := range faults {
		b.t.Errorf("%s: %s", name, f)
	}
	if page == "waits" {
		b.lateIsHere(name)
	}
}

// lateIsHere holds that the work centres of the first page count all that is late.
func (b *tab) lateIsHere(name string) {
	b.t.Helper()
	var board struct {
		Rows map[string]struct {
			WorkCentre string `json:"work_centre"`
			Late       bool
		}
	}
	b.r.do("GET", "/api/v1/waits", nil, &board)
	late := 0
	for _, r := range board.Rows {
		if r.Late {
			late++
		}
	}
	shown := b.value(
		`[...document.querySelectorAll('[data-test="wall-centre"]')].reduce((n, e) => n + Number(e.dataset.late), 0)`)
	if late == 0 || shown != fmt.Sprint(late) ||
		b.value(`document.querySelector('.wall-rows').dataset.page`) != "1" {
		b.t.Errorf("%s: %s of %d that are late stand on the first page", name, shown, late)
	}
}

// A row says why it waits, and its place in line, on the board and on its own page; when
// the machine is free, that nothing stands in its way.
func TestWhyItWaits(t *testing.T) {
	t.Parallel()
	r := busyHall(t)
	b := browse(t, r).open("/waits")
	row := func(card string) string {
		return fmt.Sprintf(`document.querySelector('[data-test="wait-row"][data-card=%q] [data-test="why"]')`,
			r.card(card))
	}
	b.until(row("W-7010") + `?.textContent.includes('1st in line for P1, takes longer than planned')`)
	b.until(row("W-7012") + `?.textContent.includes('2nd in line for P1')`)
	b.until(row("W-7080") + `?.textContent.includes('nothing stands in its way: P8 is idle')`)
	b.until(row("W-7051") + `?.textContent.includes('crack?')`)
	first := `document.querySelector('[data-test="needs-someone"] [data-test="need-row"]')`
	b.until(first + `?.dataset.needs.startsWith('late')`)
	b.open("/batch/"+r.card("W-7012")).untilSays("waits-for", "2nd in line for P1")
	// Through the API, for other programs: the same with what fills it in.
	var board struct {
		Rows map[string]struct {
			Why []struct {
				Key, Machine string
				Place        int
			}
		}
	}
	r.do("GET", "/api/v1/waits", nil, &board)
	if why := board.Rows[r.card("W-7012")+"/10/work"].Why; len(why) != 2 || why[0].Key != "line" ||
		why[0].Place != 2 || why[1].Key != "longer" {
		t.Errorf("%+v", why)
	}
}
