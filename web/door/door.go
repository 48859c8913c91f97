// Package door says who comes in and to what: it looks at every request first,
// knows who asks by session, token, station or screen, and slows guessing down.
package door

import (
	"net/netip"
	"sync"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/web/ask"
)

// Door is the way in. It is safe for concurrent use.
type Door struct {
	*ask.House
	hosts   hostRule
	letIn   passes
	tries   tries
	once    sync.Mutex // held while a one-time code is looked up and taken
	signIns gate
	guesses gate // of one-time codes
	hashing turns
	proxies map[netip.Addr]bool
}

// New makes the door of a house. hosts are names that the server goes by beside
// that of its public URL, proxies those whose X-Forwarded-For is believed. The
// house gets tables whose writes the door hears of.
func New(h *ask.House, hosts []string, proxies []netip.Addr) *Door {
	d := &Door{House: h, hosts: newHostRule(h.PublicURL, hosts), hashing: newTurns(), proxies: map[netip.Addr]bool{}}
	for _, ip := range proxies {
		d.proxies[ip.Unmap()] = true
	}
	h.Tables = heard{h.Tables, &d.letIn}
	return d
}

// Let is a route's handler for those who may: everybody where the route has no
// deed.
func (s *Door) Let(r *ask.Route) fiber.Handler {
	if r.Deed == "" {
		return r.Handle
	}
	return s.Allow(r.Deed, r.Handle)
}

// Routes are the ways to sign in, and to those who may.
func (s *Door) Routes() []ask.Route {
	return []ask.Route{
		{Method: "GET", Path: "/api/v1/me", Handle: s.getMe},
		{Method: "POST", Path: "/api/v1/sign-in", Handle: s.postSignIn},
		{Method: "POST", Path: "/api/v1/sign-out", Handle: s.postSignOut},
		{Method: "POST", Path: "/api/v1/first", Handle: s.postFirst},
		{Method: "POST", Path: "/api/v1/enrol", Handle: s.postEnrol},
		{Method: "GET", Path: "/api/v1/people/:ref", Deed: traveler.DeedScan, Handle: s.getPerson},
		{Method: "GET", Path: "/api/v1/stations", Deed: traveler.DeedEnrol, Handle: s.getStations},
		{Method: "POST", Path: "/api/v1/enrol-codes", Deed: traveler.DeedEnrol, Handle: s.postEnrolCode},
		{Method: "DELETE", Path: "/api/v1/stations/:id", Deed: traveler.DeedEnrol, Handle: s.deletePass(tableStations)},
		{Method: "POST", Path: "/api/v1/screens", Deed: traveler.DeedEnrol, Handle: s.postScreen},
		{Method: "DELETE", Path: "/api/v1/screens/:id", Deed: traveler.DeedEnrol, Handle: s.deletePass(tableScreens)},
		{Method: "GET", Path: "/api/v1/people", Deed: traveler.DeedAccounts, Handle: s.getPeople},
		{Method: "POST", Path: "/api/v1/people/:ref/badge", Deed: traveler.DeedAccounts, Handle: s.postBadge},
		{Method: "GET", Path: "/api/v1/accounts", Deed: traveler.DeedAccounts, Handle: s.getAccounts},
		{Method: "POST", Path: "/api/v1/accounts", Deed: traveler.DeedAccounts, Handle: s.postAccount},
		{Method: "GET", Path: "/api/v1/tokens", Deed: traveler.DeedAccounts, Handle: s.getTokens},
		{Method: "POST", Path: "/api/v1/tokens", Deed: traveler.DeedAccounts, Handle: s.postToken},
		{Method: "DELETE", Path: "/api/v1/tokens/:id", Deed: traveler.DeedAccounts, Handle: s.deletePass(tableTokens)},
		{Method: "DELETE", Path: "/api/v1/accounts/:name", Deed: traveler.DeedAccounts, Handle: s.deleteAccount},
	}
}
