package main

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"tallywalk/traveler"
)

// The example hall, from testdata/example. Its walks by hand, in metres:
//
//	T1 4,4  – C1 12,9: √(8²+5²) = 9.434   C1 – C2 30,9: 18   C2 – C3 46,9: 18, its own length
//	F1 22,4 – C2 30,9: √(8²+5²) = 9.434   Q1 40,6 – C3: √(6²+3²) = 6.708
//	T1 – Q1: 9.434 + 18 + 18 + 6.708 = 52.142
//	T1 – F1: 9.434 + 18 + 9.434 = 36.868   F1 – Q1: 9.434 + 18 + 6.708 = 34.142
const walkT1Q1 = 52.142

// hallRig is the rig with the corners and aisles of the example shop.
func hallRig(t *testing.T) *rig {
	r := newRig(t, rigOptions{open: true})
	for _, list := range []string{"corners", "aisles"} {
		r.cli("import", list, "../../testdata/example/"+list+".csv")
	}
	return r
}

// carried takes a batch through operations, one machine after the other; all
// good.
func (r *rig) carried(card string, pieces int, machines ...string) {
	r.t.Helper()
	for _, m := range machines {
		for _, a := range r.scan(
			said{"station": m, "card": card, "action": "run", "anyway": true, "reason": "told"},
			said{"station": m, "card": card, "action": "finish", "good": pieces},
		) {
			if a.Outcome == "refused" {
				r.t.Fatalf("%s at %s: %s", card, m, a.Say)
			}
		}
	}
}

func (b *tab) value(js string) string {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](`String(`+js+`)`))
	if err != nil {
		b.t.Fatalf("%s: %v", js, err)
	}
	return v
}

func one(name, more string) string {
	return fmt.Sprintf(`document.querySelector('[data-test=%q]%s')`, name, more)
}

// The map shows the places as they are, the walk of a batch after its scans,
// and the trips behind a leg; what lies where moves on its own.
func TestGroundShowsPlacesAndWalks(t *testing.T) {
	t.Parallel()
	r := hallRig(t)
	card := r.card("W-502")
	b := browse(t, r).open("/ground").waitFor("map")
	b.until(`document.querySelectorAll('[data-test="place"]').length === 4`).waitFor("no-walks")

	r.carried(card, 120, "T1")
	r.scan(said{"station": "Q1", "card": card, "action": "run"})
	b.until(one("place", `[data-place="Q1"][data-state="running"]`))
	b.until(one("stretch", "")).untilSays("figure-trips", "1").untilSays("figure-metres", "52.1 m")
	b.untilSays("along", "Measured along the aisles")
	if got := b.value(
		`document.querySelectorAll('[data-test="place"][data-level="none"]').length`); got != "0" {
		t.Errorf("%s of four places have no label", got)
	}

	b.do(chromedp.Focus(chromedp.CSS(`[data-place="Q1"]`)), chromedp.KeyEvent("\r"))
	b.until(one("at-work", fmt.Sprintf(`[data-card=%q]`, card)))
	b.until(`new URLSearchParams(location.search).get('place') === 'Q1'`)
	b.click("close-place").click("leg").until(
		fmt.Sprintf(`document.querySelector('[data-test="trip"] [data-card=%q]')`, card))

	b.open("/ground?batch=W-502").untilSays("figure-metres_per_batch", "52.1 m").untilSays("rests",
		"Rests on 1 batch")
	b.open("/ground?batch=W-501").waitFor("no-walks")
	b.open("/ground?batch=no-such").waitFor("problem")
}

