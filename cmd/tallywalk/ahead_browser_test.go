package main

import (
	"fmt"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"tallywalk/traveler"
	"tallywalk/traveler/ahead"
	"tallywalk/traveler/story"
	"tallywalk/web/webtest"
)

// foreseenRig is the example shop, of which the dates are those of webtest.Foreseen.
func foreseenRig(t *testing.T, change func(*webtest.Foreseen)) (*rig, *webtest.Foreseen) {
	t.Helper()
	var f *webtest.Foreseen
	r := newRig(t, rigOptions{open: true, ahead: func(d story.Desk) ahead.Source {
		f = &webtest.Foreseen{Desk: d, Now: time.Now, Zone: time.UTC, Past: &ahead.Hits{
			Days: 120, Delivered: ahead.HitShare{
				N: 500, P50: 0.51, P85: 0.86,
				ByHorizon: []ahead.HorizonHits{{FromDays: 0, ToDays: 3, N: 300, P50: 0.5, P85: 0.87}},
			},
		}}
		if change != nil {
			change(f)
		}
		return f
	}})
	r.cli("import", "calendars", "../../testdata/example/calendars.csv")
	return r, f
}

// rowOf is the row of a batch.
func rowOf(test, card string) string {
	return fmt.Sprintf(`document.querySelector('[data-test=%q][data-card=%q]')`, test, card)
}

// The dates of all batches, their hit rate in words, a filter that stays in the address,
// the load of the weeks, and how past dates came out.
func TestAheadByHand(t *testing.T) {
	t.Parallel()
	r, f := foreseenRig(t, nil)
	b := browse(t, r).open("/waits").waitFor("wait-row").open("/").press("way-ahead").waitFor("date-row")
	n := len(f.Forecast().Batches)
	b.until(fmt.Sprintf(`document.querySelectorAll('[data-test="date-row"]').length === %d`, n))
	b.untilSays("made", "86 % came by the date called 85 %")
	b.until(`document.querySelector('[data-test="holds-up"]').dataset.centre === ` + fmt.Sprintf("%q",
		f.Forecast().HoldsUp))
	b.until(`document.querySelector('[data-test="load"][data-full="1"] [data-test="carried"]')`)
	b.typed("dates-find", "W-501").until(
		`location.search === '?find=W-501' && document.querySelectorAll('[data-test="date-row"]').length === 1`)
	b.do(chromedp.Reload())
	b.until(`document.querySelectorAll('[data-test="date-row"]').length === 1 && document.querySelector('[data-test="dates-find"]').value === 'W-501'`)
	b.press("hits-open").until(`document.querySelectorAll('[data-test="horizon"]').length === 1`)
	b.accessible("dates that came")
	for _, path := range []string{"/ahead", "/next?machine=T1"} {
		for _, w := range []int64{390, 800, 1280} {
			b.do(chromedp.EmulateViewport(w, 844))
			b.open(path).waitFor("csv").settled()
			b.fits(path, w)
		}
		b.accessible(path)
	}
	b.do(chromedp.EmulateViewport(1280, 800),
		chromedp.Evaluate[chromedp.Void](`(() => { document.cookie = 'tw_language=de; path=/'; })()`))
	for path, ready := range map[string]string{
		"/ahead": "date-row", "/next?machine=T1": "next-row",
		"/what-if?do=" + url.QueryEscape(`[{"k":"rule","rule":"slack"}]`): "sides",
	} {
		b.open(path).until(
			fmt.Sprintf(`document.documentElement.lang === 'de' && document.querySelector('[data-test=%q]')`,
				ready)).settled()
		b.fits(path+" in German", 1280)
	}
	b.open("/machines?view=ahead").until(`location.pathname === '/ahead'`)
}

