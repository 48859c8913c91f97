package main

import (
	"bytes"
	"context"
	"fmt"
	"regexp"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	cdppage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"tallywalk/traveler"
)

// A supervisor signs in and is at the morning page: what needs them is there, the menu has
// the number of questions, a line leads to its batch, and the chosen time stays in the
// address.
func TestMorning(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{})
	sup := r.as(traveler.RoleSupervisor)
	card := r.as(traveler.RoleSupervisor).card("W-503")
	sup.scan(
		said{"station": "T1", "card": card, "action": "run", "anyway": true, "reason": "told"},
		said{"station": "T1", "card": card, "action": "count",
			"scrap": []any{map[string]any{"reason": "size", "n": 4}}},
		said{"station": "T1", "card": card, "action": "stop", "reason": "tool"},
	)
	r.as(traveler.RoleAdministrator).do("POST", "/api/v1/accounts", map[string]any{
		"name": "sup", "password": "long enough for this", "role": "supervisor",
	}, nil)
	b := browse(t, r).open("/sign-in")
	b.typed("sign-in-name", "sup").typed("sign-in-password", "long enough for this").click("sign-in-go")
	b.until(`location.pathname === '/morning'`)
	for _, kind := range []string{"stopped", "short", "scrapped"} {
		b.until(fmt.Sprintf(`document.querySelector('[data-kind=%q][data-card=%q]')`, kind, card))
	}
	b.until(`Number(document.querySelector('[data-test="asks"]')?.textContent) > 0`)
	b.click("since-day").until(`location.search.includes('since=')`)
	b.until(`document.querySelector('[data-test="morning-since"]')?.dataset.is === 'chosen'`)
	b.do(chromedp.Evaluate[chromedp.Void](`document.querySelector('[data-kind="stopped"] a').click()`))
	b.until(`location.pathname === '/batch/` + card + `'`)
}

// pagesOf counts the pages of a PDF by its page objects (ISO 32000-1, 7.7.3.3).
var pagesOf = regexp.MustCompile(`/Type\s*/Page\b[^s]`)

// The morning of a shop with a past is one A4 page, also since a week ago.
func TestMorningOnOnePage(t *testing.T) {
	t.Parallel()
	r := demoRig(t, "--weeks", "12")
	b := browse(t, r)
	for _, ask := range []string{"", "week"} {
		b.open("/morning").waitFor("morning-since")
		if ask != "" {
			b.click("since-" + ask).until(`document.querySelector('[data-is="chosen"]')`)
		}
		b.until(`document.querySelectorAll('[data-test="morning-line"]').length > 5`)
		pdf := b.printed()
		if n := len(pagesOf.FindAll(pdf, -1)); n != 1 || !bytes.HasPrefix(pdf, []byte("%PDF")) {
			t.Errorf("%q: %d pages", ask, n)
		}
	}
}

// On Friday the week stands beside those before; the month is one press away, the address
// keeps it, and a figure leads to its page.
func TestWeekPage(t *testing.T) {
	t.Parallel()
	b := browse(t, demoRig(t, "--weeks", "12")).open("/week").waitFor("week-figures")
	b.until(`document.querySelectorAll('[data-test="week-period"]').length === 5`)
	for _, test := range []string{"week-late", "week-short", "week-cause", "week-machine", "week-learnt"} {
		b.waitFor(test)
	}
	// A PDF of the week is the page as it is printed: two sheets of A4 at most.
	if n := len(pagesOf.FindAll(b.printed(), -1)); n < 1 || n > 2 {
		t.Errorf("the week is printed on %d pages", n)
	}
	b.click("of-month").until(`location.search === '?of=month'`)
	b.until(`document.querySelector('[data-test="week-period"]').dataset.from.endsWith('-01')`)
	b.until(`document.querySelector('[data-test="week-book"]').href.endsWith('/sheet.xlsx?of=month')`)
	b.do(chromedp.Evaluate[chromedp.Void](`document.querySelector('[data-test="week-period"] a').click()`))
	b.until(`location.pathname === '/history' && location.search.includes('from=')`)
}

// printed is the page as it is printed, a PDF.
func (b *tab) printed() []byte {
	b.t.Helper()
	own := true // the size that the page's styles name
	out, err := chromedp.Run(b.ctx, chromedp.Action[cdppage.PrintToPDFResult](
		func(ctx context.Context, t *chromedp.Target) (cdppage.PrintToPDFResult, error) {
			return cdp.Call(ctx, t, cdppage.PrintToPDF, cdppage.PrintToPDFParams{PreferCSSPageSize: &own})
		},
	))
	if err != nil {
		b.t.Fatal(err)
	}
	return out.Data
}