// Two routes of one part, laid over each other: two forms of line, and their
// figures side by side.
func TestGroundLaysRoutesOverEachOther(t *testing.T) {
	t.Parallel()
	r := hallRig(t)
	list := filepath.Join(t.TempDir(), "routes.csv")
	rows := "part,part_name,drawing_rev,material,route_rev,operation,work_centre,setup_min,cycle_min\n" +
		"1001-04,Sleeve,B,16MnCr5,2,10,TURN,40,5\n1001-04,Sleeve,B,16MnCr5,2,20,INSPECT,5,1\n"
	if err := os.WriteFile(list, []byte(rows), 0o600); err != nil {
		t.Fatal(err)
	}
	r.cli("import", "routes", list)
	if status := r.as(traveler.RolePlanner).do("POST", "/api/v1/batches",
		map[string]any{"id": newID(), "part": "1001-04", "route_rev": "2", "pieces": 10,
			"works_order": "W-900"}, nil); status != 201 {
		t.Fatalf("release: %d", status)
	}
	r.carried(r.card("W-501"), 50, "T1", "F1", "Q1")
	r.carried(r.card("W-900"), 10, "T1", "Q1")

	b := browse(t, r).open("/ground").waitFor("choice")
	b.choose("choose-walks", "part")
	b.choose("choose-part", "1001-04")
	b.choose("choose-route_rev", "1")
	b.choose("choose-over", "2")
	b.until(`location.search === '?part=1001-04&route_rev=1&over=2'`)
	// W-503 is on route 1 too and was not carried: two batches, two trips of one.
	for _, want := range []struct{ figure, first, second string }{
		{"batches", "2", "1"}, {"trips_per_batch", "2", "1"}, {"metres_per_batch", "71 m", "52.1 m"},
		{"metres_per_good", "1.4 m", "5.2 m"},
	} {
		for i, text := range []string{want.first, want.second} {
			b.until(fmt.Sprintf(`%s?.textContent === %q`,
				one("figure-"+want.figure, fmt.Sprintf(`[data-route="%d"]`, i)), text))
		}
	}
	dash := `getComputedStyle(document.querySelector('.map .walk.set%d line')).strokeDasharray`
	colour := `getComputedStyle(document.querySelector('.map .walk.set%d line')).stroke`
	if b.value(fmt.Sprintf(dash, 0)) != "none" || b.value(fmt.Sprintf(dash, 1)) == "none" {
		t.Error("the lines of two routes have the same form")
	}
	if b.value(fmt.Sprintf(colour, 0)) == b.value(fmt.Sprintf(colour, 1)) {
		t.Error("the lines of two routes have the same colour")
	}
	b.do(chromedp.Reload())
	b.until(`document.querySelectorAll('[data-test="rests"]').length === 2`)
}

// steady waits until the plan has stood still for some frames: a new corner may move it, to
// be whole on the screen, after it is drawn.
func (b *tab) steady() {
	b.t.Helper()
	b.do(chromedp.Evaluate[chromedp.Void](`new Promise((done) => {
		const plan = document.querySelector('[data-test="plan"]');
		const look = (was, times) => {
			const is = JSON.stringify([plan.dataset, plan.getBoundingClientRect()]);
			if (times === 5) done();
			else requestAnimationFrame(() => look(is, is === was ? times + 1 : 0));
		};
		look("", 0);
	})`, chromedp.EvalAwaitPromise))
}

// spot is where a point of the plan is on the screen.
func (b *tab) spot(x, y float64) (px, py float64) {
	b.t.Helper()
	b.steady()
	at := func(what string) float64 {
		v, err := chromedp.Run(b.ctx,
			chromedp.Evaluate[float64](
				`((m, r) => `+what+
					`)(document.querySelector('[data-test="plan"]'), document.querySelector('[data-test="plan"]').getBoundingClientRect())`))
		if err != nil {
			b.t.Fatal(err)
		}
		return v
	}
	k := at(`Number(m.dataset.k)`)
	return at(`r.left`) + (x-at(`Number(m.dataset.x)`))*k, at(`r.top`) + (y-at(`Number(m.dataset.y)`))*k
}

func (b *tab) drag(fromX, fromY, toX, toY float64) {
	b.t.Helper()
	x1, y1 := b.spot(fromX, fromY)
	x2, y2 := b.spot(toX, toY)
	b.do(chromedp.DragAndDropXY(x1, y1, x2, y2))
}