// Where there is no forecast, each page says why, and nothing that looks like a date.
func TestAheadWithoutDates(t *testing.T) {
	t.Parallel()
	r, f := foreseenRig(t, func(f *webtest.Foreseen) { f.Method = ahead.TooFew })
	b := browse(t, r)
	for _, path := range []string{"/ahead", "/promise", "/what-if"} {
		b.open(path).until(
			`document.querySelector('[data-test="no-dates"]')?.dataset.why === 'ahead.too-few'`)
	}
	b.until(`!document.querySelector('[data-test="ask"]')`)
	f.Nothing = true
	b.open("/ahead").until(
		`document.querySelector('[data-test="no-dates"]')?.dataset.why === 'ahead.working' && !document.querySelector('[data-test="date-row"]')`)
	// So it is on the first day of a shop.
	own := browse(t, newRig(t, rigOptions{open: true}))
	own.open("/ahead").until(
		`document.querySelector('[data-test="no-dates"]')?.dataset.why === 'ahead.too-few' && !document.querySelector('[data-test="date-row"]')`)
	own.open("/next?machine=T1").waitFor("next-row")
}

// A customer asks for two parts: the dates to say, the sentence at another certainty, and
// who comes later. The address brings it all back.
func TestPromiseByHand(t *testing.T) {
	t.Parallel()
	r, _ := foreseenRig(t, nil)
	b := browse(t, r).open("/promise").waitFor("enquiry")
	b.put(string(control("part-0")), "1001-04").put(string(control("pieces-0")), "40")
	b.press("add-line").put(string(control("part-1")), "1002-11").put(string(control("pieces-1")),
		"10").press("promise-go")
	b.until(`document.querySelectorAll('[data-test="promise-line"]').length === 3`)
	said := `document.querySelector('[data-test="sentence"]').textContent`
	b.until(said + `.startsWith('We can deliver 40 pieces of 1001-04')`)
	b.do(chromedp.Evaluate[chromedp.Void](`(() => { window.first = ` + said + `; })()`))
	b.press("sure-p95").until(said + ` !== window.first`)
	b.until(`[...document.querySelectorAll('[data-test="moved-by"]')].every((e) => e.textContent.includes('later')) && document.querySelector('[data-test="moved"]')`)
	b.do(chromedp.Reload())
	b.until(`document.querySelectorAll('[data-test="promise-line"]').length === 3 && document.querySelector('[data-test="pieces-1"]').value === '10'`)
	b.do(chromedp.EmulateViewport(390, 844))
	b.settled()
	b.fits("promise", 390)
	b.accessible("promise")
}

// A batch goes first: its dates move, and nothing on the floor. One press makes it a
// priority, another the overtime a line of the calendar.
func TestWhatIfByHand(t *testing.T) {
	t.Parallel()
	r, f := foreseenRig(t, nil)
	card := r.card("W-502")
	b := browse(t, r).open("/what-if").waitFor("ask")
	b.put(string(control("ask-card")), card).press("ask-add").waitFor("sides")
	b.until(rowOf("moved", card) + `.textContent.includes('1 d earlier')`)
	b.accessible("what if")
	if r.isHot(card) {
		t.Error("a question made the batch hot")
	}
	b.press("do-it").until(
		`document.querySelectorAll('[data-test="change"]').length === 0 && !document.querySelector('[data-test="sides"]')`)
	if !r.isHot(card) {
		t.Error("what was done did not make the batch hot")
	}

	b.put(string(control("ask-kind")), "overtime")
	b.until(`document.querySelector('[data-test="ask-date"]')`)
	day := time.Now().UTC().AddDate(0, 0, 7).Format(time.DateOnly)
	b.put(string(control("ask-date")), day).put(string(control("ask-from")), "14:00").put(
		string(control("ask-to")), "20:00").press("ask-add")
	b.until(`document.querySelector('[data-test="change"][data-kind="overtime"]')`).waitFor("sides")
	last := f.Scenarios()[len(f.Scenarios())-1]
	if len(last.Open) == 0 || last.Open[0].To.Sub(last.Open[0].From) != 6*time.Hour {
		t.Errorf("%+v", last.Open)
	}
	b.press("do-it").until(`document.querySelectorAll('[data-test="change"]').length === 0`)
	var all struct {
		Calendars []struct {
			Turns []struct{ Kind, Date, From, To string }
		}
	}
	r.do("GET", "/api/v1/calendars", nil, &all)
	if s := fmt.Sprint(all); !strings.Contains(s, fmt.Sprintf("{overtime %s 14:00 20:00}", day)) {
		t.Errorf("no overtime in %s", s)
	}
	b.do(chromedp.EmulateViewport(390, 844))
	b.settled()
	b.fits("what-if", 390)
}

