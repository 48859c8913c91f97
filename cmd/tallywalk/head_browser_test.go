package main

import (
	"testing"

	"tallywalk/traveler"
)

// The head of the desk is one row on a screen of 1280 px, in the longest language and with
// who is signed in; the pages about the shop have a row of their own.
func TestHeadIsOneRow(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{}).as(traveler.RoleAdministrator)
	const long = "Bartholomew Featherstone the Younger"
	r.do("POST", "/api/v1/accounts",
		map[string]any{"name": long, "password": "long enough for this", "role": "administrator"}, nil)
	b := browse(t, r).sized(1280, 800).open("/sign-in").typed("sign-in-name", long).typed("sign-in-password",
		"long enough for this")
	b.click("sign-in-go").waitFor("who")
	for _, language := range []string{"en", "de"} {
		b.open("/calendars?language=" + language).waitFor("who").waitFor("nav-accounts")
		b.until(`document.querySelector('header.bar').offsetHeight < 60 && document.documentElement.scrollWidth <= innerWidth`)
	}
	b.click("nav-accounts").until(
		`location.pathname === '/accounts' && document.querySelector('header.bar [aria-current]')?.getAttribute('href') === '/calendars'`)
}