// choose takes an option of a select once it is offered.
func (b *tab) choose(name, value string) {
	b.t.Helper()
	b.until(fmt.Sprintf(`[...document.querySelectorAll('[data-test=%q] option')].some((o) => o.value === %q)`,
		name, value))
	b.do(chromedp.Evaluate[chromedp.Void](
		fmt.Sprintf(`((e) => { e.value = %q; e.dispatchEvent(new Event('change', {bubbles: true})); })(%s)`,
			value, one(name, ""))))
}

// A corner and two aisles, drawn with the mouse, shorten a walk once they are
// saved; what was walked before keeps its length. A place moves by keys. Nothing
// is lost when saving fails or the page goes.
func TestPlanIsDrawnAndSaved(t *testing.T) {
	t.Parallel()
	r := hallRig(t)
	card := r.card("W-502")
	r.carried(card, 120, "T1")
	r.scan(said{"station": "Q1", "card": card, "action": "run"})
	b := browse(t, r)
	b.acceptLeaving()
	b.open("/ground/plan").waitFor("plan").until(one("plan", "") + `?.dataset.k > 0`)
	b.choose("walk-from", "T1")
	b.choose("walk-to", "Q1")
	b.untilSays("walk-preview", "52.1 m along aisles").untilSays("walk-saved", "52.1 m along aisles")

	b.click("tool-draw")
	px, py := b.spot(20, 1)
	b.do(chromedp.MouseClickXY(px, py))
	b.until(one("corner", `[data-corner="C4"]`))
	b.drag(4, 4, 20, 1)
	b.until(one("draw-aisle", `[data-aisle="T1>C4"]`))
	b.drag(20, 1, 40, 6)
	b.until(one("draw-aisle", `[data-aisle="C4>Q1"]`))
	// √(16²+3²) + √(20²+5²) = 36.894
	b.untilSays("walk-preview", "36.9 m along aisles")
	b.click("plan-undo").untilSays("walk-preview", "52.1 m").click("plan-redo").untilSays("walk-preview",
		"36.9 m")

	b.block(r.base + "/api/v1/ground/plan")
	b.click("plan-save").untilSays("problem", "Your drawing is still here")
	b.unblock().do(chromedp.Reload())
	b.click("left-take").until(one("draw-aisle", `[data-aisle="C4>Q1"]`))
	b.click("plan-save").until(one("plan-save-box", `[data-dirty="false"]`))
	b.choose("walk-from", "T1")
	b.choose("walk-to", "Q1")
	b.until(fmt.Sprintf(`Math.abs(%s?.dataset.metres - 36.894) < 0.001`, one("walk-saved", "")))

	var walks struct{ Metres float64 }
	r.do("GET", "/api/v1/ground/walks?batch="+card, nil, &walks)
	if math.Abs(walks.Metres-walkT1Q1) > 0.001 {
		t.Errorf("the old walk is %v m now", walks.Metres)
	}
	b.do(chromedp.Focus(chromedp.CSS(`[data-test="spot"][data-place="F1"]`)),
		chromedp.KeyEvent(kb.ArrowRight))
	b.until(one("plan-x", "") + `?.value === "22.5"`)
	b.set("plan-x", "23,5").until(one("spot", `[data-place="F1"]`) + `?.ariaLabel.includes("23.5")`)
	b.click("plan-undo").click("plan-undo").until(one("plan-save-box", `[data-dirty="false"]`))
}