// priority is that of a batch.
func (r *rig) isHot(card string) bool {
	r.t.Helper()
	var b struct{ Hot bool }
	r.do("GET", "/api/v1/batches/"+card, nil, &b)
	return b.Hot
}

// Who may only look is offered nothing to do; a supervisor may make a batch hot, but the
// order of the shop is for those who plan.
func TestWhatIfForWatchers(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{ahead: func(d story.Desk) ahead.Source {
		return &webtest.Foreseen{Desk: d, Now: time.Now, Zone: time.UTC}
	}})
	for name, role := range map[string]string{"Lea": "inspector", "Ida": "supervisor"} {
		r.as(traveler.RoleAdministrator).do("POST", "/api/v1/accounts",
			map[string]any{"name": name, "role": role, "password": "long enough for this"}, nil)
		b := browse(t, r).open("/sign-in?next=/what-if").waitFor("sign-in-name")
		b.typed("sign-in-name", name).typed("sign-in-password", "long enough for this").click(
			"sign-in-go").waitFor("ask")
		b.press("ask-add").waitFor("sides").until(
			`document.querySelector('[data-test="change"][data-kind="first"]')`)
		b.until(fmt.Sprintf(
			`Boolean(document.querySelector('[data-kind="first"] [data-test="do-it"]')) === %t`,
			role == "supervisor"))
		b.put(string(control("ask-kind")), "rule").press("ask-add").until(
			`document.querySelector('[data-test="change"][data-kind="rule"]')`)
		b.until(`!document.querySelector('[data-kind="rule"] [data-test="do-it"]')`)
	}
}

// The advice at a machine and the shop's rule, and the same advice at the station: gone
// when the station works alone.
func TestRunNextByHand(t *testing.T) {
	t.Parallel()
	r, _ := foreseenRig(t, func(f *webtest.Foreseen) {
		f.Tried = []ahead.RuleResult{{Rule: ahead.ByDue, Late: 0.12, Batches: 40},
			{Rule: ahead.BySlack, Late: 0.1, Batches: 40}}
	})
	b := browse(t, r).open("/next").waitFor("machine-line").press("open-T1").waitFor("next-row").untilSays(
		"advice", "Next in the shop's order (due date)")
	b.until(`document.querySelector('[data-test="rule"][data-rule="slack"]').textContent.includes('10')`)
	b.press("take-slack").until(`document.querySelector('[data-test="rules"]').dataset.own === 'slack'`)
	s := b.another().open("/station").waitFor("choose").click("pick-T1").click("choose-ok").waitFor("here")
	s.untilSays("advice", "Next in the shop's order").until(`document.querySelector('[data-test^="wait-"]')`)
	first := s.text(`document.querySelector('[data-test^="wait-"] b').textContent`)
	if advice := s.text(`document.querySelector('[data-test="advice"]').textContent`); !strings.Contains(
		advice, first) {
		t.Errorf("%q stands first, %q is said", first, advice)
	}
	s.block(r.base + "/api/v1/*")
	s.until(`document.querySelector('[data-test="link"]').classList.contains('off') && !document.querySelector('[data-test="advice"]')`).waitFor("here")
	s.unblock()
	s.untilSays("advice", "Next in the shop's order")
}

// text is what an expression of the page gives.
func (b *tab) text(js string) string {
	b.t.Helper()
	s, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](js))
	if err != nil {
		b.t.Fatal(err)
	}
	return s
}