// A picture of the hall is put underneath and set to scale: ten metres of the
// plan that are said to be twenty make it twice as wide, and it is kept so.
func TestPlanPicture(t *testing.T) {
	t.Parallel()
	r := hallRig(t)
	file := filepath.Join(t.TempDir(), "hall.svg")
	svg := `<svg xmlns="http://www.w3.org/2000/svg" width="800" height="200" viewBox="0 0 800 200"><rect width="800" height="200" fill="none" stroke="black"/></svg>`
	if err := os.WriteFile(file, []byte(svg), 0o600); err != nil {
		t.Fatal(err)
	}
	b := browse(t, r)
	b.acceptLeaving()
	b.open("/ground/plan").waitFor("plan").until(one("plan", "") + `?.dataset.k > 0`)
	b.do(chromedp.SetUploadFiles(control("picture-file"), []string{file}))
	// The places and corners lie from 4 to 46 and from 4 to 12 m; with 3 m around,
	// 14 m of height make it 56 m wide.
	b.until(one("plan-width", "") + `?.value === "56"`).until(`document.querySelector('.hall')`)
	b.click("tool-scale")
	for _, x := range []float64{10, 20} {
		px, py := b.spot(x, 14)
		b.do(chromedp.MouseClickXY(px, py))
	}
	b.typed("scale-metres", "20").click("scale-go")
	b.until(fmt.Sprintf(`Math.abs(%s?.value - 112) < 2`, one("plan-width", ""))) // a pixel of the screen is some centimetres
	b.click("plan-save").until(one("plan-save-box", `[data-dirty="false"]`))
	var plan struct {
		Picture *traveler.Picture
		Corners []traveler.Corner
	}
	r.do("GET", "/api/v1/ground/plan", nil, &plan)
	if p := plan.Picture; p == nil || math.Abs(p.Width-112) > 2 || math.Abs(p.Width/p.Height-4) > 0.01 ||
		len(plan.Corners) != 3 {
		t.Errorf("kept: %+v", plan)
	}
}

// acceptLeaving leaves pages that ask whether to, and says so.
func (b *tab) acceptLeaving() {
	asked := chromedp.Events(b.ctx, page.JavascriptDialogOpening)
	go func() {
		for e, err := range asked {
			if err != nil {
				return
			}
			if e.Type != page.DialogTypeBeforeunload {
				b.t.Errorf("a page asked: %s", e.Message)
			}
			b.leave()
		}
	}()
}

func (b *tab) leave() {
	ctx, cancel := context.WithTimeout(b.ctx, 10*time.Second)
	defer cancel()
	_, err := chromedp.Run(ctx,
		chromedp.Action[cdp.Empty](func(ctx context.Context, t *chromedp.Target) (cdp.Empty, error) {
			return cdp.Call(ctx, t, page.HandleJavaScriptDialog,
				page.HandleJavaScriptDialogParams{Accept: true})
		}))
	if err != nil {
		b.t.Errorf("leaving a page: %v", err)
	}
}

// Those who may not draw see so, and who may.
func TestPlanIsForPlanners(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{})
	a := r.as(traveler.RoleAdministrator)
	if status := a.do("POST", "/api/v1/accounts",
		map[string]any{"name": "sup", "password": "long enough for this", "role": "supervisor"},
		nil); status != 201 {
		t.Fatalf("account: %d", status)
	}
	b := browse(t, r).open("/sign-in?next=/ground/plan")
	b.typed("sign-in-name", "sup").typed("sign-in-password", "long enough for this").click("sign-in-go")
	b.untilSays("plan-no", "Only planners and administrators")
	if got := b.value(`document.querySelectorAll('[data-test="plan"]').length`); got != "0" {
		t.Error("a supervisor is shown the editor")
	}
}

// On a wall no text is smaller than the set size, and the line says what waits.
func TestGroundWall(t *testing.T) {
	t.Parallel()
	r := hallRig(t)
	b := browse(t, r)
	b.do(chromedp.EmulateViewport(1920, 1080))
	b.open("/ground?wall=1&m=5&in=55").waitFor("wall-map").untilSays("wall-total", "3 waiting")
	b.until(`document.querySelectorAll('[data-test="wall-place"]').length === 4`)
	small := b.value(
		`[...document.querySelectorAll('.wall-board *')].filter((e) => e.textContent.trim() && !e.children.length &&
		parseFloat(getComputedStyle(e).fontSize) < parseFloat(document.documentElement.style.fontSize) - 0.5).map((e) => e.textContent)`)
	if strings.TrimSpace(small) != "" {
		t.Errorf("smaller than the set size: %s", small)
	}
	b.fits("the wall", 1920)
}
